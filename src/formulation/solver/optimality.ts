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
  const gradient = new Float64Array(form.size)
  let size = 1
  for (let i = 0; i < form.size; i++) {
    const pull = form.linear[i]!
    const curve = dot(form.hessian[i]!, y)
    gradient[i] = curve - pull
    size = Math.max(size, Math.abs(pull), Math.abs(curve))
  }
  let [feasibility, sign, complementarity] = [0, 0, 0]
  for (const [i, row] of form.rows.entries()) {
    const multiplier = multipliers[i]!
    for (let j = 0; j < form.size; j++) gradient[j]! -= multiplier * row.coefficients[j]!
    const slack = (dot(row.coefficients, y) - row.atLeast) / (1 + Math.abs(row.atLeast))
    const equality = i < form.equalities
    feasibility = Math.max(feasibility, equality ? Math.abs(slack) : -slack)
    if (equality) continue
    sign = Math.max(sign, -multiplier / size)
    complementarity = Math.max(complementarity, Math.abs(multiplier * slack) / size)
  }
  const stationarity = gradient.reduce((worst, slope) => Math.max(worst, Math.abs(slope)), 0) / size
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

export function dot(left: ArrayLike<number>, right: ArrayLike<number>): number {
  let sum = 0
  for (let i = 0; i < left.length; i++) sum += left[i]! * right[i]!
  return sum
}

function finite(gap: number): number {
  return Number.isFinite(gap) ? gap : Infinity
}
