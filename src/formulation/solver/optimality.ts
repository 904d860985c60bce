// Whether an answer is the answer: Karush, Kuhn and Tucker's conditions, recomputed from the problem alone.

import type { NormalForm } from './normal-form.ts'

/** How far an answer is from each condition, in the scaled problem, relative to the size of the terms in it. */
export interface OptimalityGaps {
  /** the worst row not kept */
  readonly feasibility: number
  /** slope of cost not carried by multipliers */
  readonly stationarity: number
  /** the most negative multiplier of an inequality */
  readonly sign: number
  /** the largest product of a multiplier and its row's slack */
  readonly complementarity: number
}

/** A choice of ours: the dual method ends near 1e-12 on problems of this size, a wrong answer is off by far more. */
export const OPTIMALITY_TOLERANCE = 1e-7

/** The gaps of an answer; any that is not finite comes back as Infinity, so that it can never pass. */
export function optimalityGaps(form: NormalForm, y: Float64Array, multipliers: Float64Array): OptimalityGaps {
  const size = form.linear.reduce(
    (most, pull, i) => Math.max(most, Math.abs(pull), Math.abs(dot(form.hessian[i]!, y))),
    1,
  )
  let [feasibility, sign, complementarity] = [0, 0, 0]
  for (const [i, row] of form.rows.entries()) {
    const slack = (dot(row.coefficients, y) - row.atLeast) / (1 + Math.abs(row.atLeast))
    const equality = i < form.equalities
    feasibility = Math.max(feasibility, equality ? Math.abs(slack) : -slack)
    if (equality) continue
    sign = Math.max(sign, -multipliers[i]! / size)
    complementarity = Math.max(complementarity, Math.abs(multipliers[i]! * slack) / size)
  }
  const left = slopeLeft(form, y, multipliers)
  const stationarity = left.reduce((worst, slope) => Math.max(worst, Math.abs(slope)), 0) / size
  return {
    feasibility: finite(feasibility),
    stationarity: finite(stationarity),
    sign: finite(sign),
    complementarity: finite(complementarity),
  }
}

/** Do all conditions hold? */
export function isOptimal(gaps: OptimalityGaps): boolean {
  const { feasibility, stationarity, sign, complementarity } = gaps
  return [feasibility, stationarity, sign, complementarity].every((gap) => gap <= OPTIMALITY_TOLERANCE)
}

/** Slope of the cost at y that the multipliers do not carry. */
export function slopeLeft(form: NormalForm, y: Float64Array, multipliers: Float64Array): Float64Array {
  const left = Float64Array.from(form.linear, (pull, i) => dot(form.hessian[i]!, y) - pull)
  for (const [i, row] of form.rows.entries()) {
    const multiplier = multipliers[i]!
    if (multiplier === 0) continue
    for (let j = 0; j < left.length; j++) left[j]! -= multiplier * row.coefficients[j]!
  }
  return left
}

/** The inner product; `right` is at least as long as `left`. */
export function dot(left: ArrayLike<number>, right: ArrayLike<number>): number {
  let sum = 0
  for (let i = 0; i < left.length; i++) sum += left[i]! * right[i]!
  return sum
}

function finite(gap: number): number {
  return Number.isFinite(gap) ? gap : Infinity
}
