import { DAY_MS, HOUR_MS } from './book.ts'
import type { ApartFacts } from './dose-facts.ts'
import type { Facts } from './facts.ts'
import { type Interlock, stillToWait } from './interlock.ts'
import { runMsOf } from './run-time.ts'
import { tellDuration, tellVolume } from './wording.ts'

/** How much, and how soon after the last. */
export const DOSE_INTERLOCKS: readonly Interlock[] = [
  {
    id: 'shot-whole',
    rule: 'A shot is a whole number of microlitres, more than none.',
    on: 'amount',
    holds: (wish) => Number.isSafeInteger(wish.volumeUl) && wish.volumeUl > 0,
    found: (wish) => `${wish.volumeUl} is not a whole number of microlitres above 0`,
  },
  {
    id: 'shot-bounded',
    rule: 'A single shot is no larger than its cap.',
    on: 'amount',
    holds: (wish, facts) => wish.volumeUl <= facts.caps.shotMaxUl,
    found: (_wish, facts) => `one shot may be at most ${tellVolume(facts.caps.shotMaxUl)}`,
  },
  {
    id: 'run-bounded',
    rule: 'The pump’s run is at least a millisecond and no longer than the node itself allows.',
    on: 'amount',
    holds: (wish, facts) => {
      const runMs = runMsOf(wish.volumeUl, facts.rateUlPerS)
      return runMs >= 1 && runMs <= facts.maxRunMs
    },
    found: (wish, facts) =>
      `it would run ${tellDuration(runMsOf(wish.volumeUl, facts.rateUlPerS))}, ` +
      `node ${facts.node} allows ${tellDuration(facts.maxRunMs)}`,
  },
  {
    id: 'hour-bounded',
    rule: 'The last hour’s shots and this one stay under the hour’s cap.',
    on: 'amount',
    holds: (wish, facts) => facts.hourUl + wish.volumeUl <= facts.caps.hourMaxUl,
    found: (_wish, facts) =>
      `${tellVolume(facts.hourUl)} went in or may have gone in within the hour, ` +
      `at most ${tellVolume(facts.caps.hourMaxUl)} may`,
    waitMs: (wish, facts) => facts.waitForRoomMs(wish.volumeUl, facts.caps.hourMaxUl, HOUR_MS),
  },
  {
    id: 'day-bounded',
    rule: 'The last day’s shots and this one stay under the day’s cap.',
    on: 'amount',
    holds: (wish, facts) => facts.dayUl + wish.volumeUl <= facts.caps.dayMaxUl,
    found: (_wish, facts) =>
      `${tellVolume(facts.dayUl)} went in or may have gone in within 24 h, ` +
      `at most ${tellVolume(facts.caps.dayMaxUl)} may`,
    waitMs: (wish, facts) => facts.waitForRoomMs(wish.volumeUl, facts.caps.dayMaxUl, DAY_MS),
  },
  {
    id: 'gap-kept',
    rule: 'Between two shots of a stock lies its least gap.',
    on: 'condition',
    holds: (_wish, facts) => facts.sinceShotMs >= facts.gapMs,
    found: (wish, facts) => `${tellSince(wish.stock, facts.sinceShotMs)} and ${tellDuration(facts.gapMs)} must pass`,
    waitMs: (_wish, facts) => stillToWait(facts.gapMs, facts.sinceShotMs),
  },
  {
    id: 'stocks-apart',
    rule: 'Stocks that must not meet keep their time apart.',
    on: 'condition',
    holds: (_wish, facts) => facts.apart.every(isApart),
    found: (_wish, facts) => tooClose(facts).map(tellApart).join('; '),
    waitMs: (_wish, facts) => longestWait(facts),
  },
]

function isApart(apart: ApartFacts): boolean {
  return apart.sinceMs >= apart.needMs
}

function tooClose(facts: Facts): readonly ApartFacts[] {
  return facts.apart.filter((apart) => !isApart(apart))
}

function tellApart(apart: ApartFacts): string {
  return `${tellSince(apart.from, apart.sinceMs)} and ${tellDuration(apart.needMs)} must pass`
}

function longestWait(facts: Facts): number | null {
  const waits = tooClose(facts).map((apart) => stillToWait(apart.needMs, apart.sinceMs))
  return waits.reduce((longest, wait) => (longest === null || wait === null ? null : Math.max(longest, wait)), 0)
}

function tellSince(stock: string, sinceMs: number): string {
  return sinceMs >= 0 ? `${stock} ran ${tellDuration(sinceMs)} ago` : `${stock} may still be running`
}
