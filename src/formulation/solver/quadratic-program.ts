// Convex quadratic programs: the desk's recipes and the planner's doses. An answer is only called solved after its
// conditions of optimality were recomputed from the problem.

import { findConflict } from './conflict.ts'
import { type DualAnswer, runDualMethod } from './dual-method.ts'
import { type NormalForm, toNormalForm } from './normal-form.ts'
import { dot, isOptimal, type OptimalityGaps, optimalityGaps } from './optimality.ts'

/** Minimise 1/2 x'Dx - d'x subject to A x >= b, the first `equalities` rows equal, and lower <= x <= upper. */
export interface QuadraticProgram {
  /** D: symmetric, positive semidefinite, one array per line */
  readonly hessian: readonly ArrayLike<number>[]
  /** d */
  readonly linear: ArrayLike<number>
  /** A, one array per row */
  readonly rows: readonly ArrayLike<number>[]
  /** b */
  readonly atLeast: ArrayLike<number>
  readonly equalities: number
  /** -Infinity, or the whole array absent, where there is none */
  readonly lower?: ArrayLike<number>
  readonly upper?: ArrayLike<number>
  /** added to the curvature of every variable, relative to its own; decides where the cost does not. Default 1e-9 */
  readonly ridge?: number
}

export type QuadraticAnswer =
  | {
      readonly kind: 'solved'
      readonly x: Float64Array
      /** 1/2 x'Dx - d'x, without the ridge */
      readonly objective: number
      /** rows that bind */
      readonly active: readonly number[]
      /** fall of the objective per unit by which a row is loosened; of an equality either sign */
      readonly multipliers: Float64Array
      readonly lowerMultipliers: Float64Array
      readonly upperMultipliers: Float64Array
    }
  | { readonly kind: 'infeasible'; readonly explanation: string }
  | { readonly kind: 'degenerate'; readonly explanation: string }
  | { readonly kind: 'not-verified'; readonly explanation: string; readonly gaps?: OptimalityGaps }

const RIDGE = 1e-9
/** Of scaled rows, smallest first: a multiplier times the loosening must stay below the tolerance. */
const LOOSENINGS = [1e-13, 1e-11, 1e-9]

/**
 * Solves a convex quadratic program, and says so only when the answer was verified.
 *
 * @returns solved; infeasible, with the rows that contradict; degenerate, when the cost falls without end or is not
 *   convex; not-verified, when the solver's answer misses a condition. Nothing but `solved` may be acted on.
 * @throws when the shapes disagree or a number is not finite (bounds may be infinite): that is a fault of the caller
 *
 * Goldfarb & Idnani's dual method in scaled variables; a claim of inconsistency is checked before it is passed on.
 */
export function solveQuadraticProgram(program: QuadraticProgram): QuadraticAnswer {
  requireSound(program)
  const form = toNormalForm(program, program.ridge ?? RIDGE)
  if (typeof form === 'string') return { kind: 'infeasible', explanation: form }
  const answer = runDualMethod(form)
  if (answer.kind === 'inconsistent') return contradicted(program, form)
  return judged(program, form, answer)
}

/** Inconsistent for true, or only by rounding: then a hair of loosening gives an answer that still verifies. */
function contradicted(program: QuadraticProgram, form: NormalForm): QuadraticAnswer {
  const conflict = findConflict(form)
  if (conflict.kind === 'conflict') return { kind: 'infeasible', explanation: conflict.explanation }
  for (const loosen of LOOSENINGS) {
    const again = runDualMethod(form, loosen)
    if (again.kind !== 'inconsistent') return judged(program, form, again)
  }
  const why = conflict.kind === 'unknown' ? conflict.explanation : 'the rows agree only within rounding'
  return {
    kind: 'not-verified',
    explanation: `the solver calls the rows inconsistent, which did not prove true: ${why}`,
  }
}

function judged(
  program: QuadraticProgram,
  form: NormalForm,
  answer: Exclude<DualAnswer, { kind: 'inconsistent' }>,
): QuadraticAnswer {
  if (answer.kind === 'gave-up') return { kind: 'not-verified', explanation: answer.explanation }
  if (answer.kind === 'not-convex') {
    return { kind: 'degenerate', explanation: 'the cost is not convex: its matrix is not positive semidefinite' }
  }
  const { y, multipliers } = answer
  const gaps = optimalityGaps(form, y, multipliers)
  if (!isOptimal(gaps)) {
    return { kind: 'not-verified', explanation: 'the solver’s answer misses a condition of optimality', gaps }
  }
  const held = heldByRidge(form, y)
  if (held.length > 0) {
    return { kind: 'degenerate', explanation: `the cost falls without end along variables ${held.join(', ')}` }
  }
  return { kind: 'solved', ...inCallersUnits(program, form, y, multipliers) }
}

/** Variables that only the ridge keeps from running away: it carries a thousandth of the slope or more there. */
function heldByRidge(form: NormalForm, y: Float64Array): number[] {
  const steepest = form.linear.reduce((most, slope) => Math.max(most, Math.abs(slope)), 0)
  if (steepest === 0) return []
  return [...y.keys()].filter((j) => form.ridge * Math.abs(y[j]!) > 1e-3 * steepest)
}

function inCallersUnits(program: QuadraticProgram, form: NormalForm, y: Float64Array, found: Float64Array) {
  const size = form.size
  const multipliers = new Float64Array(program.rows.length)
  const lowerMultipliers = new Float64Array(size)
  const upperMultipliers = new Float64Array(size)
  const active: number[] = []
  const x = y.map((value, j) => value * form.scale[j]!)
  for (const [i, row] of form.rows.entries()) {
    const multiplier = found[i]! / row.length
    if (row.from === 'lower') lowerMultipliers[row.index] = multiplier
    else if (row.from === 'upper') upperMultipliers[row.index] = multiplier
    else multipliers[row.index] = multiplier
    if (row.from === 'row' && (found[i] !== 0 || i < form.equalities)) active.push(row.index)
  }
  // Rounding may leave a bounded variable a hair off its bound; a dose below nothing must not exist.
  for (let j = 0; j < size; j++) {
    const lower = program.lower?.[j] ?? -Infinity
    const upper = program.upper?.[j] ?? Infinity
    if (upperMultipliers[j]! > 0) x[j] = upper
    else if (lowerMultipliers[j]! > 0) x[j] = lower
    else x[j] = Math.min(Math.max(x[j]!, lower), upper)
  }
  const objective = program.hessian.reduce((sum, line, i) => sum + x[i]! * (dot(line, x) / 2 - program.linear[i]!), 0)
  return { x, objective, active, multipliers, lowerMultipliers, upperMultipliers }
}

function requireSound(program: QuadraticProgram): void {
  const { hessian, linear, rows, atLeast, equalities, lower, upper } = program
  const size = linear.length
  const wrong = (what: string) => new Error(`quadratic program: ${what}`)
  if (size === 0) throw wrong('no variables')
  if (hessian.length !== size || hessian.some((line) => line.length !== size)) {
    throw wrong(`the hessian must be ${size} by ${size}`)
  }
  if (rows.length !== atLeast.length) throw wrong(`${rows.length} rows but ${atLeast.length} right-hand sides`)
  if (rows.some((row) => row.length !== size)) throw wrong(`every row must hold ${size} coefficients`)
  if (!(equalities >= 0 && equalities <= rows.length)) throw wrong(`${equalities} equalities of ${rows.length} rows`)
  if (![...hessian, linear, ...rows, atLeast].every(allFinite)) throw wrong('a number is not finite')
  requireBounds(lower, size, (bound) => bound < Infinity)
  requireBounds(upper, size, (bound) => bound > -Infinity)
}

function requireBounds(bounds: ArrayLike<number> | undefined, size: number, holds: (bound: number) => boolean): void {
  if (bounds === undefined) return
  if (bounds.length !== size || !Array.from(bounds).every(holds)) {
    throw new Error(`quadratic program: bounds must hold ${size} numbers, and leave something between them`)
  }
}

function allFinite(numbers: ArrayLike<number>): boolean {
  for (let i = 0; i < numbers.length; i++) if (!Number.isFinite(numbers[i])) return false
  return true
}
