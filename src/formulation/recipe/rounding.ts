/** What a scale can weigh, and what that does to the solution. */

/** One amount and what the scale makes of it. */
export interface RoundedAmount {
  readonly exactG: number
  readonly weighedG: number
  /** the scale is too coarse for it: weigh a larger amount into a stock, or more volume at once */
  readonly isTooCoarse: boolean
}

/** Each amount to the nearest step. A scale finer than the amounts changes nothing that matters. */
export function roundToScale(exactG: readonly number[], stepG: number): RoundedAmount[] {
  if (!(stepG > 0)) throw new Error(`a scale’s step must be above 0 g, not ${stepG}`)
  return exactG.map((exact) => {
    const steps = Math.round(exact / stepG)
    const weighedG = Number((steps * stepG).toPrecision(12))
    return { exactG: exact, weighedG, isTooCoarse: exact > 0 && Math.abs(weighedG - exact) > COARSE_SHARE * exact }
  })
}

/** An error of weighing beyond this share is told: laboratories see 5 % (a choice of ours). */
const COARSE_SHARE = 0.05
