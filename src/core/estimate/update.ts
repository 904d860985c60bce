/** One scalar measurement folded into a belief: gain, mean, covariance. */

/** A measurement linear about the mean: z = h(x) + noise, with the sparse row dh/dx. */
export interface ScalarMeasurement {
  /** z − h(mean), in the measurement’s own unit */
  readonly innovation: number
  readonly noiseVariance: number
  /** places and slopes of dh/dx that are not zero */
  readonly places: readonly number[]
  readonly slopes: readonly number[]
}

export interface Belief {
  readonly mean: Float64Array
  readonly covariance: Float64Array
}

export interface Surprised {
  /** without its sign */
  readonly sigmas: number
  /** natural logarithm of the innovation's variance */
  readonly logVariance: number
}

export type Updated = (
  | { readonly kind: 'updated'; readonly belief: Belief }
  /** beyond the gate, or not a number: the belief is the one given, untouched */
  | { readonly kind: 'rejected' }
) &
  Surprised

/**
 * Kalman update by one scalar; several sensors are folded one after another (no inverse needed).
 *
 * The covariance is kept symmetric by computing one triangle and mirroring it, and positive by flooring the diagonal
 * far below any meaning. Kalman 1960, J. Basic Eng. 82:35–45.
 *
 * @param gateSigmas a reading further off than this many standard deviations never moves the belief
 */
export function updateScalar(belief: Belief, measurement: ScalarMeasurement, gateSigmas: number): Updated {
  const fresh = { mean: belief.mean.slice(), covariance: belief.covariance.slice() }
  const { isTaken, ...surprised } = updateOwned(fresh, measurement, gateSigmas)
  return isTaken ? { kind: 'updated', belief: fresh, ...surprised } : { kind: 'rejected', ...surprised }
}

/** Variance that the innovation of a measurement is expected to have under a belief. */
export function innovationVariance({ mean, covariance }: Belief, measurement: ScalarMeasurement): number {
  const { places, slopes, noiseVariance } = measurement
  const n = mean.length
  let variance = noiseVariance
  for (let at = 0; at < places.length; at++) {
    const offset = places[at]! * n
    for (let to = 0; to < places.length; to++) variance += slopes[at]! * slopes[to]! * covariance[offset + places[to]!]!
  }
  return variance
}

/** What is written over the covariance before its first use each time; nothing is kept in it. */
let covarianceWithH = new Float64Array(0)

/**
 * The same into a belief that nobody else holds yet: a grid step folds several sensors into the one it is making, and a
 * copy for each would cost more than the arithmetic. A rejected measurement leaves it untouched.
 */
export function updateOwned(
  belief: Belief,
  measurement: ScalarMeasurement,
  gateSigmas: number,
): Surprised & { readonly isTaken: boolean } {
  const { innovation, noiseVariance, places, slopes } = measurement
  const n = belief.mean.length
  if (covarianceWithH.length !== n) covarianceWithH = new Float64Array(n)
  covarianceWithH.fill(0)
  for (let entry = 0; entry < places.length; entry++) {
    const offset = places[entry]! * n
    const slope = slopes[entry]!
    // Symmetric, so a row serves as a column and memory is read in order.
    for (let at = 0; at < n; at++) covarianceWithH[at]! += slope * belief.covariance[offset + at]!
  }
  let variance = noiseVariance
  for (let entry = 0; entry < places.length; entry++) variance += slopes[entry]! * covarianceWithH[places[entry]!]!
  const sigmas = Math.abs(innovation) / Math.sqrt(variance)
  const logVariance = Math.log(variance)
  if (!(sigmas <= gateSigmas) || !(variance > 0)) return { isTaken: false, sigmas, logVariance }
  correct(belief, covarianceWithH, innovation, variance)
  return { isTaken: true, sigmas, logVariance }
}

const DIAGONAL_FLOOR = 1e-18

function correct({ mean, covariance }: Belief, withH: Float64Array, innovation: number, variance: number): void {
  const n = mean.length
  for (let row = 0; row < n; row++) {
    const gain = withH[row]! / variance
    if (gain === 0) continue
    mean[row]! += gain * innovation
    for (let column = row, across = row * n + row, down = across; column < n; column++, across++, down += n) {
      const value = covariance[across]! - gain * withH[column]!
      covariance[across] = value
      covariance[down] = value
    }
  }
  for (let at = 0; at < n; at++) {
    if (covariance[at * n + at]! < DIAGONAL_FLOOR) covariance[at * n + at] = DIAGONAL_FLOOR
  }
}
