import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { emptyChange, propagate, putEntry } from '../../../../src/core/estimate/transition.ts'
import { updateScalar } from '../../../../src/core/estimate/update.ts'
import { correlationEigenvalues, dense, math, product, transposed, worstShare } from './matrix.ts'

const small = fc.double({ min: -2, max: 2, noNaN: true })

/** A random covariance A Aᵀ + I/10 of n unknowns, flat. */
const covarianceOf = (n: number) =>
  fc.array(small, { minLength: n * n, maxLength: n * n }).map((flat) => {
    const root = dense(Float64Array.from(flat), n)
    const full = math.add(product(root, transposed(root)), math.multiply(0.1, math.identity(n))) as math.Matrix
    return Float64Array.from((full.toArray() as number[][]).flat())
  })

const N = 9
const place = fc.nat(N - 1)

describe('doubt carried over a step', () => {
  it('is what the dense product (I + E) P (I + E)ᵀ gives, for any sparse change', () => {
    const entries = fc.array(fc.tuple(place, place, small), { maxLength: 25 })
    fc.assert(
      fc.property(covarianceOf(N), entries, (covariance, changes) => {
        const change = emptyChange(32)
        const map = math.identity(N, N) as math.Matrix
        const full = map.toArray() as number[][]
        for (const [row, column, value] of changes) {
          putEntry(change, row, column, value)
          full[row]![column]! += value
        }
        const before = covariance.slice()
        const found = propagate(covariance, N, change)
        expect(covariance).toEqual(before)
        expect(worstShare(found, product(full, dense(covariance, N), transposed(full)))).toBeLessThan(1e-12)
        for (let row = 0; row < N; row++)
          for (let column = 0; column < row; column++) expect(found[row * N + column]).toBe(found[column * N + row])
      }),
      { numRuns: 300, seed: 1 },
    )
  })

  it('refuses more entries than it has room for instead of dropping one', () => {
    const change = emptyChange(1)
    putEntry(change, 0, 0, 0)
    putEntry(change, 0, 1, 0.5)
    expect(() => putEntry(change, 1, 0, 0.5)).toThrow(/full/)
  })
})

describe('one reading folded in', () => {
  const reading = fc.record({
    mean: fc.array(small, { minLength: N, maxLength: N }),
    slopes: fc.uniqueArray(fc.tuple(place, small), { selector: ([at]) => at, minLength: 1, maxLength: N }),
    innovation: small,
    noiseVariance: fc.double({ min: 0.01, max: 3, noNaN: true }),
  })

  // Kalman 1960: K = P hᵀ / (h P hᵀ + R), x + K ν, (I − K h) P; written out densely with mathjs.
  it('moves mean and doubt as the closed form does', () => {
    fc.assert(
      fc.property(covarianceOf(N), reading, (covariance, { mean, slopes, innovation, noiseVariance }) => {
        const row = new Array<number>(N).fill(0)
        for (const [at, slope] of slopes) row[at] = slope
        const full = dense(covariance, N)
        const withRow = product(full, transposed([row]))
        const variance = product([row], withRow)[0]![0]! + noiseVariance
        const gain = withRow.map(([value]) => [value! / variance])
        const expected = math.subtract(full, product(gain, [row], full)) as number[][]
        const measurement = {
          innovation,
          noiseVariance,
          places: slopes.map(([at]) => at),
          slopes: slopes.map(([, slope]) => slope),
        }
        const updated = updateScalar({ mean: Float64Array.from(mean), covariance }, measurement, 1e9)
        if (updated.kind !== 'updated') throw new Error('a reading inside the gate was rejected')
        expect(worstShare(updated.belief.covariance, expected)).toBeLessThan(1e-11)
        gain.forEach(([share], at) => {
          expect(updated.belief.mean[at]).toBeCloseTo(mean[at]! + share! * innovation, 10)
        })
        expect(Math.min(...correlationEigenvalues(updated.belief.covariance, N))).toBeGreaterThan(-1e-12)
      }),
      { numRuns: 200, seed: 2 },
    )
  })

  it('beyond the gate leaves the belief as it was, to the bit and to the object', () => {
    const belief = { mean: Float64Array.of(1, 2), covariance: Float64Array.of(4, 0, 0, 9) }
    const kept = structuredClone(belief)
    // √(4 + 5) = 3, so 15 is five standard deviations off.
    const at = (innovation: number) =>
      updateScalar(belief, { innovation, noiseVariance: 5, places: [0], slopes: [1] }, 5)
    expect(at(15).kind).toBe('updated')
    expect(at(15.001)).toMatchObject({ kind: 'rejected', sigmas: 15.001 / 3 })
    expect(at(-15.001).kind).toBe('rejected')
    expect(belief).toEqual(kept)
  })

  it.each([
    ['a value', { innovation: Number.NaN }],
    ['its noise', { noiseVariance: Number.NaN }],
    ['a slope', { slopes: [Number.NaN] }],
    ['an endless value', { innovation: Number.POSITIVE_INFINITY }],
  ])('that is not a number in %s never enters', (_what, broken) => {
    const belief = { mean: Float64Array.of(1, 2), covariance: Float64Array.of(4, 0, 0, 9) }
    const measurement = { innovation: 0.1, noiseVariance: 1, places: [0], slopes: [1], ...broken }
    expect(updateScalar(belief, measurement, 5).kind).toBe('rejected')
  })
})
