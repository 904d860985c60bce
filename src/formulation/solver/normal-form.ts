// The problem as the library likes it: curvature near 1 in every variable, every row of length 1, bounds as rows.
// The library compares violations with fixed thresholds, so a badly scaled problem is answered wrongly.

import type { QuadraticProgram } from './quadratic-program.ts'

export interface NormalForm {
  readonly size: number
  /** scaled and with the ridge on its diagonal; symmetric */
  readonly hessian: readonly Float64Array[]
  readonly linear: Float64Array
  readonly rows: readonly NormalRow[]
  /** the first so many rows are equalities */
  readonly equalities: number
  readonly ridge: number
  /** x = scale · y */
  readonly scale: Float64Array
}

export interface NormalRow {
  readonly from: 'row' | 'lower' | 'upper'
  /** index of the caller's row, or of the bounded variable */
  readonly index: number
  readonly coefficients: Float64Array
  readonly atLeast: number
  /** the multiplier of the caller's row is the one found here divided by this */
  readonly length: number
}

/** Curvature below this share of the largest is taken as none. */
const FLAT_SHARE = 1e-24

/**
 * The scaled problem, or a sentence saying which rows or bounds can never be met.
 * The ridge is relative to the scaled curvature, which is 1.
 */
export function toNormalForm(program: QuadraticProgram, ridge: number): NormalForm | string {
  const size = program.linear.length
  const scale = variableScale(program)
  const hessian = program.hessian.map((line, i) =>
    Float64Array.from(line, (value, j) => value * scale[i]! * scale[j]! + (i === j ? ridge : 0)),
  )
  const linear = Float64Array.from(program.linear, (value, j) => value * scale[j]!)
  const rows: NormalRow[] = []
  let equalities = 0
  for (const [index, line] of program.rows.entries()) {
    const isEquality = index < program.equalities
    const row = scaledRow(line, program.atLeast[index]!, index, scale)
    if (row === undefined) {
      const asked = program.atLeast[index]!
      if (isEquality ? asked !== 0 : asked > 0) return `row ${index} holds no variable, yet it must reach ${asked}`
      continue
    }
    rows.push(row)
    if (isEquality) equalities++
  }
  for (let index = 0; index < size; index++) {
    const lower = program.lower?.[index] ?? -Infinity
    const upper = program.upper?.[index] ?? Infinity
    if (lower > upper) return `variable ${index} must be at least ${lower} and at most ${upper}`
    if (lower > -Infinity) rows.push(boundRow('lower', index, lower / scale[index]!, size, scale))
    if (upper < Infinity) rows.push(boundRow('upper', index, -upper / scale[index]!, size, scale))
  }
  return { size, hessian, linear, rows, equalities, ridge, scale }
}

function variableScale(program: QuadraticProgram): Float64Array {
  const diagonal = program.hessian.map((line, i) => line[i]!)
  const largest = Math.max(0, ...diagonal)
  const fallback = largest > 0 ? 1 / Math.sqrt(largest) : 1
  return Float64Array.from(diagonal, (d) => (d > FLAT_SHARE * largest ? 1 / Math.sqrt(d) : fallback))
}

function scaledRow(
  line: ArrayLike<number>,
  atLeast: number,
  index: number,
  scale: Float64Array,
): NormalRow | undefined {
  const coefficients = Float64Array.from(line, (value, j) => value * scale[j]!)
  const length = Math.hypot(...coefficients)
  if (length === 0) return undefined
  return { from: 'row', index, coefficients: coefficients.map((c) => c / length), atLeast: atLeast / length, length }
}

function boundRow(
  from: 'lower' | 'upper',
  index: number,
  atLeast: number,
  size: number,
  scale: Float64Array,
): NormalRow {
  const coefficients = new Float64Array(size)
  coefficients[index] = from === 'lower' ? 1 : -1
  return { from, index, coefficients, atLeast, length: scale[index]! }
}
