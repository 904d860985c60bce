/** What the crop takes up in one step, with the factors learned so far: element by element, each by its own driver. */

import { ELEMENT_COUNT, ELEMENT_INDEX } from '../../chemistry/element.ts'
import type { Demand } from './demand.ts'
import { GROWTH, GROWTH_TODAY, UPTAKE_FACTOR, VOLUME, WATER_DRAWN, WATER_LASTING } from './layout.ts'

/** Below this a root’s appetite falls with what is left: half rate, mmol/L. Effective Km in film culture 0.05–0.2 mM. */
const HALF_RATE_MMOL_PER_L = 0.1

const NO3 = ELEMENT_INDEX['NO3-N']
const NH4 = ELEMENT_INDEX['NH4-N']
const { P, Fe: FE } = ELEMENT_INDEX

/** Amounts in mmol over the step, by element; nothing is negative. */
export interface Uptake {
  /** follows growth; `factored` is the part of it that the element’s own factor scales */
  readonly byGrowth: Float64Array
  readonly factored: Float64Array
  /** follows the water drawn */
  readonly byWater: Float64Array
  /** goes along with the water at the solution’s own concentration */
  readonly carried: Float64Array
  readonly waterL: number
}

/**
 * Expected uptake of a belief’s mean.
 *
 * Roots take ammonium before nitrate, so what ammonium cannot give of the nitrogen wanted comes from nitrate: total
 * nitrogen is what growth asks for.
 */
export function uptakeOf(mean: Float64Array, demand: Demand): Uptake {
  const growth = Math.exp(mean[GROWTH]! + mean[GROWTH_TODAY]!)
  const drawn = drawnOverCurve(mean)
  const byGrowth = new Float64Array(ELEMENT_COUNT)
  const factored = new Float64Array(ELEMENT_COUNT)
  const byWater = new Float64Array(ELEMENT_COUNT)
  const carried = new Float64Array(ELEMENT_COUNT)
  for (let at = 0; at < ELEMENT_COUNT; at++) {
    const level = Math.max(0, mean[at]! / mean[VOLUME]!)
    const appetite = level / (level + HALF_RATE_MMOL_PER_L * appetiteScale(at))
    const factor = Math.exp(mean[UPTAKE_FACTOR + at]!)
    byGrowth[at] = demand.growthMmol[at]! * growth * factor * appetite
    factored[at] = byGrowth[at]!
    byWater[at] = demand.waterMmol[at]! * drawn * factor * appetite
    carried[at] = demand.concentrationL[at]! * drawn * factor * level
  }
  byGrowth[NO3]! += Math.max(0, demand.growthMmol[NH4]! * growth - byGrowth[NH4]!)
  return { byGrowth, factored, byWater, carried, waterL: demand.waterL * drawn }
}

/** However dry or dark, a stand draws this share of what its curve says. A judgement; it keeps the draw above nothing. */
const DRAWN_LEAST = 0.02

/** Water drawn over these weeks, against what the configured curve says. */
export function drawnLasting(mean: Float64Array): number {
  return Math.exp(mean[WATER_LASTING]!)
}

/** Water drawn now, against what the configured curve says. */
export function drawnOverCurve(mean: Float64Array): number {
  return Math.max(DRAWN_LEAST, drawnLasting(mean) + mean[WATER_DRAWN]!)
}

/** Micronutrients are wanted in µmol: their half rate is a hundredth. */
function appetiteScale(at: number): number {
  return at >= FE ? 0.01 : at === P ? 0.2 : 1
}
