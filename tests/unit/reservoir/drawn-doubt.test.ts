import { expect, it } from 'vitest'
import { ELEMENT_COUNT } from '../../../src/chemistry/element.ts'
import { DRAWS, offBy, triangleOf } from '../../../src/reservoir/drawn-doubt.ts'

/** Amounts 0 and 1 go together, 2 is known for sure; the filter holds more than amounts. */
function covarianceOf(size: number): Float64Array {
  const covariance = new Float64Array(size * size)
  const put = (row: number, column: number, value: number) => {
    covariance[row * size + column] = value
    covariance[column * size + row] = value
  }
  put(0, 0, 4)
  put(1, 1, 9)
  put(0, 1, 4.8)
  put(ELEMENT_COUNT, ELEMENT_COUNT, 100)
  return covariance
}

it('a triangle times itself is the covariance of the amounts', () => {
  const triangle = triangleOf(covarianceOf(ELEMENT_COUNT + 7))
  const entry = (row: number, column: number) =>
    Array.from({ length: ELEMENT_COUNT }, (_none, at) => at).reduce(
      (sum, at) => sum + triangle[row * ELEMENT_COUNT + at]! * triangle[column * ELEMENT_COUNT + at]!,
      0,
    )
  expect([entry(0, 0), entry(1, 1), entry(0, 1), entry(2, 2)]).toEqual(
    [4, 9, 4.8, 0].map((one) => expect.closeTo(one, 12)),
  )
})

it('draws are as wide as the doubt, and go together as it does', () => {
  const triangle = triangleOf(covarianceOf(ELEMENT_COUNT))
  const drawn = DRAWS.map((normals) => [offBy(triangle, normals, 0), offBy(triangle, normals, 1)] as const)
  const mean = (of: (one: readonly [number, number]) => number) =>
    drawn.reduce((sum, one) => sum + of(one), 0) / drawn.length
  expect(Math.abs(mean(([one]) => one))).toBeLessThan((2 * 2) / Math.sqrt(DRAWS.length))
  expect(mean(([one]) => one ** 2)).toBeGreaterThan(2.5)
  expect(mean(([one]) => one ** 2)).toBeLessThan(6)
  expect(mean(([one, other]) => one * other)).toBeGreaterThan(2)
  expect(DRAWS.every((normals) => offBy(triangle, normals, 2) === 0)).toBe(true)
})
