// The planner’s question as a quadratic program: which volumes bring every element nearest to its target, where being
// short of the protected low edge or over the high one costs more, and ceilings, conductivity and limits hold.

import { type QuadraticProgram, solveQuadraticProgram } from '../../formulation/solver/quadratic-program.ts'
import type { Dosable } from './dosable.ts'
import type { SharedBound } from './element-share.ts'
import type { LevelPath } from './level-path.ts'

export interface DoseQuestion {
  /** one per element, in the order of ELEMENTS */
  readonly paths: readonly LevelPath[]
  /** the stocks to choose from; those with nothing left are taken at 0 */
  readonly dosables: readonly Dosable[]
  /** dS/m per mmol/L, by element */
  readonly conductivityDsPerMPerMmolPerL: Float64Array
  /** rise of conductivity that the bound still leaves, dS/m, 0 or more */
  readonly conductivityRoomDsPerM: number
  readonly parity?: ParityQuestion
  /** what is left of capped elements, for all stocks together; by the stocks asked about */
  readonly shared?: readonly SharedBound[]
}

/** Two stocks, by their index in the question, and how far one may run ahead of the other. */
export interface ParityQuestion {
  readonly stocks: readonly [number, number]
  readonly windowShare: number
}

export type DoseAnswer =
  | {
      readonly kind: 'doses'
      /** one per stock asked about */
      readonly volumeMl: Float64Array
      readonly binding: Binding
    }
  | { readonly kind: 'no-answer'; readonly explanation: string }

/** What kept the volumes from being larger. */
export interface Binding {
  readonly conductivity: boolean
  /** elements at their ceiling, by their place in ELEMENTS */
  readonly elements: readonly number[]
  /** elements of which the day’s cap leaves no more */
  readonly shared: readonly SharedBound[]
}

/** Price of being short of the protected edge, and of every bit over the high edge, beside a plain difference of 1. */
const SHORT_PRICE = 9
const OVER_PRICE = 30

/** The volumes in mL, or why there is no verified answer. Doing nothing is always allowed, so there should be one. */
export function chooseDoses(question: DoseQuestion): DoseAnswer {
  const usable = usableStocks(question)
  const shut = shuttingBounds(question)
  const volumeMl = new Float64Array(question.dosables.length)
  if (usable.length === 0) return { kind: 'doses', volumeMl, binding: shut }
  const { program, bounds } = toProgram(question)
  const answer = solveQuadraticProgram(program)
  if (answer.kind !== 'solved') return { kind: 'no-answer', explanation: `${answer.kind}: ${answer.explanation}` }
  for (const [column, at] of usable.entries()) volumeMl[at] = answer.x[column]!
  const binding = {
    conductivity: shut.conductivity || answer.active.some((row) => bounds.get(row) === 'conductivity'),
    elements: [...shut.elements, ...answer.active.map((row) => bounds.get(row)).filter((at) => typeof at === 'number')],
    shared: [...shut.shared, ...answer.active.map((row) => bounds.get(row)).filter((at) => typeof at === 'object')],
  }
  return { kind: 'doses', volumeMl, binding }
}

/** Stocks that may be dosed at all, by their index in the question: the first columns of the program. */
export function usableStocks(question: DoseQuestion): number[] {
  const shut = shuttingBounds(question)
  return [...question.dosables.keys()].filter((at) => {
    const dosable = question.dosables[at]!
    if (dosable.maxUl === 0) return false
    if (shut.conductivity && conductivityPerMl(question, dosable) > 0) return false
    return (
      !shut.elements.some((e) => dosable.mmolPerLPerMl[e]! > 0) && !shut.shared.some(({ mgPerMl }) => mgPerMl[at]! > 0)
    )
  })
}

/** Bounds without any room: they shut out every stock that would add to them, and the program stays plain. */
function shuttingBounds(question: DoseQuestion): Binding {
  const open = question.dosables.filter(({ maxUl }) => maxUl > 0)
  const none = (room: number) => !(room > 1e-12)
  return {
    conductivity:
      none(question.conductivityRoomDsPerM) && open.some((dosable) => conductivityPerMl(question, dosable) > 0),
    elements: [...question.paths.keys()].filter((e) => {
      const { ceilingMmolPerL, undosedMmolPerL } = question.paths[e]!
      return none(ceilingMmolPerL - undosedMmolPerL) && open.some(({ mmolPerLPerMl }) => mmolPerLPerMl[e]! > 0)
    }),
    shared: (question.shared ?? []).filter(
      ({ mgPerMl, roomMg }) => none(roomMg) && question.dosables.some(({ maxUl }, at) => maxUl > 0 && mgPerMl[at]! > 0),
    ),
  }
}

/** dS/m that a millilitre adds. */
function conductivityPerMl({ conductivityDsPerMPerMmolPerL }: DoseQuestion, { mmolPerLPerMl }: Dosable): number {
  return conductivityDsPerMPerMmolPerL.reduce((sum, response, e) => sum + response * mmolPerLPerMl[e]!, 0)
}

export interface DoseProgram {
  readonly program: QuadraticProgram
  /** which rows are hard upper bounds, and of what: an element by its place in ELEMENTS, conductivity, or a shared cap */
  readonly bounds: ReadonlyMap<number, number | 'conductivity' | SharedBound>
}

/**
 * The program itself: first a column per usable stock (mL), then a column per edge that may be missed (mmol/L).
 * Exported for the check against a second solver.
 */
export function toProgram(question: DoseQuestion): DoseProgram {
  const stocks = usableStocks(question).map((at) => question.dosables[at]!)
  const reached = question.paths.map((_, e) =>
    stocks.reduce((sum, s) => sum + (s.mmolPerLPerMl[e]! * s.maxUl) / 1000, 0),
  )
  const edges = findEdges(question.paths, reached)
  const size = stocks.length + edges.length
  const hessian = Array.from({ length: size }, () => new Float64Array(size))
  const linear = new Float64Array(size)
  for (const [e, path] of question.paths.entries()) if (reached[e]! > 0) addDifference(path, e, stocks, hessian, linear)
  const rows: Float64Array[] = []
  const atLeast: number[] = []
  const bounds = new Map<number, number | 'conductivity' | SharedBound>()
  for (const [k, edge] of edges.entries()) {
    const column = stocks.length + k
    hessian[column]![column] = edge.price
    const row = new Float64Array(size)
    for (const [j, stock] of stocks.entries()) row[j] = edge.side * stock.mmolPerLPerMl[edge.at]!
    row[column] = 1
    rows.push(row)
    atLeast.push(edge.side * edge.riseMmolPerL)
  }
  for (const [e, path] of question.paths.entries()) {
    const room = Math.max(0, path.ceilingMmolPerL - path.undosedMmolPerL)
    if (!(reached[e]! > room)) continue
    rows.push(Float64Array.from({ length: size }, (_, j) => -(stocks[j]?.mmolPerLPerMl[e] ?? 0)))
    bounds.set(atLeast.push(-room) - 1, e)
  }
  for (const { row, bound } of sharedRows(question, size)) {
    rows.push(row)
    bounds.set(atLeast.push(-bound.roomMg) - 1, bound)
  }
  for (const row of parityRows(question, size)) {
    rows.push(row)
    atLeast.push(0)
  }
  const conductivity = conductivityLimit(question, stocks, size)
  if (conductivity !== undefined) {
    rows.push(conductivity)
    bounds.set(atLeast.push(-question.conductivityRoomDsPerM) - 1, 'conductivity')
  }
  const upper = Float64Array.from({ length: size }, (_, j) => (j < stocks.length ? stocks[j]!.maxUl / 1000 : Infinity))
  const program = { hessian, linear, rows, atLeast, equalities: 0, lower: new Float64Array(size), upper }
  return { program, bounds }
}

/** One for each shared cap that the stocks could pass together. */
function sharedRows(question: DoseQuestion, size: number): { row: Float64Array; bound: SharedBound }[] {
  const usable = usableStocks(question)
  return (question.shared ?? []).flatMap((bound) => {
    const reachedMg = usable.reduce((mg, at) => mg + (bound.mgPerMl[at]! * question.dosables[at]!.maxUl) / 1000, 0)
    const row = Float64Array.from({ length: size }, (_, j) => -(bound.mgPerMl[usable[j] ?? -1] ?? 0))
    return reachedMg > bound.roomMg ? [{ row, bound }] : []
  })
}

/** Neither runs ahead of the other by more than the window. Where one may not run the other is not held back for it. */
function parityRows(question: DoseQuestion, size: number): Float64Array[] {
  const { parity } = question
  const columns = parity?.stocks.map((at) => usableStocks(question).indexOf(at)) ?? []
  if (parity === undefined || columns.length < 2 || columns.some((column) => column < 0)) return []
  const row = (ahead: number, behind: number): Float64Array => {
    const coefficients = new Float64Array(size)
    coefficients[ahead] = -1
    coefficients[behind] = 1 + parity.windowShare
    return coefficients
  }
  const [one, other] = columns
  return [row(one!, other!), row(other!, one!)]
}

/** weight · (rise by doses - wanted rise)², as 1/2 x'Dx - d'x. */
function addDifference(
  path: LevelPath,
  e: number,
  stocks: readonly Dosable[],
  hessian: Float64Array[],
  linear: Float64Array,
) {
  if (path.targetMmolPerL === undefined) return
  const wanted = path.targetMmolPerL - path.undosedMmolPerL
  for (const [i, stock] of stocks.entries()) {
    const pull = path.weight * stock.mmolPerLPerMl[e]!
    if (pull === 0) continue
    linear[i]! += pull * wanted
    for (const [j, other] of stocks.entries()) hessian[i]![j]! += pull * other.mmolPerLPerMl[e]!
  }
}

interface Edge {
  readonly at: number
  /** 1: doses should raise it by at least the rise; -1: by no more */
  readonly side: 1 | -1
  readonly riseMmolPerL: number
  readonly price: number
}

/** Only edges that doses can reach get a column: near the aim there are none, and the program stays small. */
function findEdges(paths: readonly LevelPath[], reached: readonly number[]): Edge[] {
  const edges: Edge[] = []
  for (const [at, path] of paths.entries()) {
    if (!(reached[at]! > 0 && path.weight > 0)) continue
    const short = path.protectedMmolPerL - path.undosedMmolPerL
    if (short > 0) edges.push({ at, side: 1, riseMmolPerL: short, price: SHORT_PRICE * path.weight })
    if (path.pricedAboveMmolPerL === undefined) continue
    const room = path.pricedAboveMmolPerL - path.undosedMmolPerL
    if (reached[at]! > room) edges.push({ at, side: -1, riseMmolPerL: room, price: OVER_PRICE * path.weight })
  }
  return edges
}

function conductivityLimit(question: DoseQuestion, stocks: readonly Dosable[], size: number): Float64Array | undefined {
  const row = new Float64Array(size)
  let most = 0
  for (const [j, stock] of stocks.entries()) {
    row[j] = -conductivityPerMl(question, stock)
    most += Math.max(0, -row[j]!) * (stock.maxUl / 1000)
  }
  return most > question.conductivityRoomDsPerM ? row : undefined
}
