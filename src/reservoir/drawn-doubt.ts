/** Draws of the doubt about a belief: what the truth may be beside it, the same draws every time. */

import { ELEMENT_COUNT } from '../chemistry/element.ts'

/** Enough of them for a fifth and a ninety-fifth percentile: standard normal numbers, one per element. */
export const DRAWS: readonly Float64Array[] = Array.from({ length: 40 }, (_draw, draw) =>
  Float64Array.from({ length: ELEMENT_COUNT }, (_none, at) => normalOf(draw * ELEMENT_COUNT + at)),
)

/** Lower triangle L with L·Lᵀ the covariance of the amounts, mmol, row by row; where there is no doubt it holds zeros. */
export function triangleOf(covariance: Float64Array): Float64Array {
  const stride = Math.round(Math.sqrt(covariance.length))
  const lower = new Float64Array(ELEMENT_COUNT * ELEMENT_COUNT)
  const entry = (row: number, column: number) => lower[row * ELEMENT_COUNT + column]!
  for (let row = 0; row < ELEMENT_COUNT; row++) {
    for (let column = 0; column <= row; column++) {
      let left = covariance[row * stride + column]!
      for (let at = 0; at < column; at++) left -= entry(row, at) * entry(column, at)
      const pivot = entry(column, column)
      const value = row === column ? Math.sqrt(Math.max(0, left)) : pivot > 0 ? left / pivot : 0
      lower[row * ELEMENT_COUNT + column] = value
    }
  }
  return lower
}

/** What one element’s amount is off by in a draw, mmol. */
export function offBy(triangle: Float64Array, normals: Float64Array, at: number): number {
  let sum = 0
  for (let column = 0; column <= at; column++) sum += triangle[at * ELEMENT_COUNT + column]! * normals[column]!
  return sum
}

/** Standard normal numbers by place in a sequence: Box and Muller (1958) over a multiplicative hash. */
function normalOf(place: number): number {
  const uniform = (seed: number) => (Math.imul(seed + 1, 0x9e3779b1) >>> 0) / 2 ** 32
  const mixed = (seed: number) => uniform(Math.floor(uniform(seed) * 2 ** 31) ^ seed)
  return Math.sqrt(-2 * Math.log(Math.max(1e-12, mixed(2 * place)))) * Math.cos(2 * Math.PI * mixed(2 * place + 1))
}
