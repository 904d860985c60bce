/** What will leave and what will come in the next interval if nothing is dosed, with the factors learned so far. */

import { CHARGE_PER_MMOL } from '../../chemistry/alkalinity.ts'
import { ELEMENT_COUNT } from '../../chemistry/element.ts'
import { demandBetween } from '../estimate/demand.ts'
import type { FilterState } from '../estimate/filter-state.ts'
import { SOURCE_FACTOR } from '../estimate/layout.ts'
import { uptakeOf } from '../estimate/uptake.ts'
import { litShareBetween } from '../sense/photoperiod.ts'
import type { CohortSettings, CoreSettings } from '../settings.ts'

export interface Forecast {
  readonly intervalMs: number
  /** mmol taken up, by element */
  readonly uptakeMmol: Float64Array
  /** make-up water expected, L, and what it brings */
  readonly makeUpL: number
  readonly makeUpMmol: Float64Array
  /** change of the solution’s alkalinity, meq, from crop and make-up */
  readonly alkalinityMeq: number
}

/** Expectation over one interval from now. */
export function forecastNext(
  settings: CoreSettings,
  cohorts: readonly CohortSettings[],
  filter: FilterState,
  interval: { fromMs: number; untilMs: number; utcOffsetMin: number },
): Forecast {
  const { fromMs, untilMs, utcOffsetMin } = interval
  const litShare = litShareBetween(settings.photoperiod, utcOffsetMin, fromMs, untilMs)
  const demand = demandBetween(settings, cohorts, { fromMs, untilMs, litShare })
  const { byGrowth, byWater, carried, waterL: makeUpL } = uptakeOf(filter.mean, demand)
  const strength = Math.exp(filter.mean[SOURCE_FACTOR]!)
  const uptakeMmol = new Float64Array(ELEMENT_COUNT)
  const makeUpMmol = new Float64Array(ELEMENT_COUNT)
  let alkalinityMeq = settings.source.untrackedMeqPerL * makeUpL
  for (let at = 0; at < ELEMENT_COUNT; at++) {
    uptakeMmol[at] = byGrowth[at]! + byWater[at]! + carried[at]!
    makeUpMmol[at] = settings.source.mmolPerL[at]! * strength * makeUpL
    alkalinityMeq += CHARGE_PER_MMOL[at]! * (makeUpMmol[at]! - uptakeMmol[at]!)
  }
  return { intervalMs: untilMs - fromMs, uptakeMmol, makeUpL, makeUpMmol, alkalinityMeq }
}
