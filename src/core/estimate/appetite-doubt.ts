/**
 * How doubtful uptake is on this site, against what the crops file says of it. Every laboratory value tells how far off
 * its element was; a site whose values keep coming as expected has earned narrower intervals, one that is surprised
 * again and again wider ones.
 *
 * The variance of uptake’s doubt is taken as known up to one factor with an inverse-gamma prior about 1 and updated by
 * the squared surprises of the bottles: Bar-Shalom, Li & Kirubarajan 2001, Estimation with Applications, ch. 11 on
 * noise level adjustment (from memory), as a conjugate update.
 */

import { ELEMENT_COUNT, ELEMENT_INDEX, MACRONUTRIENTS } from '../../chemistry/element.ts'
import { GROWTH, UPTAKE_FACTOR } from './layout.ts'
import type { FilterMemory } from './memory.ts'
import type { Belief } from './update.ts'

/** Surprises of a site so far, in what the crops file says was to be expected. */
export interface AppetiteSurprises {
  readonly bottles: number
  /** how many values there were, each for the part of its surprise that was not the laboratory’s own scatter */
  readonly values: number
  readonly squares: number
}

export const NO_SURPRISES: AppetiteSurprises = { bottles: 0, values: 0, squares: 0 }

/** What is believed before the first bottle is worth so many values: doubt a third more or less. A judgement. */
const PRIOR_VALUES = 5
/** One slip may put a value anywhere; none speaks louder than this many standard deviations. A judgement. */
const SIGMAS_MOST = 3.5
/** Variance over the configured one; beyond these ends it is another trouble. Judgements. */
const LEAST = 0.3
const MOST = 3

const JUDGED: readonly number[] = MACRONUTRIENTS.map((name) => ELEMENT_INDEX[name])

/** Variance of uptake’s doubt over what the crops file says; 1 until a second bottle has come. */
export function appetiteVariance({ appetite = NO_SURPRISES }: Pick<FilterMemory, 'appetite'>): number {
  const variance = (PRIOR_VALUES + appetite.squares) / (PRIOR_VALUES + appetite.values)
  return Math.min(MOST, Math.max(LEAST, variance))
}

/** The same as the natural logarithm of a scale on standard deviations, with its own standard deviation, about that of an inverse gamma. */
export function appetiteLogScale(memory: Pick<FilterMemory, 'appetite'>): {
  readonly mean: number
  readonly sd: number
} {
  const { values } = memory.appetite ?? NO_SURPRISES
  return { mean: 0.5 * Math.log(appetiteVariance(memory)), sd: 1 / Math.sqrt(2 * (PRIOR_VALUES + values)) }
}

/**
 * The surprises with one value more. The first bottle tells of the fill, not of the crop, and micronutrients are too few
 * and too coarsely measured to tell of either.
 *
 * @param value.sigmas surprise in standard deviations of belief and laboratory together
 * @param value.believedShare part of that variance which was the belief’s own
 */
export function surprisedBy(
  before: AppetiteSurprises,
  value: { readonly elementIndex: number; readonly sigmas: number; readonly believedShare: number },
): AppetiteSurprises {
  if (before.bottles === 0 || !JUDGED.includes(value.elementIndex)) return before
  const square = Math.min(value.sigmas, SIGMAS_MOST) ** 2
  return {
    ...before,
    values: before.values + value.believedShare,
    // Counted in the configured doubt, whatever was made of it meanwhile.
    squares: before.squares + value.believedShare * square * appetiteVariance({ appetite: before }),
  }
}

/** What is still believed of growth and uptake, made as doubtful as they have become; in place. */
export function scaleAppetites({ mean, covariance }: Belief, variance: number): void {
  if (variance === 1) return
  const n = mean.length
  const scale = Math.sqrt(variance)
  const places = [GROWTH, ...Array.from({ length: ELEMENT_COUNT }, (_unused, at) => UPTAKE_FACTOR + at)]
  for (const place of places) {
    for (let at = 0; at < n; at++) {
      covariance[place * n + at]! *= scale
      covariance[at * n + place]! *= scale
    }
  }
}
