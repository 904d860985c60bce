/** Where a value lies in the channel of its band. */

export interface Band {
  readonly lowMgPerL: number
  readonly aimMgPerL: number
  readonly highMgPerL: number
}

/** Where the banks and the aim stand, in percent of the drawing. */
export const LOW = 28
export const AIM = 50
export const HIGH = 72

/** Percent of the drawing's width for a value: straight between low, aim and high, and straight on beyond them. */
export function placeOf(mgPerL: number, band: Band): number {
  const { lowMgPerL, aimMgPerL, highMgPerL } = band
  const lower = Math.max(aimMgPerL - lowMgPerL, Number.EPSILON)
  const upper = Math.max(highMgPerL - aimMgPerL, Number.EPSILON)
  const place =
    mgPerL <= aimMgPerL
      ? AIM + ((mgPerL - aimMgPerL) / lower) * (AIM - LOW)
      : AIM + ((mgPerL - aimMgPerL) / upper) * (HIGH - AIM)
  return Math.min(Math.max(place, 2), 98)
}
