/** How well a course of events explains what was measured: the log likelihood of every surprise, less what all share. */

import type { Surprise } from '../estimate/advance.ts'

/** A reading wilder than this counts as this wild: one splash on a probe must not outvote five days. The filter’s gate. */
const SIGMAS_MAX = 5

/**
 * Natural logarithm of the likelihood of measurements, up to a constant that is the same for all explanations of the
 * same measurements. Gaussian innovations; Bar-Shalom, Li & Kirubarajan, Estimation with Applications to Tracking and
 * Navigation, 11.6 (multiple models; chapter from memory).
 */
export function logLikelihood(surprises: readonly Surprise[]): number {
  let sum = 0
  for (const { sigmas, logVariance } of surprises) {
    const bounded = Number.isFinite(sigmas) ? Math.min(sigmas, SIGMAS_MAX) : SIGMAS_MAX
    if (Number.isFinite(logVariance)) sum -= 0.5 * (bounded * bounded + logVariance)
  }
  return sum
}

/** Logarithm of the mean of likelihoods given as logarithms: evidence of a cause whose size is not known beforehand. */
export function logMean(logs: readonly number[]): number {
  const largest = Math.max(...logs)
  if (!Number.isFinite(largest)) return largest
  return largest + Math.log(logs.reduce((sum, value) => sum + Math.exp(value - largest), 0) / logs.length)
}

/**
 * Readings on one grid share model errors that the filter treats as new each time, so a hundred of them are not a
 * hundred witnesses: log ratios are scaled down by this before causes are compared. A judgement; without it a cause
 * that is right by a hair is called certain.
 */
export const WITNESS_SHARE = 0.1
