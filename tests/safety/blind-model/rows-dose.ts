/** Rows of the size of a shot, of what went before it, and of its bottle. */

import type { RefillLimits } from '../../../src/safety/limits.ts'
import { bottleStory } from './bottle-story.ts'
import { isNotChecked, once } from './past.ts'
import { type Asked, cap, DAY_MS, HOUR_MS, openUl, type Rows, runMs, sinceMs, sumUl } from './wish-facts.ts'

export const DOSE: Rows = {
  'shot-whole': ({ wish }) => Number.isSafeInteger(wish.volumeUl) && wish.volumeUl > 0,
  'shot-bounded': (it) => it.wish.volumeUl <= cap(it, it.entry?.shotMaxUl),
  'run-bounded': (it) => {
    const { past, entry } = it
    const longestMs = entry === null ? NaN : (past.nodes.get(entry.node)?.maxRunMs.get(entry.pump) ?? NaN)
    return runMs(it) >= 1 && runMs(it) <= longestMs
  },
  'hour-bounded': (it) => ownUl(it, HOUR_MS) + it.wish.volumeUl <= cap(it, it.entry?.hourMaxUl),
  'day-bounded': (it) => ownUl(it, DAY_MS) + it.wish.volumeUl <= cap(it, it.entry?.dayMaxUl),
  'gap-kept': (it) => it.entry !== null && ownSinceMs(it) >= it.entry.gapMs,
  'stocks-apart': (it) =>
    it.entry === null || waitsOf(it).every(({ other, ms }) => sinceMs(it, (stock) => stock === other) >= ms),
}

function ownUl(it: Asked, windowMs: number): number {
  return sumUl(it, windowMs, (one) => one.stock === it.wish.stock)
}

function ownSinceMs(it: Asked): number {
  return sinceMs(it, (stock) => stock === it.wish.stock)
}

/** A wait holds both ways, whichever of the two declares it. */
function waitsOf({ past, entry, wish }: Asked): { other: string; ms: number }[] {
  const own = entry?.apart.map(({ from, ms }) => ({ other: from, ms })) ?? []
  const theirs = past.limits.stocks.flatMap((other) =>
    other.apart.filter(({ from }) => from === wish.stock).map(({ ms }) => ({ other: other.stock, ms })),
  )
  return [...own, ...theirs]
}

export const REFILL: Rows = {
  'stock-not-empty': (it) =>
    unlessNotChecked(it, (refill) => {
      const { filledUl, usedUl } = bottleOf(it)
      return usedUl + openUl(it) + it.wish.volumeUl <= Math.min(refill.bottleUl, filledUl ?? refill.bottleUl)
    }),
  'since-refill-bounded': (it) =>
    unlessNotChecked(it, (refill) => bottleOf(it).usedUl + openUl(it) + it.wish.volumeUl <= refill.sinceRefillMaxUl),
  'series-doubled': (it) => unlessNotChecked(it, (refill) => it.wish.volumeUl <= seriesUl(it, refill)),
  'series-mixed': (it) => {
    if (isNotChecked(it.entry?.refill)) return true
    const refill = refillOf(it)
    const series = refill === null ? NaN : seriesUl(it, refill)
    return series >= cap(it, it.entry?.shotMaxUl) || (it.entry !== null && ownSinceMs(it) >= it.past.limits.mixingMs)
  },
}

function refillOf({ entry }: Asked): RefillLimits | null {
  const refill = entry?.refill
  return refill === undefined || 'notChecked' in refill ? null : refill
}

function unlessNotChecked(it: Asked, holds: (refill: RefillLimits) => boolean): boolean {
  if (isNotChecked(it.entry?.refill)) return true
  const refill = refillOf(it)
  return refill !== null && holds(refill)
}

function bottleOf({ past, wish }: Asked) {
  return once(past, `bottle ${wish.stock}`, () => bottleStory(past.history, past.deliveries, wish.stock))
}

function seriesUl(it: Asked, refill: RefillLimits): number {
  return Math.max(refill.firstShotUl, 2 * bottleOf(it).provenUl)
}
