import { DAY_MS, HOUR_MS } from './book.ts'
import type { Limits, StockLimits } from './limits.ts'
import { makeUpWithinL } from './make-up.ts'
import type { SafetyState } from './state.ts'
import { countedOf, lastEndMsOf, sumWithin, waitForAmountMs } from './sums.ts'

export interface AcidFacts {
  readonly isAcid: boolean
  readonly isBase: boolean
  readonly sinceAcidMs: number
  readonly sinceBaseMs: number
  /** acid of all acid stocks in the hour and the day */
  readonly acidHourUl: number
  readonly acidDayUl: number
  /** metered make-up water that came in the hour and the day, at least, L */
  readonly makeUpHourL: number
  readonly makeUpDayL: number
  /** the make-up counter as it was read last, L, and when; the record keeps it for the next start */
  readonly meterL: number
  readonly meterAtMs: number
  readonly waitForAcidMs: (volumeUl: number, capUl: number, windowMs: number) => number | null
}

/** Of a stock without limits. */
export const NO_ACID: AcidFacts = {
  isAcid: false,
  isBase: false,
  sinceAcidMs: Number.NaN,
  sinceBaseMs: Number.NaN,
  acidHourUl: Number.NaN,
  acidDayUl: Number.NaN,
  makeUpHourL: Number.NaN,
  makeUpDayL: Number.NaN,
  meterL: Number.NaN,
  meterAtMs: Number.NaN,
  waitForAcidMs: () => null,
}

/** Sums over all acid stocks; for any other stock nobody looks at them. */
export function acidFacts(limits: Limits, state: SafetyState, entry: StockLimits, atMs: number): AcidFacts {
  const acids = limits.stocks.filter((other) => entry.acid === true && other.acid === true)
  const counted = acids.flatMap((acid) => countedOf(limits, state.book, acid.stock))
  return {
    isAcid: entry.acid === true,
    isBase: entry.base === true,
    sinceAcidMs: sinceAnyMs(limits, state, atMs, (other) => other.acid === true),
    sinceBaseMs: sinceAnyMs(limits, state, atMs, (other) => other.base === true),
    acidHourUl: sumWithin(counted, atMs, HOUR_MS),
    acidDayUl: sumWithin(counted, atMs, DAY_MS),
    makeUpHourL: makeUpWithinL(state.makeUp, atMs, HOUR_MS),
    makeUpDayL: makeUpWithinL(state.makeUp, atMs, DAY_MS),
    meterL: state.makeUp.last?.counterL ?? Number.NaN,
    meterAtMs: state.makeUp.last?.atMs ?? Number.NaN,
    waitForAcidMs: (volumeUl: number, cap: number, windowMs: number) =>
      waitForAmountMs(counted, { atMs, amount: volumeUl, cap, windowMs }),
  }
}

function sinceAnyMs(limits: Limits, state: SafetyState, atMs: number, isOne: (entry: StockLimits) => boolean): number {
  let sinceMs = Number.POSITIVE_INFINITY
  for (const entry of limits.stocks) {
    if (isOne(entry)) sinceMs = Math.min(sinceMs, atMs - lastEndMsOf(limits, state.book, entry.stock))
  }
  return sinceMs
}
