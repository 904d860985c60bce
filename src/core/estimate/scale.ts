/**
 * What settles out of water that is not acid enough: calcium phosphate and limescale. How fast, no site file can say, so
 * the half of it stays doubtful, in the direction in which calcium and phosphate go together.
 */

import { ELEMENT_COUNT, ELEMENT_INDEX } from '../../chemistry/element.ts'
import { saturation } from '../../chemistry/saturation.ts'
import type { FilterState } from './filter-state.ts'
import { LOG_PCO2, VOLUME } from './layout.ts'
import { putEntry, type SparseChange } from './transition.ts'

const { P, Ca: CA } = ELEMENT_INDEX
const DAY_MS = 86_400_000

/** Phosphate lost as amorphous calcium phosphate, share a day: 0.5–2 % are measured in hydroponic solutions. */
const AMORPHOUS_PER_DAY = 0.01
const AMORPHOUS_PH = 6.3
/** Below this no crystals are seen in channels. A judgement. */
const CRYSTAL_PH = 6.5
/** From the pH at which it begins to the full rate, since no threshold is sharp. A judgement. */
const RAMP_PH = 0.4
/** mmol/L a day for each unit of supersaturation, of brushite and of calcite alike: the order of magnitude, a judgement. */
const RATE_MMOL_PER_L_PER_DAY = 0.04
/** How far off the rate may be, as a share of it. A judgement. */
const RATE_SD = 0.5
/** One step takes no more than this part of what is there, so that a long silent step cannot overshoot. */
const STEP_SHARE_MAX = 0.2

/** Takes what settled out of the mean; gives the doubt about it, one standard deviation of each place, if there is any. */
export function settleOut(
  before: FilterState,
  mean: Float64Array,
  change: SparseChange,
  stepMs: number,
): readonly Float64Array[] {
  if (!(before.ph > AMORPHOUS_PH)) return []
  const days = stepMs / DAY_MS
  const volumeL = before.mean[VOLUME]!
  const phosphorus = before.mean[P]!
  const calcium = before.mean[CA]!
  const { brushite, calcite } = supersaturation(before)
  const rate = RATE_MMOL_PER_L_PER_DAY * volumeL * ramp(before.ph, CRYSTAL_PH)
  const bounded = (mmol: number): number => Math.min(mmol, STEP_SHARE_MAX * phosphorus, STEP_SHARE_MAX * calcium)
  const phosphate = bounded((rate * brushite + AMORPHOUS_PER_DAY * phosphorus * ramp(before.ph, AMORPHOUS_PH)) * days)
  const limescale = Math.min(rate * calcite * days, STEP_SHARE_MAX * calcium)
  mean[P]! -= phosphate
  mean[CA]! -= phosphate + limescale
  if (phosphorus > 0) {
    putEntry(change, P, P, -phosphate / phosphorus)
    putEntry(change, CA, P, -phosphate / phosphorus)
  }
  // Error of the rate lasts for days, error of a step is white: its share keeps a day’s sum right.
  const sd = RATE_SD * Math.sqrt(DAY_MS / stepMs)
  return [direction(mean.length, sd * phosphate, sd * phosphate), direction(mean.length, 0, sd * limescale)]
}

/** How far the ion products stand above saturation; 0 where nothing crystallises. */
function supersaturation(before: FilterState): { readonly brushite: number; readonly calcite: number } {
  if (!(before.ph > CRYSTAL_PH)) return { brushite: 0, calcite: 0 }
  const volumeL = before.mean[VOLUME]!
  const mmolPerL = new Float64Array(ELEMENT_COUNT)
  for (let at = 0; at < ELEMENT_COUNT; at++) mmolPerL[at] = Math.max(0, before.mean[at]! / volumeL)
  const { brushite, calcite } = saturation(mmolPerL, before.ph, before.mean[LOG_PCO2]!)
  return { brushite: Math.max(0, 10 ** brushite - 1), calcite: Math.max(0, 10 ** calcite - 1) }
}

function ramp(ph: number, from: number): number {
  return Math.min(1, Math.max(0, (ph - from) / RAMP_PH))
}

function direction(length: number, phosphorus: number, calcium: number): Float64Array {
  const one = new Float64Array(length)
  one[P] = -phosphorus
  one[CA] = -calcium
  return one
}
