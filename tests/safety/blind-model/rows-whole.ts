/** Rows of what all stocks together do to the water: elements, and effects not yet proven. */

import type { StockLimits } from '../../../src/safety/limits.ts'
import { boundsOf, effectLimitsOf, hasRise } from './effect-story.ts'
import { notBlank } from './history.ts'
import { isNotChecked, once } from './past.ts'
import { type Asked, DAY_MS, openUl, type Rows, sumUl } from './wish-facts.ts'

export const ELEMENT: Rows = {
  'element-day-bounded': (it) => {
    const { past, wish, entry } = it
    const elements = past.limits.elements
    const capped = Object.entries(elements?.dayMaxMgPerL ?? {})
    if (elements === undefined || capped.length === 0) return true
    if (entry === null) return true
    return capped.every(([element, mgPerL]) => {
      const content = contentOf(entry, element)
      if (content === 0) return true
      const brought = past.limits.stocks.reduce((sum, other) => {
        const volumeUl = sumUl(it, DAY_MS, (one) => one.stock === other.stock)
        const perUl = contentOf(other, element)
        return sum + (volumeUl === 0 && perUl >= 0 ? 0 : volumeUl * perUl)
      }, 0)
      return brought + wish.volumeUl * content <= Math.floor(mgPerL * elements.volumeL * 1e6 + 0.001)
    })
  },
}

/** What a microlitre brings, ng; NaN, and so a refusal, where a stock does not tell it. */
function contentOf(stock: StockLimits, element: string): number {
  if (stock.contentNgPerUl === undefined) return NaN
  const content = stock.contentNgPerUl[element] ?? 0
  return content >= 0 ? content : NaN
}

export const EFFECT: Rows = {
  'unproven-bounded': (it) => {
    if (isExcused(it)) return true
    if (!hasRise(it.past.limits, it.wish.stock)) return false
    return unverifiedUl(it) + it.wish.volumeUl <= bounds(it).mostUl
  },
  'effect-proven': (it) => {
    if (isExcused(it)) return true
    const { past, wish, nowMs } = it
    const effect = effectLimitsOf(past.limits)
    if (effect === null || !hasRise(past.limits, wish.stock)) return false
    const isLittle = unverifiedUl(it) < 0.1 * bounds(it).mostUl
    for (const [stock, { contrast }] of past.effects.byStock) {
      if (contrast === null || (isLittle && stock !== wish.stock)) continue
      if (!(contrast.endMs + past.limits.mixingMs + effect.windowMs - nowMs <= 0)) return false
    }
    return true
  },
}

function isExcused({ past, entry }: Asked): boolean {
  if (entry === null) return false
  if (isNotChecked(past.limits.effect)) return true
  return effectLimitsOf(past.limits) !== null && notBlank(entry.effect?.untold ?? '')
}

function unverifiedUl(it: Asked): number {
  return (it.past.effects.byStock.get(it.wish.stock)?.unverifiedUl ?? 0) + openUl(it)
}

function bounds({ past, wish }: Asked) {
  return once(past, `bounds ${wish.stock}`, () => boundsOf(past.history, past.limits, wish.stock))
}
