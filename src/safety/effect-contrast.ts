/** What one shot did to raw conductivity, set against what it should have done. */

import { latestEndMs } from './book.ts'
import { type Contrast, type EffectBin, effectLimitsOf } from './effect-state.ts'
import type { EffectLimits, Limits, StockLimits } from './limits.ts'
import type { SafetyState } from './state.ts'

export const BIN_MS = 120_000
/** How far back the line before a shot is drawn: long enough that its slope is sure, shorter than the light of a day. */
const LINE_MS = 6 * 3_600_000
/** Beyond the windows themselves, for a shot that is settled late. */
const LATE_MS = 30 * 60_000

/** How long bins are kept: the line before a shot, its mixing and the window after, and some time in which it may be settled late. */
export function binsKeptMs(limits: Limits, effect: EffectLimits): number {
  return LINE_MS + effect.windowMs + limits.mixingMs + limits.startWindowMs + limits.reportGraceMs + LATE_MS
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
 * The change at the middle of the window after, against the straight line through the hours before, in the water of
 * after: what left as vapour or came in without salt makes no effect, and what the crop takes by the hour is the slope.
 * The standard deviation holds the scatter of the readings, drift, other doses, and the interval of what was delivered.
 *
 * @returns null where there are too few good readings before or after, another stock’s response is not known, or a
 *   figure is none
 */
export function seenOf(limits: Limits, state: SafetyState, entry: StockLimits, contrast: Contrast): Seen | null {
  const effect = effectLimitsOf(limits)
  const response = entry.effect?.dsPerMPerMlPerL ?? Number.NaN
  if (effect === null) return null
  const mixedMs = contrast.endMs + limits.mixingMs
  const after = binsWithin(state.effectBins, mixedMs, mixedMs + effect.windowMs)
  const before = binsWithin(state.effectBins, quietSinceMs(limits, state, effect, contrast), contrast.fromMs)
  if (!(countOf(after) >= effect.readingsMin && countOf(before) >= effect.readingsMin)) return null
  if (lastJumpMs(state.effectBins, mixedMs + effect.windowMs) >= contrast.fromMs) return null
  const isLevelFitted = limits.probes.some(({ role }) => role === 'level')
  const levelL = sumOf(after, (bin) => bin.levelSumL) / countOf(after)
  const water = isLevelFitted
    ? { leastL: levelL, mostL: levelL }
    : { leastL: limits.levelMinL, mostL: limits.levelMaxL }
  const low = responseDsPerM(response, contrast.lowUl, water.mostL)
  const high = responseDsPerM(response, contrast.highUl, water.leastL)
  const step = stepAfterLine(before, after, isLevelFitted ? levelL : null)
  const others = otherDoses(limits, state, contrast, water.leastL)
  const variance = step.variance + effect.driftSdDsPerM ** 2 + ((high - low) / 2) ** 2 + others
  const seen = { expectedDsPerM: (low + high) / 2, seenDsPerM: step.dsPerM, sdDsPerM: Math.sqrt(variance) }
  return Object.values(seen).every(Number.isFinite) && seen.sdDsPerM > 0 ? seen : null
}

/** Rise of conductivity, dS/m, by a volume in so much water. */
export function responseDsPerM(dsPerMPerMlPerL: number, volumeUl: number, waterL: number): number {
  return (dsPerMPerMlPerL * volumeUl) / 1000 / waterL
}

/** Bins that lie in a window altogether. */
function binsWithin(bins: readonly EffectBin[], fromMs: number, untilMs: number): readonly EffectBin[] {
  return bins.filter((bin) => bin.fromMs >= fromMs && bin.fromMs + BIN_MS <= untilMs)
}

function countOf(bins: readonly EffectBin[]): number {
  return sumOf(bins, (bin) => bin.count)
}

function sumOf(bins: readonly EffectBin[], figure: (bin: EffectBin) => number): number {
  return bins.reduce((sum, bin) => sum + figure(bin), 0)
}

/**
 * How far the mean after lies above the least-squares line through the bins before, each weighted by its readings, and
 * the variance of that by the readings’ own scatter. Textbook regression, from memory.
 */
function stepAfterLine(
  before: readonly EffectBin[],
  after: readonly EffectBin[],
  levelL: number | null,
): { readonly dsPerM: number; readonly variance: number } {
  const share = (bin: EffectBin) => (levelL === null ? 1 : bin.levelSumL / bin.count / levelL)
  const value = (bin: EffectBin) => (bin.sum / bin.count) * share(bin)
  const scatter = (bin: EffectBin) => Math.max(0, bin.sumOfSquares - bin.sum ** 2 / bin.count) * share(bin) ** 2
  const [n, m] = [countOf(before), countOf(after)]
  const mean = (bins: readonly EffectBin[], of: (bin: EffectBin) => number) =>
    sumOf(bins, (bin) => bin.count * of(bin)) / countOf(bins)
  const [timeMean, valueMean] = [mean(before, (bin) => bin.fromMs), mean(before, value)]
  const ahead = (bin: EffectBin) => bin.fromMs - timeMean
  const spread = sumOf(before, (bin) => bin.count * ahead(bin) ** 2)
  const slope = sumOf(before, (bin) => bin.count * ahead(bin) * value(bin)) / spread
  const aheadMs = mean(after, ahead)
  const off = (bin: EffectBin) => value(bin) - valueMean - slope * ahead(bin)
  const afterMean = mean(after, value)
  const residual = sumOf(before, (bin) => scatter(bin) + bin.count * off(bin) ** 2) / (n - 2)
  const afterScatter = sumOf(after, (bin) => scatter(bin) + bin.count * (value(bin) - afterMean) ** 2) / (m - 1)
  return {
    dsPerM: afterMean - valueMean - slope * aheadMs,
    variance: residual * (1 / n + aheadMs ** 2 / spread) + afterScatter / m,
  }
}

/** A level that moves by this share between two bins was moved by a hand or a valve that let solution go. */
const JUMP_SHARE = 0.015

/**
 * When the level last jumped before a moment, epoch ms, or −Infinity. Solution that is let go takes its salt along, and
 * the water that comes for it brings none: no line of before holds across that.
 */
function lastJumpMs(bins: readonly EffectBin[], untilMs: number): number {
  let jumpMs = Number.NEGATIVE_INFINITY
  for (let at = 1; at < bins.length; at++) {
    const [one, next] = [bins[at - 1]!, bins[at]!]
    if (next.fromMs >= untilMs) break
    const [fromL, toL] = [one.levelSumL / one.count, next.levelSumL / next.count]
    if (Math.abs(toL - fromL) > JUMP_SHARE * Math.max(fromL, toL)) jumpMs = next.fromMs + BIN_MS
  }
  return jumpMs
}

/** A shot of this share of one that shows is no part of the slow change that the line before describes. */
const STEP_SHARE = 0.25

/** The hours before as far back as no large shot was mixing in them. */
function quietSinceMs(limits: Limits, state: SafetyState, effect: EffectLimits, contrast: Contrast): number {
  const jumpMs = lastJumpMs(state.effectBins, contrast.fromMs)
  let sinceMs = Math.max(contrast.fromMs - LINE_MS, jumpMs + limits.mixingMs)
  for (const [stock, { rows }] of Object.entries(state.book.stocks)) {
    const response = limits.stocks.find((entry) => entry.stock === stock)?.effect?.dsPerMPerMlPerL ?? Number.NaN
    for (const row of rows) {
      if (row.commandId === contrast.commandId || row.endMs > contrast.fromMs) continue
      const isSmall = Math.abs(responseDsPerM(response, row.highUl, limits.levelMinL)) < STEP_SHARE * effect.showDsPerM
      if (!isSmall) sinceMs = Math.max(sinceMs, row.endMs + limits.mixingMs)
    }
  }
  return sinceMs
}

/**
 * Variance by all other shots from a window and a mixing before to the end, dS/m squared. Small ones that come by the
 * hour are in the slope; what one more or less of each does is doubt. NaN where a response is not known.
 */
function otherDoses(limits: Limits, state: SafetyState, contrast: Contrast, waterL: number): number {
  const sinceMs = contrast.fromMs - limits.mixingMs
  let sum = 0
  const add = (stock: string, endMs: number, volumeUl: number): void => {
    if (endMs <= sinceMs) return
    const response = limits.stocks.find((entry) => entry.stock === stock)?.effect?.dsPerMPerMlPerL ?? Number.NaN
    sum += responseDsPerM(response, volumeUl, waterL) ** 2
  }
  for (const [stock, { rows }] of Object.entries(state.book.stocks)) {
    for (const row of rows) if (row.commandId !== contrast.commandId) add(stock, row.endMs, row.highUl)
  }
  for (const open of state.book.commands) add(open.stock, latestEndMs(limits, open), open.volumeUl)
  return sum
}
