// How much acid or base the interval needs. Acid belongs to the make-up water: what water and crop bring is met in
// full, and only a small part of the present misfit is trimmed, no more than the weakest buffering allows.

import { CHARGE_PER_MMOL } from '../../chemistry/alkalinity.ts'
import { ELEMENT_INDEX } from '../../chemistry/element.ts'
import type { PlanInput } from './plan-input.ts'

export interface AcidityNeed {
  /** acid to give, or base where negative, meq */
  readonly meq: number
  /** of the expected change: what the make-up water brings and what the crop adds, meq */
  readonly makeUpMeq: number
  readonly cropMeq: number
  /** part of the need that trims the present misfit, meq */
  readonly trimMeq: number
  /** the misfit itself, meq/L above the aim */
  readonly gapMeqPerL: number
  /** no acid or base because pH is there already */
  readonly barred: 'ph-low' | undefined
}

/** Time in which trims close about two thirds of a misfit: several mixings, so that no trim answers an unmixed one. */
const TRIM_MS = 4 * 3_600_000
/** The least share of the estimated buffering that is counted on, however uncertain phosphorus is. */
const BUFFER_SHARE_MIN = 0.25

/**
 * The need in meq.
 *
 * Never takes the alkalinity at the end of the interval below its aim, gives no acid at or below the low edge of pH,
 * and no base above it. Without a pH only the expected change is met, never a misfit.
 *
 * @param dosesMeq alkalinity that the other doses of the plan bring, meq
 */
export function acidityNeed(input: PlanInput, dosesMeq: number): AcidityNeed {
  const { estimate, forecast, phBand, alkalinityAim } = input
  const { ph, volumeL } = estimate
  const makeUpMeq = makeUpAlkalinityMeq(input)
  const gapMeqPerL = estimate.alkalinityMeqPerL - alkalinityAim.aimMeqPerL
  const expectedMeq = forecast.alkalinityMeq + dosesMeq
  const share = 1 - Math.exp(-forecast.intervalMs / TRIM_MS)
  // Both witnesses must agree: the estimate of alkalinity and the pH itself.
  const phGapMeqPerL = ph === undefined ? 0 : gapByPh(input, ph)
  const above = share * Math.max(0, Math.min(gapMeqPerL, phGapMeqPerL)) * volumeL
  const below = share * Math.max(0, Math.min(-gapMeqPerL, -phGapMeqPerL)) * volumeL
  const parts = { makeUpMeq, cropMeq: forecast.alkalinityMeq - makeUpMeq, gapMeqPerL }
  if (ph !== undefined && ph <= phBand.low) {
    const meq = -Math.max(0, below - expectedMeq)
    return { ...parts, meq, trimMeq: -below, barred: 'ph-low' }
  }
  const roomMeq = gapMeqPerL * volumeL + expectedMeq
  return { ...parts, meq: Math.max(0, Math.min(expectedMeq + above, roomMeq)), trimMeq: above, barred: undefined }
}

/** What the expected make-up water brings, meq. */
export function makeUpAlkalinityMeq({ forecast, settings }: PlanInput): number {
  const untracked = settings.source.untrackedMeqPerL * forecast.makeUpL
  return forecast.makeUpMmol.reduce((sum, mmol, at) => sum + mmol * CHARGE_PER_MMOL[at]!, untracked)
}

/** Above the band bicarbonate buffers, which does not hang on the doubt about phosphorus; a fifth is kept back. */
const ABOVE_BAND_SHARE = 0.8

/**
 * Misfit as pH tells it, meq/L above the aim: inside the band by the least buffering that may be there, beyond its high
 * edge also by what this composition holds above it.
 */
function gapByPh(input: PlanInput, ph: number): number {
  const { phBand, alkalinityAim, estimate } = input
  const atPh = estimate.alkalinityAtPhMeqPerL
  if (atPh === undefined || ph <= phBand.high) return leastBuffering(input) * (ph - phBand.aim)
  const inside = leastBuffering(input) * (phBand.high - phBand.aim)
  return inside + ABOVE_BAND_SHARE * Math.max(0, atPh - alkalinityAim.highMeqPerL)
}

/** meq/L per unit of pH, the flatter side of the aim, less what the doubt about phosphorus could take away. */
function leastBuffering({ estimate, phBand, alkalinityAim }: PlanInput): number {
  const below = (alkalinityAim.aimMeqPerL - alkalinityAim.lowMeqPerL) / (phBand.aim - phBand.low)
  const above = (alkalinityAim.highMeqPerL - alkalinityAim.aimMeqPerL) / (phBand.high - phBand.aim)
  const slope = Math.max(0, Math.min(below, above))
  if (!Number.isFinite(slope)) return 0
  const phosphorus = estimate.mmolPerL[ELEMENT_INDEX.P]!
  const doubt = phosphorus > 0 ? (2 * estimate.sdMmolPerL[ELEMENT_INDEX.P]!) / phosphorus : 1
  return slope * Math.max(BUFFER_SHARE_MIN, 1 - doubt)
}
