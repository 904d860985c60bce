import { baseShotMaxUl } from './acid-shot.ts'
import type { Facts } from './facts.ts'
import { type Interlock, stillToWait } from './interlock.ts'
import type { Limits } from './limits.ts'
import { waitForMixedPh } from './mixed-ph.ts'
import { tellDuration, tellValue, tellVolume } from './wording.ts'

/** What a base needs beyond every other stock: the rules for acid, mirrored, and time between the two. */
export const BASE_INTERLOCKS: readonly Interlock[] = [
  {
    id: 'base-shot-bounded',
    rule: 'One base shot cannot move the water’s buffering by more than its cap.',
    on: 'amount',
    holds: (wish, facts, limits) => !facts.isBase || wish.volumeUl <= baseShotMaxUl(facts, limits),
    found: (_wish, facts, limits) =>
      `one base shot may be at most ${tellVolume(baseShotMaxUl(facts, limits))}, ` +
      `${limits.base?.shotMaxMeqPerL ?? 'no'} meq/L of the reservoir`,
  },
  {
    id: 'base-mixed',
    rule: 'The last base shot has mixed in full.',
    on: 'condition',
    holds: (_wish, facts, limits) => !facts.isBase || facts.sinceBaseMs >= limits.mixingMs,
    found: (_wish, facts, limits) =>
      `${tellSince('base', facts.sinceBaseMs)} and mixing takes ${tellDuration(limits.mixingMs)}`,
    waitMs: (_wish, facts, limits) => stillToWait(limits.mixingMs, facts.sinceBaseMs),
  },
  {
    id: 'base-ph-fresh',
    rule: 'pH was read just now, and after the last shot of base or acid had mixed.',
    on: 'condition',
    holds: (_wish, facts, limits) =>
      !facts.isBase ||
      (facts.phOldestAgeMs >= 0 &&
        facts.phOldestAgeMs <= (limits.base?.phFreshMs ?? Number.NaN) &&
        Math.min(facts.sinceAcidMs, facts.sinceBaseMs) - facts.phOldestAgeMs >= limits.mixingMs),
    found: (_wish, facts) =>
      `the pH reading is ${tellDuration(facts.phOldestAgeMs)} old; ` +
      'one that is fresh and from after the last base or acid had mixed is needed',
    waitMs: (_wish, facts, limits) => waitForMixedPh(facts, limits, limits.base?.phFreshMs ?? Number.NaN),
  },
  {
    id: 'base-ph-below-ceiling',
    rule: 'No base while the raw pH is at or above the ceiling.',
    on: 'condition',
    holds: (_wish, facts, limits) =>
      !facts.isBase || (facts.phHighest < (limits.base?.phCeiling ?? Number.NaN) && facts.phHighest >= 0),
    found: (_wish, facts, limits) =>
      `pH reads ${tellValue(facts.phHighest)}, base is given only below ${limits.base?.phCeiling ?? 'a ceiling'}`,
  },
  {
    id: 'base-after-flow',
    rule: 'No base soon after the flow came back.',
    on: 'condition',
    holds: (_wish, facts, limits) =>
      !facts.isBase || !facts.flowFitted || facts.flowingForMs >= (limits.base?.afterFlowMs ?? Number.NaN),
    found: (_wish, facts, limits) =>
      `the flow came back ${tellDuration(facts.flowingForMs)} ago and ` +
      `${tellDuration(limits.base?.afterFlowMs ?? Number.NaN)} must pass before base`,
    waitMs: (_wish, facts, limits) => stillToWait(limits.base?.afterFlowMs ?? Number.NaN, facts.flowingForMs),
  },
  {
    id: 'acid-base-apart',
    rule: 'Acid and base keep their time apart, so that the two never fight or meet.',
    on: 'condition',
    holds: (_wish, facts, limits) => sinceOther(facts) >= apartMs(facts, limits),
    found: (_wish, facts, limits) =>
      `${tellSince(facts.isAcid ? 'base' : 'acid', sinceOther(facts))} and ` +
      `${tellDuration(apartMs(facts, limits))} must pass`,
    waitMs: (_wish, facts, limits) => stillToWait(apartMs(facts, limits), sinceOther(facts)),
  },
]

/** Time since acid for a base, since base for an acid; Infinity for anything else and where the other never ran. */
function sinceOther(facts: Facts): number {
  if (facts.isBase) return facts.sinceAcidMs
  return facts.isAcid ? facts.sinceBaseMs : Number.POSITIVE_INFINITY
}

function apartMs(facts: Facts, limits: Limits): number {
  const concerns = facts.isBase || (facts.isAcid && limits.stocks.some((entry) => entry.base === true))
  return concerns ? (limits.base?.acidApartMs ?? Number.NaN) : 0
}

function tellSince(what: string, sinceMs: number): string {
  return sinceMs >= 0 ? `${what} ran ${tellDuration(sinceMs)} ago` : `${what} may still be running`
}
