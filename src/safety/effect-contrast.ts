/** What one shot did to raw conductivity, set against what it should have done. */

import { latestEndMs } from './book.ts'
import { type Contrast, type EffectBin, effectLimitsOf } from './effect-state.ts'
import type { EffectLimits, Limits, StockLimits } from './limits.ts'
import type { SafetyState } from './state.ts'

export const BIN_MS = 60_000
/** Beyond the windows themselves, for a shot that is settled late. */
const LATE_MS = 30 * 60_000

/** How long bins are kept: both windows of a shot and its mixing, and some time in which it may be settled late. */
export function binsKeptMs(limits: Limits, effect: EffectLimits): number {
  return 2 * effect.windowMs + limits.mixingMs + limits.startWindowMs + limits.reportGraceMs + LATE_MS
}

/** When the last reading that the contrast wants has been taken, epoch ms; NaN where the limits hold no number. */
export function contrastOverMs(limits: Limits, effect: EffectLimits, contrast: Contrast): number {
  return contrast.endMs + limits.mixingMs + effect.windowMs
}

/** One contrast as figures, dS/m. */
export interface Seen {
  readonly expectedDsPerM: number
  readonly seenDsPerM: number
  readonly sdDsPerM: number
}

/**
 * The change between the means before and after, corrected for water that left as vapour or came in without salt, and
 * its standard deviation: scatter of the readings, drift, other doses, and the interval of what was delivered.
 *
 * @returns null where a window has too few good readings, another stock’s response is not known, or a figure is none
 */
export function seenOf(limits: Limits, state: SafetyState, entry: StockLimits, contrast: Contrast): Seen | null {
  const effect = effectLimitsOf(limits)
  const response = entry.effect?.dsPerMPerMlPerL
  if (effect === null || response === undefined) return null
  const before = windowOf(state.effectBins, contrast.fromMs - effect.windowMs, contrast.fromMs)
  const mixedMs = contrast.endMs + limits.mixingMs
  const after = windowOf(state.effectBins, mixedMs, mixedMs + effect.windowMs)
  if (!(before.count >= effect.readingsMin && after.count >= effect.readingsMin)) return null
  const isLevelFitted = limits.probes.some(({ role }) => role === 'level')
  const shrunk = isLevelFitted ? before.levelL / after.levelL : 1
  const water = isLevelFitted
    ? { leastL: after.levelL, mostL: after.levelL }
    : { leastL: limits.levelMinL, mostL: limits.levelMaxL }
  const low = responseDsPerM(response, contrast.lowUl, water.mostL)
  const high = responseDsPerM(response, contrast.highUl, water.leastL)
  const others = otherDoses(limits, state, effect, contrast, water.leastL)
  const varianceOfMeans = (shrunk * before.sd) ** 2 / before.count + after.sd ** 2 / after.count
  const doubt = ((high - low) / 2) ** 2 + others ** 2
  const seen = {
    expectedDsPerM: (low + high) / 2,
    seenDsPerM: after.mean - shrunk * before.mean - others / 2,
    sdDsPerM: Math.sqrt(varianceOfMeans + effect.driftSdDsPerM ** 2 + doubt),
  }
  return Object.values(seen).every(Number.isFinite) && seen.sdDsPerM > 0 ? seen : null
}

/** Rise of conductivity, dS/m, by a volume in so much water. */
export function responseDsPerM(dsPerMPerMlPerL: number, volumeUl: number, waterL: number): number {
  return (dsPerMPerMlPerL * volumeUl) / 1000 / waterL
}

interface Window {
  readonly count: number
  readonly mean: number
  readonly sd: number
  readonly levelL: number
}

/** Bins that lie in a window altogether. */
function windowOf(bins: readonly EffectBin[], fromMs: number, untilMs: number): Window {
  let [count, sum, sumOfSquares, levelSumL] = [0, 0, 0, 0]
  for (const bin of bins) {
    if (!(bin.fromMs >= fromMs && bin.fromMs + BIN_MS <= untilMs)) continue
    count += bin.count
    sum += bin.sum
    sumOfSquares += bin.sumOfSquares
    levelSumL += bin.levelSumL
  }
  const mean = sum / count
  const variance = (sumOfSquares - count * mean ** 2) / (count - 1)
  return { count, mean, sd: Math.sqrt(Math.max(0, variance)), levelL: levelSumL / count }
}

/**
 * What every other shot that could show in the windows may have done at the most, dS/m; NaN where a response is not
 * known. Half of it is taken off what was seen, and all of it is doubt.
 */
function otherDoses(
  limits: Limits,
  state: SafetyState,
  effect: EffectLimits,
  contrast: Contrast,
  waterL: number,
): number {
  const sinceMs = contrast.fromMs - effect.windowMs - limits.mixingMs
  let sum = 0
  const add = (stock: string, endMs: number, volumeUl: number): void => {
    if (endMs <= sinceMs) return
    const response = limits.stocks.find((entry) => entry.stock === stock)?.effect?.dsPerMPerMlPerL ?? Number.NaN
    sum += responseDsPerM(response, volumeUl, waterL)
  }
  for (const [stock, { rows }] of Object.entries(state.book.stocks)) {
    for (const row of rows) if (row.commandId !== contrast.commandId) add(stock, row.endMs, row.highUl)
  }
  for (const open of state.book.commands) add(open.stock, latestEndMs(limits, open), open.volumeUl)
  return sum
}
