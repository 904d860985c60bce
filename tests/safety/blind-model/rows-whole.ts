/** Rows of what all stocks together do to the water: elements, and effects not yet proven. */

import { boundsOf, effectLimitsOf, riseOf } from './effect-story.ts'
import { notBlank } from './history.ts'
import { isNotChecked } from './past.ts'
import { type Asked, DAY_MS, isFitted, openUl, type Rows, sumUl } from './wish-facts.ts'

export const ELEMENT: Rows = {
  'element-day-bounded': (it) => {
    const { past, wish, entry } = it
    const elements = past.limits.elements
    const capped = Object.entries(elements?.dayMaxMgPerL ?? {})
    if (elements === undefined || capped.length === 0) return true
    if (entry === null || !past.limits.stocks.every(tellsContent)) return false
    const smallestL = isFitted(it, 'level') ? past.limits.levelMinL : elements.volumeL
    return capped.every(([element, mgPerL]) => {
      const content = entry.contentNgPerUl?.[element] ?? 0
      if (content === 0) return true
      const brought = past.limits.stocks.reduce((sum, other) => {
        const volumeUl = sumUl(it, DAY_MS, (one) => one.stock === other.stock)
        return sum + volumeUl * (other.contentNgPerUl?.[element] ?? 0)
      }, 0)
      return brought + wish.volumeUl * content <= Math.floor(mgPerL * smallestL * 1e6 + 0.001)
    })
  },
}

function tellsContent(stock: { readonly contentNgPerUl?: Readonly<Record<string, number>> }): boolean {
  return stock.contentNgPerUl !== undefined && Object.values(stock.contentNgPerUl).every((content) => content >= 0)
}

export const EFFECT: Rows = {
  'unproven-bounded': (it) => {
    if (isExcused(it)) return true
    return unverifiedUl(it) + it.wish.volumeUl <= boundsOf(it.past.history, it.past.limits, it.wish.stock).mostUl
  },
  'effect-proven': (it) => {
    if (isExcused(it)) return true
    const { past, wish, nowMs } = it
    const effect = effectLimitsOf(past.limits)
    if (effect === null || Number.isNaN(riseOf(past.limits, wish.stock))) return false
    const isLittle = unverifiedUl(it) < 0.1 * boundsOf(past.history, past.limits, wish.stock).mostUl
    for (const [stock, { contrast }] of past.effects.byStock) {
      if (contrast === null || (isLittle && stock !== wish.stock)) continue
      if (!(contrast.endMs + past.limits.mixingMs + effect.windowMs - nowMs <= 0)) return false
    }
    return true
  },
}

function isExcused({ past, entry }: Asked): boolean {
  if (isNotChecked(past.limits.effect)) return true
  return effectLimitsOf(past.limits) !== null && notBlank(entry?.effect?.untold ?? '')
}

function unverifiedUl(it: Asked): number {
  return (it.past.effects.byStock.get(it.wish.stock)?.unverifiedUl ?? 0) + openUl(it)
}
