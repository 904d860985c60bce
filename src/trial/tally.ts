/** Hourly marks of one run, pooled over runs: how far the belief was from the truth, and how often that was in band. */

import { SCORED, type Scored, type ScoredBand } from './bands.ts'
import type { Belief } from './controller.ts'

/** Half width of a 90 % interval of a normal belief, in standard deviations. */
const SIGMAS_90 = 1.6448536269514722

export interface ElementTally {
  /** |belief − truth| over aim, one an hour */
  readonly errors: number[]
  readonly halfWidths: number[]
  covered: number
  inBand: number
  hours: number
  /** furthest that the truth lay outside its band, as a share of the aim */
  deepest: number
}

export interface Tally {
  readonly elements: Readonly<Record<Scored, ElementTally>>
  readonly squaresMeq: number[]
  /** of every believed hour, how many reports had come before it in this run */
  readonly cycles: number[]
  allInBand: number
  hours: number
}

/** No hours yet. */
export function emptyTally(): Tally {
  const one = (): ElementTally => ({ errors: [], halfWidths: [], covered: 0, inBand: 0, hours: 0, deepest: 0 })
  return {
    elements: { N: one(), P: one(), K: one(), Ca: one(), Mg: one(), S: one() },
    squaresMeq: [],
    cycles: [],
    allInBand: 0,
    hours: 0,
  }
}

/**
 * Adds one hour. A controller that believes nothing is only judged by its bands.
 *
 * @param cycle how many reports had come before this hour
 */
export function markHour(
  tally: Tally,
  truthMgPerL: Readonly<Record<string, number>>,
  belief: Readonly<Record<string, Belief>> | undefined,
  bands: Readonly<Record<Scored, ScoredBand>>,
  cycle = 0,
): void {
  let isAllIn = true
  let squareMeq = 0
  for (const name of SCORED) {
    const one = tally.elements[name]
    const band = bands[name]
    const truth = name === 'N' ? (truthMgPerL['NO3-N'] ?? 0) + (truthMgPerL['NH4-N'] ?? 0) : (truthMgPerL[name] ?? 0)
    const isIn = truth >= band.low && truth <= band.high
    one.hours++
    if (isIn) one.inBand++
    else isAllIn = false
    one.deepest = Math.max(one.deepest, (band.low - truth) / band.aim, (truth - band.high) / band.aim)
    const believed = belief && (belief[name] ?? (name === 'N' ? together(belief['NO3-N'], belief['NH4-N']) : undefined))
    if (!believed) continue
    const error = Math.abs(believed.mgPerL - truth)
    one.errors.push(error / band.aim)
    one.halfWidths.push((SIGMAS_90 * believed.sdMgPerL) / band.aim)
    if (error <= SIGMAS_90 * believed.sdMgPerL) one.covered++
    squareMeq += (error / MG_PER_MEQ[name]) ** 2
  }
  tally.hours++
  if (isAllIn) tally.allInBand++
  if (!belief) return
  tally.squaresMeq.push(squareMeq / SCORED.length)
  tally.cycles.push(cycle)
}

/** mg of the element in one milliequivalent, as counted where root mean squares over six macronutrients are published. */
const MG_PER_MEQ: Readonly<Record<Scored, number>> = {
  N: 14.007,
  P: 30.974,
  K: 39.098,
  Ca: 20.039,
  Mg: 12.1525,
  S: 16.03,
}

/** For a belief that knows nothing of how the two go together. */
function together(nitrate: Belief | undefined, ammonium: Belief | undefined): Belief | undefined {
  if (!nitrate || !ammonium) return undefined
  return { mgPerL: nitrate.mgPerL + ammonium.mgPerL, sdMgPerL: Math.hypot(nitrate.sdMgPerL, ammonium.sdMgPerL) }
}

export interface ElementScore {
  readonly medianError: number | null
  readonly p90Error: number | null
  readonly coverage90: number | null
  readonly halfWidth90: number | null
  readonly inBandShare: number
  /** furthest outside its band, as a share of the aim */
  readonly deepestExcursion: number
}

export interface Score {
  readonly elements: Readonly<Record<Scored, ElementScore>>
  readonly overall: ElementScore & { readonly allInBandShare: number; readonly rmseMeqPerL: number | null }
}

/** Shares and quantiles of a tally; null where the controller believed nothing. */
export function scoreOf(tally: Tally): Score {
  const elements = Object.fromEntries(SCORED.map((name) => [name, elementScore([tally.elements[name]])])) as Record<
    Scored,
    ElementScore
  >
  const overall = elementScore(SCORED.map((name) => tally.elements[name]))
  return {
    elements,
    overall: { ...overall, allInBandShare: tally.allInBand / tally.hours, rmseMeqPerL: rootMean(tally.squaresMeq) },
  }
}

function elementScore(parts: readonly ElementTally[]): ElementScore {
  const errors = Float64Array.from(parts.flatMap((part) => part.errors)).sort()
  const widths = parts.flatMap((part) => part.halfWidths)
  const sum = (pick: (part: ElementTally) => number): number => parts.reduce((total, part) => total + pick(part), 0)
  return {
    medianError: quantile(errors, 0.5),
    p90Error: quantile(errors, 0.9),
    coverage90: errors.length === 0 ? null : sum((part) => part.covered) / errors.length,
    halfWidth90: widths.length === 0 ? null : widths.reduce((total, width) => total + width, 0) / widths.length,
    inBandShare: sum((part) => part.inBand) / sum((part) => part.hours),
    deepestExcursion: Math.max(...parts.map((part) => part.deepest)),
  }
}

/** Quantile of sorted values, linear between neighbours; null of none. */
export function quantile(sorted: ArrayLike<number>, share: number): number | null {
  if (sorted.length === 0) return null
  const place = share * (sorted.length - 1)
  const below = Math.floor(place)
  const above = Math.min(below + 1, sorted.length - 1)
  return sorted[below]! + (sorted[above]! - sorted[below]!) * (place - below)
}

function rootMean(squares: readonly number[]): number | null {
  if (squares.length === 0) return null
  return Math.sqrt(squares.reduce((total, square) => total + square, 0) / squares.length)
}

/** Many tallies as one, in their order. */
export function poolTallies(tallies: readonly Tally[]): Tally {
  const pooled = emptyTally()
  for (const tally of tallies) {
    for (const name of SCORED) {
      const into = pooled.elements[name]
      const from = tally.elements[name]
      for (const error of from.errors) into.errors.push(error)
      for (const width of from.halfWidths) into.halfWidths.push(width)
      into.covered += from.covered
      into.inBand += from.inBand
      into.hours += from.hours
      into.deepest = Math.max(into.deepest, from.deepest)
    }
    for (const square of tally.squaresMeq) pooled.squaresMeq.push(square)
    for (const cycle of tally.cycles) pooled.cycles.push(cycle)
    pooled.allInBand += tally.allInBand
    pooled.hours += tally.hours
  }
  return pooled
}
