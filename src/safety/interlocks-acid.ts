import { acidDayMaxUl, acidHourMaxUl, acidRateMaxUl } from './acid-allowance.ts'
import { acidShotMaxUl } from './acid-shot.ts'
import { DAY_MS, HOUR_MS } from './book.ts'
import { type Interlock, stillToWait } from './interlock.ts'
import { waitForMixedPh } from './mixed-ph.ts'
import { tellDuration, tellValue, tellVolume } from './wording.ts'

/** What acid needs beyond every other stock. */
export const ACID_INTERLOCKS: readonly Interlock[] = [
  {
    id: 'acid-shot-bounded',
    rule: 'One acid shot cannot move the water’s buffering by more than its cap.',
    on: 'amount',
    holds: (wish, facts, limits) => !facts.isAcid || wish.volumeUl <= acidShotMaxUl(facts, limits),
    found: (_wish, facts, limits) =>
      `one acid shot may be at most ${tellVolume(acidShotMaxUl(facts, limits))}, ` +
      `${limits.acid?.shotMaxMeqPerL ?? 'no'} meq/L of the reservoir`,
  },
  {
    id: 'acid-mixed',
    rule: 'The last acid shot has mixed in full.',
    on: 'condition',
    holds: (_wish, facts, limits) => !facts.isAcid || facts.sinceAcidMs >= limits.mixingMs,
    found: (_wish, facts, limits) =>
      `${facts.sinceAcidMs >= 0 ? `acid ran ${tellDuration(facts.sinceAcidMs)} ago` : 'acid may still be running'} ` +
      `and mixing takes ${tellDuration(limits.mixingMs)}`,
    waitMs: (_wish, facts, limits) => stillToWait(limits.mixingMs, facts.sinceAcidMs),
  },
  {
    id: 'acid-ph-fresh',
    rule: 'pH was read just now, and after the last shot of acid or base had mixed.',
    on: 'condition',
    holds: (_wish, facts, limits) =>
      !facts.isAcid ||
      (facts.phOldestAgeMs >= 0 &&
        facts.phOldestAgeMs <= (limits.acid?.phFreshMs ?? Number.NaN) &&
        Math.min(facts.sinceAcidMs, facts.sinceBaseMs) - facts.phOldestAgeMs >= limits.mixingMs),
    found: (_wish, facts) =>
      `the pH reading is ${tellDuration(facts.phOldestAgeMs)} old; ` +
      'one that is fresh and from after the last acid or base had mixed is needed',
    waitMs: (_wish, facts, limits) => waitForMixedPh(facts, limits, limits.acid?.phFreshMs ?? Number.NaN),
  },
  {
    id: 'acid-ph-above-floor',
    rule: 'No acid while the raw pH is at or below the floor.',
    on: 'condition',
    holds: (_wish, facts, limits) =>
      !facts.isAcid || (facts.phLowest > (limits.acid?.phFloor ?? Number.NaN) && facts.phLowest <= 14),
    found: (_wish, facts, limits) =>
      `pH reads ${tellValue(facts.phLowest)}, acid is given only above ${limits.acid?.phFloor ?? 'a floor'}`,
  },
  {
    id: 'acid-after-flow',
    rule: 'No acid soon after the flow came back.',
    on: 'condition',
    holds: (_wish, facts, limits) =>
      !facts.isAcid || !facts.flowFitted || facts.flowingForMs >= (limits.acid?.afterFlowMs ?? Number.NaN),
    found: (_wish, facts, limits) =>
      `the flow came back ${tellDuration(facts.flowingForMs)} ago and ` +
      `${tellDuration(limits.acid?.afterFlowMs ?? Number.NaN)} must pass before acid`,
    waitMs: (_wish, facts, limits) => stillToWait(limits.acid?.afterFlowMs ?? Number.NaN, facts.flowingForMs),
  },
  {
    id: 'acid-hour-buffered',
    rule: 'The hour’s acid is no more than the hour’s make-up water takes up, and a small trim.',
    on: 'amount',
    holds: (wish, facts, limits) => !facts.isAcid || facts.acidHourUl + wish.volumeUl <= acidHourMaxUl(facts, limits),
    found: (_wish, facts, limits) =>
      `${tellVolume(facts.acidHourUl)} of acid went in or may have gone in within the hour; ` +
      `${tellValue(facts.makeUpHourL)} L of metered make-up water and the trim take up ` +
      tellVolume(acidHourMaxUl(facts, limits)),
    waitMs: (wish, facts, limits) => facts.waitForAcidMs(wish.volumeUl, acidHourMaxUl(facts, limits), HOUR_MS),
  },
  {
    id: 'acid-day-buffered',
    rule: 'The day’s acid is no more than the alkalinity that is surely there to take it up.',
    on: 'amount',
    holds: (wish, facts, limits) => !facts.isAcid || facts.acidDayUl + wish.volumeUl <= acidDayMaxUl(facts, limits),
    found: (_wish, facts, limits) =>
      `${tellVolume(facts.acidDayUl)} of acid went in or may have gone in within 24 h; ` +
      `${tellValue(facts.makeUpDayL)} L of metered make-up water, the reservoir and the trim take up ` +
      tellVolume(acidDayMaxUl(facts, limits)),
    waitMs: (wish, facts, limits) => facts.waitForAcidMs(wish.volumeUl, acidDayMaxUl(facts, limits), DAY_MS),
  },
  {
    id: 'acid-rate-bounded',
    rule: 'Acid never comes faster than the circulation carries it away.',
    on: 'amount',
    holds: (wish, facts, limits) => !facts.isAcid || wish.volumeUl <= acidRateMaxUl(facts, limits),
    found: (_wish, facts, limits) =>
      `at the circulation that can be counted on ${tellVolume(acidRateMaxUl(facts, limits))} may go in at once, ` +
      `${limits.acid?.injection?.rateMaxMeqPerL ?? 'no'} meq for each litre that flows past`,
  },
]
