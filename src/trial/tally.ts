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
}

export interface Tally {
  readonly elements: Readonly<Record<Scored, ElementTally>>
  readonly squaresMeq: number[]
  allInBand: number
  hours: number
}

/** No hours yet. */
export function emptyTally(): Tally {
  const one = (): ElementTally => ({ errors: [], halfWidths: [], covered: 0, inBand: 0, hours: 0 })
  return {
    elements: { N: one(), P: one(), K: one(), Ca: one(), Mg: one(), S: one() },
    squaresMeq: [],
    allInBand: 0,
    hours: 0,
  }
}

/** Adds one hour. A controller that believes nothing is only judged by its bands. */
export function markHour(
  tally: Tally,
  truthMgPerL: Readonly<Record<string, number>>,
  belief: Readonly<Record<string, Belief>> | undefined,
  bands: Readonly<Record<Scored, ScoredBand>>,
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
    const believed = belief && (name === 'N' ? together(belief['NO3-N'], belief['NH4-N']) : belief[name])
    if (!believed) continue
    const error = Math.abs(believed.mgPerL - truth)
    one.errors.push(error / band.aim)
    one.halfWidths.push((SIGMAS_90 * believed.sdMgPerL) / band.aim)
    if (error <= SIGMAS_90 * believed.sdMgPerL) one.covered++
    squareMeq += (error / MG_PER_MEQ[name]) ** 2
  }
  tally.hours++
  if (isAllIn) tally.allInBand++
  if (belief) tally.squaresMeq.push(squareMeq / SCORED.length)
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
  const errors = parts.flatMap((part) => part.errors).sort((a, b) => a - b)
  const widths = parts.flatMap((part) => part.halfWidths)
  const sum = (pick: (part: ElementTally) => number): number => parts.reduce((total, part) => total + pick(part), 0)
  return {
    medianError: quantile(errors, 0.5),
    p90Error: quantile(errors, 0.9),
    coverage90: errors.length === 0 ? null : sum((part) => part.covered) / errors.length,
    halfWidth90: widths.length === 0 ? null : widths.reduce((total, width) => total + width, 0) / widths.length,
    inBandShare: sum((part) => part.inBand) / sum((part) => part.hours),
  }
}

function quantile(sorted: readonly number[], share: number): number | null {
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
