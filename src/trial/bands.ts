/** The six elements a trial is scored on, with the bands of what grows there at the moment. */

import { ELEMENT_INDEX } from '../chemistry/element.ts'
import { toMgPerL } from '../chemistry/molar-mass.ts'
import { benchBands } from '../core/plan/bands.ts'
import type { CoreSettings } from '../core/settings.ts'

export const SCORED = ['N', 'P', 'K', 'Ca', 'Mg', 'S'] as const
export type Scored = (typeof SCORED)[number]

export interface ScoredBand {
  readonly low: number
  readonly aim: number
  readonly high: number
}

/** Bands in mg/L. Nitrogen is nitrate and ammonium together; ammonium has no lower band of its own. */
export function scoredBands(settings: CoreSettings, atMs: number): Readonly<Record<Scored, ScoredBand>> {
  const { elements } = benchBands(settings, settings.cohorts, atMs)
  const band = (name: Exclude<Scored, 'N'> | 'NO3-N' | 'NH4-N'): ScoredBand => {
    const { low, aim, high } = elements[ELEMENT_INDEX[name]]!
    return { low: toMgPerL(name, low), aim: toMgPerL(name, aim), high: toMgPerL(name, high) }
  }
  const nitrate = band('NO3-N')
  const ammonium = band('NH4-N')
  const N = { low: nitrate.low, aim: nitrate.aim + ammonium.aim, high: nitrate.high + ammonium.high }
  return { N, P: band('P'), K: band('K'), Ca: band('Ca'), Mg: band('Mg'), S: band('S') }
}
