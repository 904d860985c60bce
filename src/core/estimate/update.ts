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

export type Updated = (
  | { readonly kind: 'updated'; readonly belief: Belief }
  /** beyond the gate, or not a number: the belief is the one given, untouched */
  | { readonly kind: 'rejected' }
) & {
  readonly sigmas: number
  /** natural logarithm of the innovation's variance */
  readonly logVariance: number
}

/**
 * Kalman update by one scalar; several sensors are folded one after another (no inverse needed).
 *
 * The covariance is kept symmetric by computing one triangle and mirroring it, and positive by flooring the diagonal
 * far below any meaning. Kalman 1960, J. Basic Eng. 82:35–45.
 *
 * @param gateSigmas a reading further off than this many standard deviations never moves the belief
 */
export function updateScalar(belief: Belief, measurement: ScalarMeasurement, gateSigmas: number): Updated {
  const { innovation, noiseVariance, places, slopes } = measurement
  const n = belief.mean.length
  const covarianceWithH = new Float64Array(n)
  for (let entry = 0; entry < places.length; entry++) {
    const offset = places[entry]! * n
    const slope = slopes[entry]!
    // Symmetric, so a row serves as a column and memory is read in order.
    for (let at = 0; at < n; at++) covarianceWithH[at]! += slope * belief.covariance[offset + at]!
  }
  let variance = noiseVariance
  for (let entry = 0; entry < places.length; entry++) variance += slopes[entry]! * covarianceWithH[places[entry]!]!
  const sigmas = Math.abs(innovation) / Math.sqrt(variance)
  if (!(sigmas <= gateSigmas) || !(variance > 0)) return { kind: 'rejected', sigmas, logVariance: Math.log(variance) }
  return {
    kind: 'updated',
    belief: correct(belief, covarianceWithH, innovation, variance),
    sigmas,
    logVariance: Math.log(variance),
  }
}

const DIAGONAL_FLOOR = 1e-18

function correct(belief: Belief, covarianceWithH: Float64Array, innovation: number, variance: number): Belief {
  const n = belief.mean.length
  const mean = belief.mean.slice()
  const covariance = belief.covariance.slice()
  for (let row = 0; row < n; row++) {
    const gain = covarianceWithH[row]! / variance
    if (gain === 0) continue
    mean[row]! += gain * innovation
    for (let column = row; column < n; column++) {
      const value = covariance[row * n + column]! - gain * covarianceWithH[column]!
      covariance[row * n + column] = value
      covariance[column * n + row] = value
    }
  }
  for (let at = 0; at < n; at++) {
    if (covariance[at * n + at]! < DIAGONAL_FLOOR) covariance[at * n + at] = DIAGONAL_FLOOR
  }
  return { mean, covariance }
}
