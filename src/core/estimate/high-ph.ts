/** Water whose pH stands high: calcium and phosphate fall out of it, and its CO2 is far from what the air would have it. */

import { ELEMENT_INDEX } from '../../chemistry/element.ts'
import type { FilterState } from './filter-state.ts'
import { NOISE } from './noise.ts'
import { putEntry, type SparseChange } from './transition.ts'

const DAY_MS = 86_400_000
const FALLING_OUT = [ELEMENT_INDEX.Ca, ELEMENT_INDEX.P]

/** 0 below NOISE.highPhStartsAt, 1 where all of it happens. @param ph as last believed, not as read */
function highPhShare(ph: number): number {
  return Math.max(0, Math.min(NOISE.highPhShareMax, (ph - NOISE.highPhStartsAt) / NOISE.highPhRisesOver))
}

/** Standard deviation of log10 pCO2 about what the air has, at a believed pH. */
export function logPco2Sd(ph: number): number {
  return Math.hypot(NOISE.logPco2Sd, highPhShare(ph) * NOISE.highPhLogPco2Sd)
}

/**
 * Takes out of the balance what is expected to fall out in a step, and lets the doubt grow faster than the loss: seeds,
 * flow and roots decide how quickly it goes, and no probe tells. Nothing at all in a reservoir that gets its acid.
 *
 * @param mean written, mmol
 * @param noise variances to be added, written, mmol²
 */
export function fallOut(
  before: FilterState,
  mean: Float64Array,
  noise: Float64Array,
  change: SparseChange,
  stepMs: number,
): void {
  const share = highPhShare(before.ph)
  if (share === 0) return
  const days = stepMs / DAY_MS
  const lost = share * NOISE.scalePerDay * days
  for (const at of FALLING_OUT) {
    mean[at]! -= lost * before.mean[at]!
    putEntry(change, at, at, -lost)
    noise[at]! += (share * NOISE.scaleSdPerRootDay * before.mean[at]!) ** 2 * days
  }
}
