/** Dense mathematics as an oracle: mathjs 15, which shares no line with the filter. */

import { all, create, type Matrix } from 'mathjs'

export const math = create(all!)

export function dense(flat: Float64Array, n: number): number[][] {
  return Array.from({ length: n }, (_row, row) => Array.from(flat.subarray(row * n, row * n + n)))
}

export function product(...factors: number[][][]): number[][] {
  return factors.reduce((left, right) => math.multiply(left, right) as number[][])
}

export function transposed(matrix: number[][]): number[][] {
  return math.transpose(matrix) as number[][]
}

/** Largest difference of a flat matrix from a dense one, as a share of the largest entry. */
export function worstShare(flat: Float64Array, expected: number[][]): number {
  const largest = Math.max(...expected.flat().map(Math.abs))
  const found = dense(flat, expected.length).flat()
  return Math.max(...expected.flat().map((value, at) => Math.abs(value - found[at]!))) / largest
}

/** Eigenvalues of the correlations that a covariance stands for: scale-free, so that mmol and logarithms count alike. */
export function correlationEigenvalues(covariance: Float64Array, n: number): number[] {
  const sd = Array.from({ length: n }, (_one, at) => Math.sqrt(covariance[at * n + at]!))
  const correlations = dense(covariance, n).map((row, at) => row.map((value, to) => value / (sd[at]! * sd[to]!)))
  const { values } = math.eigs(correlations, { eigenvectors: false }) as { values: number[] | Matrix }
  return (Array.isArray(values) ? values : (values.toArray() as number[])).map(Number)
}
