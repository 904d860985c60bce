// The three stages as quadratic programs in the amounts of the free salts, each salt counted in its own natural
// measure and each element as a share of its aim, so that micronutrients and nitrate are numbers of one size.

import { ELEMENTS } from '../../chemistry/element.ts'
import { type QuadraticProgram, solveQuadraticProgram } from '../solver/quadratic-program.ts'
import { AMMONIUM, NITRATE, OVER_PRICE, WITHOUT_LOW_EDGE } from './element-rule.ts'
import type { Setting } from './recipe-setting.ts'

export type NoAnswer = { readonly kind: 'no-answer'; readonly explanation: string }

export interface Violation {
  readonly kind: 'violation'
  /** how far below its low edge, and above its high edge, each element ends, mmol/L */
  readonly shortMmolPerL: Float64Array
  readonly overMmolPerL: Float64Array
}

export interface Amounts {
  readonly kind: 'amounts'
  /** one per free salt */
  readonly gPerL: Float64Array
}

/**
 * `hair`: room left around what an earlier stage reached, as a share of the aim: above rounding and far below any
 * balance. `ridge`: see the solver. Salts that do the same (borax and boric acid) and rows that all but contradict need
 * a little more of both; a coarser pair is only tried where the finer one has no verified answer.
 */
const FINENESS = [
  { hair: 1e-7, ridge: 1e-9 },
  { hair: 1e-7, ridge: 1e-7 },
  { hair: 1e-6, ridge: 1e-6 },
  { hair: 1e-5, ridge: 1e-5 },
  { hair: 1e-4, ridge: 1e-5 },
  { hair: 1e-3, ridge: 1e-5 },
] as const
/** Less than this part of its measure is rounding, not salt. */
const CRUMB = 1e-5
/** Curvature beside a unit slope that makes the least salt unique (a choice of ours). */
const SALT_RIDGE = 1e-4

/** First stage: the least weighted squares of what is missing from the bands. */
export function leastViolation(setting: Setting): Violation | NoAnswer {
  const { program, edges } = violationProgram(setting)
  const shortMmolPerL = new Float64Array(ELEMENTS.length)
  const overMmolPerL = new Float64Array(ELEMENTS.length)
  let answer = solveQuadraticProgram(program)
  for (const { ridge } of FINENESS.slice(1)) {
    if (answer.kind === 'solved') break
    answer = solveQuadraticProgram({ ...program, ridge })
  }
  if (answer.kind !== 'solved') return noAnswer('the first stage', answer)
  for (const [k, { at, side }] of edges.entries()) {
    const miss = Math.max(0, answer.x[setting.free.length + k]!) * setting.shareOf[at]!
    if (side === 1) shortMmolPerL[at] = miss
    else overMmolPerL[at] = miss
  }
  return { kind: 'violation', shortMmolPerL, overMmolPerL }
}

/** Second stage: nearest to the aims, with no band missed by more than in the first. */
export function nearestToAim(setting: Setting, violation: Violation): Amounts | NoAnswer {
  return firstSolved(setting, 'the second stage', (hair) => aimProgram(setting, violation, hair))
}

/** Third stage: the least salt that leaves every element that is sought where the second stage put it. */
export function leastSalt(setting: Setting, near: Amounts): Amounts | NoAnswer {
  return firstSolved(setting, 'the third stage', (hair) => saltProgram(setting, near, hair))
}

function firstSolved(
  setting: Setting,
  stage: string,
  programWith: (hair: number) => QuadraticProgram,
): Amounts | NoAnswer {
  let answer = solveQuadraticProgram(programWith(FINENESS[0].hair))
  for (const { hair, ridge } of FINENESS.slice(1)) {
    if (answer.kind === 'solved') break
    answer = solveQuadraticProgram({ ...programWith(hair), ridge })
  }
  return answer.kind === 'solved' ? amountsOf(setting, answer.x) : noAnswer(stage, answer)
}

interface Edge {
  readonly at: number
  /** 1: the low edge; -1: the high edge */
  readonly side: 1 | -1
}

/** Exported for the check against a second solver: columns are the free salts, then one for every edge. */
export function violationProgram(setting: Setting): { program: QuadraticProgram; edges: readonly Edge[] } {
  const count = setting.free.length
  const edges = edgesOf(setting)
  const size = count + edges.length
  const hessian = Array.from({ length: size }, () => new Float64Array(size))
  const { rows, atLeast } = hardRows(setting, size)
  for (const [k, { at, side }] of edges.entries()) {
    hessian[count + k]![count + k] = setting.weight[at]! * (side === 1 ? 1 : OVER_PRICE)
    const row = shareRow(setting, at, side, size)
    row[count + k] = 1
    rows.push(row)
    const edge = side === 1 ? setting.bands[at]!.low : setting.bands[at]!.high
    atLeast.push((side * (edge - setting.startMmolPerL[at]!)) / setting.shareOf[at]!)
  }
  return { program: { hessian, linear: new Float64Array(size), rows, atLeast, ...bounds(setting, size) }, edges }
}

/**
 * Second stage: the weighted squares of what each element is off its aim, as a share of that aim, with no more violated
 * than the first stage had to.
 */
export function aimProgram(setting: Setting, violation: Violation, hair: number): QuadraticProgram {
  const size = setting.free.length
  const hessian = Array.from({ length: size }, () => new Float64Array(size))
  const linear = new Float64Array(size)
  for (const [e, weight] of setting.weight.entries()) {
    if (weight === 0) continue
    const row = shareRow(setting, e, 1, size)
    const wanted = (setting.bands[e]!.aim - setting.startMmolPerL[e]!) / setting.shareOf[e]!
    for (let i = 0; i < size; i++) {
      if (row[i] === 0) continue
      linear[i]! += weight * row[i]! * wanted
      for (let j = 0; j < size; j++) hessian[i]![j]! += weight * row[i]! * row[j]!
    }
  }
  const { rows, atLeast } = hardRows(setting, size)
  addBandRows(setting, violation, hair, { rows, atLeast })
  return { hessian, linear, rows, atLeast, ...bounds(setting, size) }
}

/** Third stage: least salt, by mass, among all answers within a hair of the second stage’s. */
export function saltProgram(setting: Setting, near: Amounts, hair: number): QuadraticProgram {
  const size = setting.free.length
  const heaviest = Math.max(...setting.unitGPerL)
  const cost = Float64Array.from(setting.unitGPerL, (g) => g / heaviest)
  const hessian = Array.from({ length: size }, (_, i) => {
    const line = new Float64Array(size)
    line[i] = SALT_RIDGE
    return line
  })
  const { rows, atLeast } = hardRows(setting, size)
  for (const [e, weight] of setting.weight.entries()) {
    if (weight === 0) continue
    const row = shareRow(setting, e, 1, size)
    if (row.every((share) => share === 0)) continue
    const kept = row.reduce((sum, share, j) => sum + (share * near.gPerL[j]!) / setting.unitGPerL[j]!, 0)
    rows.push(
      row,
      row.map((share) => -share),
    )
    atLeast.push(kept - hair, -kept - hair)
  }
  return { hessian, linear: cost.map((g) => -g), rows, atLeast, ...bounds(setting, size) }
}

/** Edges that a free salt can reach or pass. Ammonium, sodium and chloride have no lower one. */
function edgesOf(setting: Setting): Edge[] {
  const edges: Edge[] = []
  for (const [at, name] of ELEMENTS.entries()) {
    if (setting.weight[at] === 0 || !setting.mmolPerG.some((mmol) => mmol[at]! > 0)) continue
    const { low, high } = setting.bands[at]!
    if (!WITHOUT_LOW_EDGE.has(name) && low > setting.startMmolPerL[at]!) edges.push({ at, side: 1 })
    if (setting.ceilingMmolPerL[at]! > high) edges.push({ at, side: -1 })
  }
  return edges
}

/** What one measure of each free salt does to an element, as a share of its aim. */
function shareRow(setting: Setting, at: number, side: 1 | -1, size: number): Float64Array {
  const row = new Float64Array(size)
  const share = setting.shareOf[at]! > 0 ? setting.shareOf[at]! : 1
  for (const [j, mmol] of setting.mmolPerG.entries()) row[j] = (side * mmol[at]! * setting.unitGPerL[j]!) / share
  return row
}

/** Ceilings and the share of ammonium: never given up. */
function hardRows(setting: Setting, size: number): { rows: Float64Array[]; atLeast: number[] } {
  const rows: Float64Array[] = []
  const atLeast: number[] = []
  for (const e of ELEMENTS.keys()) {
    const row = shareRow(setting, e, -1, size)
    if (row.every((share) => share === 0)) continue
    const share = setting.shareOf[e]! > 0 ? setting.shareOf[e]! : 1
    rows.push(row)
    atLeast.push((setting.startMmolPerL[e]! - setting.ceilingMmolPerL[e]!) / share)
  }
  const most = setting.ammoniumShareMax
  if (most < 1 && setting.mmolPerG.some((mmol) => mmol[AMMONIUM]! > 0)) {
    const row = new Float64Array(size)
    for (const [j, mmol] of setting.mmolPerG.entries()) {
      row[j] = (most * mmol[NITRATE]! - (1 - most) * mmol[AMMONIUM]!) * setting.unitGPerL[j]!
    }
    rows.push(row)
    atLeast.push(-setting.ammoniumRoomMmolPerL)
  }
  return { rows, atLeast }
}

/** The bands, each widened by what the first stage could not help. */
function addBandRows(
  setting: Setting,
  violation: Violation,
  hair: number,
  { rows, atLeast }: { rows: Float64Array[]; atLeast: number[] },
): void {
  for (const { at, side } of edgesOf(setting)) {
    const { low, high } = setting.bands[at]!
    const missed = side === 1 ? violation.shortMmolPerL[at]! : violation.overMmolPerL[at]!
    const edge = side === 1 ? low - missed : high + missed
    rows.push(shareRow(setting, at, side, setting.free.length))
    atLeast.push((side * (edge - setting.startMmolPerL[at]!)) / setting.shareOf[at]! - hair)
  }
}

function bounds(setting: Setting, size: number) {
  const upper = Float64Array.from({ length: size }, (_, j) =>
    j < setting.free.length ? setting.maxGPerL[j]! / setting.unitGPerL[j]! : Infinity,
  )
  return { equalities: 0, lower: new Float64Array(size), upper }
}

function amountsOf(setting: Setting, x: Float64Array): Amounts {
  const gPerL = Float64Array.from(setting.unitGPerL, (unit, j) => (x[j]! > CRUMB ? x[j]! * unit : 0))
  return { kind: 'amounts', gPerL }
}

function noAnswer(stage: string, answer: { readonly kind: string; readonly explanation: string }): NoAnswer {
  return { kind: 'no-answer', explanation: `${stage} has no verified answer (${answer.kind}: ${answer.explanation})` }
}
