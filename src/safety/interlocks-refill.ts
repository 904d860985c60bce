import type { Facts } from './facts.ts'
import { type Interlock, stillToWait } from './interlock.ts'
import { tellDuration, tellVolume } from './wording.ts'

/** What one filling of a bottle may give, and how a new filling shows that it is what its label says. */
export const REFILL_INTERLOCKS: readonly Interlock[] = [
  {
    id: 'stock-not-empty',
    rule: 'By the book the bottle still holds the whole shot.',
    on: 'amount',
    holds: (wish, facts) => !facts.bottleChecked || facts.sinceRefillUl + wish.volumeUl <= facts.bottleUl,
    found: (wish, facts) =>
      Number.isNaN(facts.bottleUl)
        ? `the limits do not say what the bottle of ${wish.stock} holds`
        : `${tellVolume(facts.sinceRefillUl)} of the ${tellVolume(facts.bottleUl)} in the bottle went out or may have ` +
          'gone out since it was filled; refill it and log the refill',
  },
  {
    id: 'since-refill-bounded',
    rule: 'One filling of a bottle gives no more than its cap before a person looks at it.',
    on: 'amount',
    holds: (wish, facts) => !facts.bottleChecked || facts.sinceRefillUl + wish.volumeUl <= facts.sinceRefillMaxUl,
    found: (_wish, facts) =>
      `${tellVolume(facts.sinceRefillUl)} went out or may have gone out since the refill, ` +
      `at most ${tellVolume(facts.sinceRefillMaxUl)} may; look at the bottle, refill it and log the refill`,
  },
  {
    id: 'series-doubled',
    rule: 'After a refill the first shot is harmless and each next one at most double the largest so far.',
    on: 'amount',
    holds: (wish, facts) => !facts.bottleChecked || wish.volumeUl <= facts.seriesUl,
    found: (_wish, facts) =>
      `after a refill the shots grow from a harmless one; the next may be at most ${tellVolume(facts.seriesUl)}`,
  },
  {
    id: 'series-mixed',
    rule: 'While the shots after a refill still grow, each has mixed in full before the next.',
    on: 'condition',
    holds: (_wish, facts, limits) => !isInSeries(facts) || facts.sinceShotMs >= limits.mixingMs,
    found: (_wish, facts, limits) =>
      `after a refill each shot must mix in full, which takes ${tellDuration(limits.mixingMs)}; ` +
      `the last one was ${facts.sinceShotMs >= 0 ? `${tellDuration(facts.sinceShotMs)} ago` : 'not over'}`,
    waitMs: (_wish, facts, limits) => stillToWait(limits.mixingMs, facts.sinceShotMs),
  },
]

/** Until the next step of the series reaches the normal cap; a figure that is none keeps the series going. */
function isInSeries(facts: Facts): boolean {
  return facts.bottleChecked && !(facts.seriesUl >= facts.caps.shotMaxUl)
}
