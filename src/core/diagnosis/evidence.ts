/** How well a course of events explains what was measured, in one unit for all explanations. */

import type { Surprise } from '../estimate/advance.ts'

type Kind = Surprise['of']

/** What a surprise of each kind usually is here, as a standard deviation in the measurement’s own unit. */
export type Scales = Readonly<Record<Kind, number>>

/** A reading wilder than this counts as this wild: one splash on a probe must not outvote five days. The filter’s gate. */
const SIGMAS_MAX = 5
/** Median of the square of a standard normal variable. */
const MEDIAN_SQUARE = 0.455
/** A probe is never believed to be finer than this share of what the filter expects of it. A judgement. */
const LEAST_SHARE = 0.2
const KINDS: readonly Kind[] = ['level', 'ph', 'conductivity', 'laboratory', 'spot', 'bottle']

/**
 * The usual size of a surprise of each kind, by the median, which a trouble in part of the days does not move.
 *
 * The filter’s own variances will not do: they are generous on purpose, and an explanation would win by making them
 * small instead of by being right.
 */
export function usualScales(surprises: readonly Surprise[]): Scales {
  const entries = KINDS.map((kind): [Kind, number] => {
    const own = surprises.filter(({ of, sigmas }) => of === kind && Number.isFinite(sigmas))
    const expected = median(own.map(({ logVariance }) => Math.exp(logVariance)))
    const seen = median(own.map((one) => innovationOf(one) ** 2)) / MEDIAN_SQUARE
    return [kind, Math.sqrt(Math.max(seen, LEAST_SHARE ** 2 * expected))]
  })
  return Object.fromEntries(entries) as Scales
}

/** Natural logarithm of the likelihood of measurements, up to a constant that all explanations share. */
export function logLikelihood(surprises: readonly Surprise[], scales: Scales): number {
  let sum = 0
  for (const one of surprises) {
    const sigmas = innovationOf(one) / scales[one.of]
    const bounded = Number.isNaN(sigmas) ? SIGMAS_MAX : Math.min(sigmas, SIGMAS_MAX)
    sum -= 0.5 * bounded * bounded
  }
  return sum
}

/** Size of the difference between what was measured and what was expected, in the measurement’s own unit. */
function innovationOf({ sigmas, logVariance }: Surprise): number {
  return sigmas * Math.exp(0.5 * logVariance)
}

function median(values: readonly number[]): number {
  if (values.length === 0) return 1
  const sorted = [...values].sort((one, other) => one - other)
  return sorted[Math.floor(sorted.length / 2)]!
}

/** Logarithm of the mean of likelihoods given as logarithms: evidence of a cause whose size is not known beforehand. */
export function logMean(logs: readonly number[]): number {
  const largest = Math.max(...logs)
  if (!Number.isFinite(largest)) return largest
  return largest + Math.log(logs.reduce((sum, value) => sum + Math.exp(value - largest), 0) / logs.length)
}

/**
 * Readings of one probe share the model’s errors for hours, so a hundred of them are not a hundred witnesses: log ratios
 * are scaled down by this before causes are compared. A judgement; without it a cause that is right by a hair is called
 * certain.
 */
export const WITNESS_SHARE = 0.2
