// Letting part of the solution go and filling up with new water.

/** No more than this part of the solution goes at once: roots need time to follow (as the planner has it). */
export const SLICE_SHARE_MAX = 0.1

export interface Renewal {
  /** what has been replaced in the end */
  readonly share: number
  readonly slices: number
  /** of the volume, each time */
  readonly sliceShare: number
  /** more than share times volume where there are several slices: later ones let new water go as well */
  readonly dischargeL: number
}

/** The slices in which a share of the solution is renewed; a share of 1 is a fresh start, all at once. */
export function renewalOf(share: number, volumeL: number): Renewal {
  if (!(share >= 0 && share <= 1)) throw new Error(`renewalOf: a share of ${share}`)
  if (share === 0) return { share, slices: 0, sliceShare: 0, dischargeL: 0 }
  if (share === 1) return { share, slices: 1, sliceShare: 1, dischargeL: volumeL }
  const kept = 1 - share
  const slices = Math.max(1, Math.ceil(Math.log(kept) / Math.log(1 - SLICE_SHARE_MAX) - 1e-9))
  const sliceShare = 1 - kept ** (1 / slices)
  return { share, slices, sliceShare, dischargeL: slices * sliceShare * volumeL }
}

/** A solution of which a share was replaced by new water, mmol/L in the order of ELEMENTS. */
export function renewed(used: Float64Array, newWater: Float64Array, share: number): Float64Array {
  return used.map((mmolPerL, at) => mmolPerL * (1 - share) + newWater[at]! * share)
}
