// The library turns an equality round whenever it finds it missed from the other side, by rounding too, and so
// forgets which way its multiplier counts. They are found again from what the inequalities leave of the slope.

import type { NormalForm } from './normal-form.ts'
import { dot, slopeLeft } from './optimality.ts'

/** Keeps the normal equations solvable where equalities repeat one another; rows have length 1. */
const REPEATED = 1e-12

/**
 * Multipliers with those of the equalities replaced by the least-squares ones at y; the others as they came.
 * Whether they carry the slope in full is for the check of optimality to say.
 */
export function withEqualityMultipliers(form: NormalForm, y: Float64Array, multipliers: Float64Array): Float64Array {
  const count = form.equalities
  const result = multipliers.slice()
  result.fill(0, 0, count)
  const rows = form.rows.slice(0, count).map((row) => row.coefficients)
  const products = rows.map((row, i) => rows.map((other, j) => dot(row, other) + (i === j ? REPEATED : 0)))
  // The second round mends what the small addition to the diagonal spoiled.
  for (let round = 0; round < 2; round++) {
    const left = slopeLeft(form, y, result)
    const step = solvePositive(
      products,
      rows.map((row) => dot(row, left)),
    )
    for (let i = 0; i < count; i++) result[i]! += step[i]!
  }
  return result
}

/** Gaussian elimination without pivoting, sound for a positive definite matrix. Neither argument is changed. */
function solvePositive(matrix: readonly (readonly number[])[], right: readonly number[]): number[] {
  const a = matrix.map((row) => [...row])
  const x = [...right]
  for (let k = 0; k < x.length; k++) {
    for (let i = k + 1; i < x.length; i++) {
      const factor = a[i]![k]! / a[k]![k]!
      for (let j = k; j < x.length; j++) a[i]![j]! -= factor * a[k]![j]!
      x[i]! -= factor * x[k]!
    }
  }
  for (let k = x.length - 1; k >= 0; k--) {
    for (let j = k + 1; j < x.length; j++) x[k]! -= a[k]![j]! * x[j]!
    x[k]! /= a[k]![k]!
  }
  return x
}
