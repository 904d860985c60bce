// A second solver of another family (active set and interior point, C++), spoken to in CPLEX LP text.

import loadHighs from 'highs'
import type { QuadraticProgram } from '../../../../src/formulation/solver/quadratic-program.ts'

type Highs = Awaited<ReturnType<typeof loadHighs.default>>

export interface OracleAnswer {
  readonly status: string
  readonly x: Float64Array
  readonly objective: number
}

export interface Oracle {
  solve(program: QuadraticProgram): OracleAnswer
}

/** Loads the second solver once; its answers are synchronous. */
export async function loadOracle(): Promise<Oracle> {
  // The package describes its CommonJS face only; imported as a module the loader itself is the default.
  const load = loadHighs as unknown as typeof loadHighs.default
  const highs = await load()
  return { solve: (program) => solveWith(highs, program) }
}

/** Micronutrients make curvatures differ by ten powers of ten, on which the second solver can go round for ever. */
function solveWith(highs: Highs, program: QuadraticProgram): OracleAnswer {
  const scale = Float64Array.from(program.hessian, (line, j) => (line[j]! > 0 ? 1 / Math.sqrt(line[j]!) : 1))
  const said = answerTo(highs, toLpText(rescaled(program, scale)))
  const columns = said.Columns as Record<string, { Primal?: number }>
  const x = scale.map((unit, j) => unit * (columns[`x${j}`]?.Primal ?? Number.NaN))
  return { status: said.Status, x, objective: objectiveOf(program, x) }
}

/** It throws on some singular programs, and says no more than -1: then it is no witness, and the test must count that. */
function answerTo(highs: Highs, text: string) {
  try {
    return highs.solve(text, { time_limit: 5 })
  } catch {
    return { Status: 'No answer', Columns: {} }
  }
}

/** The same program in x / scale, every row divided by its largest coefficient. */
function rescaled(program: QuadraticProgram, scale: Float64Array): QuadraticProgram {
  const rows = program.rows.map((row) => scale.map((unit, j) => unit * row[j]!))
  const sizes = rows.map((row) => Math.max(...row.map(Math.abs)))
  return {
    hessian: program.hessian.map((line, i) => scale.map((unit, j) => unit * scale[i]! * line[j]!)),
    linear: scale.map((unit, j) => unit * program.linear[j]!),
    rows: rows.map((row, i) => row.map((value) => value / sizes[i]!)),
    atLeast: sizes.map((size, i) => program.atLeast[i]! / size),
    equalities: program.equalities,
    lower: scale.map((unit, j) => (program.lower?.[j] ?? -Infinity) / unit),
    upper: scale.map((unit, j) => (program.upper?.[j] ?? Infinity) / unit),
  }
}

/** 1/2 x'Dx - d'x */
export function objectiveOf(program: QuadraticProgram, x: Float64Array): number {
  let sum = 0
  for (const [i, line] of program.hessian.entries()) {
    for (let j = 0; j < x.length; j++) sum += (x[i]! * line[j]! * x[j]!) / 2
    sum -= program.linear[i]! * x[i]!
  }
  return sum
}

function toLpText(program: QuadraticProgram): string {
  const size = program.linear.length
  const linear = terms(Array.from(program.linear, (value, j) => [-value, `x${j}`]))
  const square: [number, string][] = []
  for (let i = 0; i < size; i++) {
    square.push([program.hessian[i]![i]!, `x${i} ^2`])
    for (let j = i + 1; j < size; j++) square.push([2 * program.hessian[i]![j]!, `x${i} * x${j}`])
  }
  const rows = program.rows.map((row, i) => {
    const relation = i < program.equalities ? '=' : '>='
    return ` r${i}: ${terms(Array.from(row, (value, j) => [value, `x${j}`]))} ${relation} ${program.atLeast[i]}`
  })
  const bounds = Array.from(program.linear, (_, j) => {
    const lower = program.lower?.[j] ?? -Infinity
    const upper = program.upper?.[j] ?? Infinity
    return ` ${lower === -Infinity ? '-inf' : lower} <= x${j} <= ${upper === Infinity ? '+inf' : upper}`
  })
  return [
    'Minimize',
    ` obj: ${linear} + [ ${terms(square)} ] / 2`,
    'Subject To',
    ...rows,
    // Without any row the second solver may answer with the origin and call it optimal.
    ...(rows.length === 0 ? [' r0: + 1 x0 <= 1e9'] : []),
    'Bounds',
    ...bounds,
    'End',
  ].join('\n')
}

function terms(parts: readonly (readonly [number, string])[]): string {
  return parts.map(([value, name]) => `${value < 0 ? '-' : '+'} ${Math.abs(value)} ${name}`).join(' ')
}
