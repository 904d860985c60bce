import kalman from 'kalman-filter'
import { describe, expect, it } from 'vitest'
import { emptyChange, propagate, putEntry } from '../../../../src/core/estimate/transition.ts'
import { updateScalar } from '../../../../src/core/estimate/update.ts'
import { dense } from './matrix.ts'

/**
 * A reservoir of constant volume as a linear case: amounts of nitrate and potassium that a growth factor takes away,
 * a probe that sees both with a bias of its own, a laboratory that sees each. Units: mmol/L, days.
 */
const N = 4
const { KalmanFilter, State } = kalman
const [NITRATE, POTASSIUM, GROWTH, BIAS] = [0, 1, 2, 3] as const
const STEP_DAYS = 1 / 144
const UPTAKE: readonly (readonly [number, number, number])[] = [
  [NITRATE, GROWTH, -8.5 * 0.07 * STEP_DAYS],
  [POTASSIUM, GROWTH, -5 * 0.07 * STEP_DAYS],
  [GROWTH, GROWTH, Math.exp(-STEP_DAYS / 40) - 1],
]
const NOISE = [1e-6, 2e-6, 3e-5, 1e-7]
const FIRST = { mean: [10, 5, 1, 0], sd: [0.5, 0.25, 0.25, 0.06] }
/** EC-like row, then one for each of two elements. */
const ROWS = [
  [0.07, 0.074, 0, 1],
  [1, 0, 0, 0],
  [0, 1, 0, 0],
]
const ROW_NOISE = [0.004 ** 2, 0.4 ** 2, 0.2 ** 2]

/** Readings that wander about what is true of another crop; any numbers do. */
const readings = (step: number): number[] => [
  1.05 - 0.0005 * step + 0.01 * Math.sin(7 * step),
  10 - 0.006 * step + 0.3 * Math.cos(3 * step),
  5 - 0.003 * step + 0.1 * Math.sin(11 * step),
]

const diagonal = (variances: readonly number[]): number[][] =>
  variances.map((variance, row) => variances.map((_other, column) => (row === column ? variance : 0)))

describe('the filter on a linear case', () => {
  it('is a general-purpose Kalman library to 1e-9 in every mean and covariance, over four days of readings', () => {
    const transition = diagonal([1, 1, 1, 1])
    for (const [row, column, value] of UPTAKE) transition[row]![column]! += value
    const init = {
      mean: FIRST.mean.map((value) => [value]),
      covariance: diagonal(FIRST.sd.map((sd) => sd * sd)),
      index: -1,
    }
    const library = new KalmanFilter({
      observation: { dimension: 3, stateProjection: ROWS, covariance: diagonal(ROW_NOISE) },
      dynamic: { dimension: N, transition, covariance: diagonal(NOISE), init },
    })
    let theirs = new State(init)
    let ours = { mean: Float64Array.from(FIRST.mean), covariance: Float64Array.from(init.covariance.flat()) }
    let worst = 0
    for (let step = 0; step < 576; step++) {
      theirs = library.correct({
        predicted: library.predict({ previousCorrected: theirs }),
        observation: readings(step).map((value) => [value]),
      })
      ours = foldAll(carried(ours), readings(step))
      worst = Math.max(worst, ...theirs.mean.map(([value], at) => Math.abs(value! - ours.mean[at]!)))
      const found = dense(ours.covariance, N).flat()
      worst = Math.max(worst, ...theirs.covariance.flat().map((value, at) => Math.abs(value - found[at]!)))
    }
    expect(worst).toBeLessThan(1e-9)
    // It did something: the crop of these readings takes less than was believed.
    expect(Math.abs(ours.mean[GROWTH]! - 1)).toBeGreaterThan(0.05)
    expect(ours.covariance[BIAS * N + BIAS]!).toBeLessThan(0.5 * FIRST.sd[BIAS]! ** 2)
  })
})

type Belief = { mean: Float64Array<ArrayBuffer>; covariance: Float64Array<ArrayBuffer> }

function carried({ mean, covariance }: Belief): Belief {
  const change = emptyChange(8)
  const next = mean.slice()
  for (const [row, column, value] of UPTAKE) {
    putEntry(change, row, column, value)
    next[row]! += value * mean[column]!
  }
  const wider = Float64Array.from(propagate(covariance, N, change))
  NOISE.forEach((variance, at) => {
    wider[at * N + at]! += variance
  })
  return { mean: next, covariance: wider }
}

/** One reading after another, as the filter does; the library takes all three at once. */
function foldAll(before: Belief, values: readonly number[]): Belief {
  return values.reduce((belief, value, at) => {
    const slopes = ROWS[at]!
    const expected = slopes.reduce((sum, slope, place) => sum + slope * belief.mean[place]!, 0)
    const measurement = { innovation: value - expected, noiseVariance: ROW_NOISE[at]!, places: [0, 1, 2, 3], slopes }
    const updated = updateScalar(belief, measurement, 1e9)
    if (updated.kind !== 'updated') throw new Error('nothing is gated here')
    const { mean, covariance } = updated.belief
    return { mean: Float64Array.from(mean), covariance: Float64Array.from(covariance) }
  }, before)
}
