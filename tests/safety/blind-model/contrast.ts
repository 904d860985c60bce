/** What the conductivity probe saw of one shot: what the water was going to before it, and where it went after. */

import type { EffectLimits, Limits } from '../../../src/safety/limits.ts'
import type { History, Reading } from './history.ts'
import type { Delivery } from './pump-story.ts'

export interface ContrastWanted {
  readonly stock: string
  readonly fromMs: number
  readonly endMs: number
  readonly lowUl: number
  readonly highUl: number
  readonly coversUl: number
  readonly delivery: Delivery
}

export interface Bin {
  readonly fromMs: number
  count: number
  sumDsPerM: number
  squares: number
  sumL: number
}

const BIN_MS = 120_000
const HOUR_MS = 3_600_000
/** after a hand moved water or salt, so many mixing times pass until conductivity is a line again */
const SETTLE_MIXINGS = 4
/** a level that moves by this share between two bins was moved by a hand or a valve */
const JUMP_SHARE = 0.015

/** Good readings of the first conductivity probe, two minutes each, beside the level at the time. */
export function binsOf(history: History, limits: Limits): Bin[] {
  const probe = limits.probes.find((one) => one.role === 'conductivity')
  const levelProbe = limits.probes.find((one) => one.role === 'level')
  const bins = new Map<number, Bin>()
  let quietMs = 0
  let level: (Reading & { atMs: number }) | null = null
  for (const item of history) {
    if (item.what === 'start') level = null
    if (item.what === 'water-moved') {
      bins.clear()
      quietMs = item.atMs + SETTLE_MIXINGS * limits.mixingMs
    }
    if (item.what !== 'scan') continue
    const levelSaid = item.readings.findLast((one) => one.id === levelProbe?.id && item.node === levelProbe.node)
    if (levelSaid !== undefined) level = { ...levelSaid, atMs: item.atMs }
    for (const reading of item.readings) {
      if (probe === undefined || reading.id !== probe.id || item.node !== probe.node) continue
      if (item.atMs < quietMs) continue
      if (reading.quality !== 'good' || !(reading.value >= probe.min && reading.value <= probe.max)) continue
      if (levelProbe !== undefined && !isSound(level, item.atMs, limits)) continue
      const fromMs = Math.floor(item.atMs / BIN_MS) * BIN_MS
      const bin = bins.get(fromMs) ?? { fromMs, count: 0, sumDsPerM: 0, squares: 0, sumL: 0 }
      bin.count += 1
      bin.sumDsPerM += reading.value
      bin.squares += reading.value ** 2
      bin.sumL += level?.value ?? 0
      bins.set(fromMs, bin)
    }
  }
  return kept([...bins.values()], limits)
}

function isSound(level: (Reading & { atMs: number }) | null, nowMs: number, limits: Limits): boolean {
  if (level === null) return false
  return level.quality === 'good' && nowMs - level.atMs <= limits.scanAgeMaxMs && level.value > 0
}

function kept(bins: Bin[], limits: Limits): Bin[] {
  const { mixingMs, startWindowMs, reportGraceMs } = limits
  const windowMs = (limits.effect as EffectLimits).windowMs
  const keepMs = 6 * HOUR_MS + windowMs + mixingMs + startWindowMs + reportGraceMs + HOUR_MS / 2
  const newestMs = Math.max(...bins.map((bin) => bin.fromMs))
  return bins.filter((bin) => bin.fromMs > newestMs - keepMs)
}

/** Another shot: delivered, or commanded and not settled. */
export interface Moved {
  readonly stock: string
  readonly highUl: number
  readonly endMs: number
  readonly isOpen: boolean
}

export interface Seen {
  readonly expected: number
  readonly step: number
  readonly variance: number
}

/** Null where the readings cannot tell. */
export function contrastOf(
  limits: Limits,
  wanted: ContrastWanted,
  bins: readonly Bin[],
  others: readonly Moved[],
  water: { leastL: number; mostL: number },
): Seen | null {
  const effect = limits.effect as EffectLimits
  const hasLevel = limits.probes.some((probe) => probe.role === 'level')
  const mixedMs = wanted.endMs + limits.mixingMs
  const after = within(bins, mixedMs, mixedMs + effect.windowMs)
  const before = within(bins, quietSince(limits, wanted, others, bins), wanted.fromMs)
  if (!(countOf(after) >= effect.readingsMin && countOf(before) >= effect.readingsMin)) return null
  if (lastJumpMs(bins, mixedMs + effect.windowMs) >= wanted.fromMs) return null
  const levelL = after.reduce((sum, bin) => sum + bin.sumL, 0) / countOf(after)
  const line = lineThrough(pointsOf(before, hasLevel ? levelL : null))
  const end = spotOf(pointsOf(after, hasLevel ? levelL : null))
  const aheadMs = end.atMs - line.atMs
  const step = end.value - (line.value + line.slope * aheadMs)
  const rise = riseOf(limits, wanted.stock)
  const ends = [
    (rise * wanted.lowUl) / 1000 / (hasLevel ? levelL : water.mostL),
    (rise * wanted.highUl) / 1000 / (hasLevel ? levelL : water.leastL),
  ] as const
  const otherL = hasLevel ? levelL : limits.levelMinL
  const besides = others
    .filter((one) => one.endMs > wanted.fromMs - limits.mixingMs)
    .reduce((sum, one) => sum + ((riseOf(limits, one.stock) * one.highUl) / 1000 / otherL) ** 2, 0)
  const ahead = line.residual * (1 / line.count + aheadMs ** 2 / line.spread)
  const spread = ((ends[1] - ends[0]) / 2) ** 2
  const variance = ahead + end.variance / end.count + effect.driftSdDsPerM ** 2 + spread + besides
  const seen = { expected: (ends[0] + ends[1]) / 2, step, variance }
  return Object.values(seen).every(Number.isFinite) && variance > 0 ? seen : null
}

function within(bins: readonly Bin[], fromMs: number, toMs: number): Bin[] {
  return bins.filter((bin) => bin.fromMs >= fromMs && bin.fromMs + BIN_MS <= toMs)
}

function countOf(bins: readonly Bin[]): number {
  return bins.reduce((sum, bin) => sum + bin.count, 0)
}

function riseOf(limits: Limits, stock: string): number {
  return limits.stocks.find((one) => one.stock === stock)?.effect?.dsPerMPerMlPerL ?? NaN
}

/** When the level last jumped before a moment; a line does not hold across that. */
function lastJumpMs(bins: readonly Bin[], untilMs: number): number {
  let jumpMs = -Infinity
  bins.forEach((bin, at) => {
    const earlier = bins[at - 1]
    if (earlier === undefined || bin.fromMs >= untilMs) return
    const [wasL, isL] = [earlier.sumL / earlier.count, bin.sumL / bin.count]
    if (Math.abs(isL - wasL) > JUMP_SHARE * Math.max(wasL, isL)) jumpMs = bin.fromMs + BIN_MS
  })
  return jumpMs
}

/** No reading before an earlier shot was mixed, or before a jump of the level was, is a beginning of this one. */
function quietSince(limits: Limits, wanted: ContrastWanted, others: readonly Moved[], bins: readonly Bin[]): number {
  const effect = limits.effect as EffectLimits
  let sinceMs = Math.max(wanted.fromMs - 6 * HOUR_MS, lastJumpMs(bins, wanted.fromMs) + limits.mixingMs)
  for (const one of others) {
    const moved = Math.abs((riseOf(limits, one.stock) * one.highUl) / 1000 / limits.levelMinL)
    if (one.isOpen || one.endMs > wanted.fromMs || moved < 0.25 * effect.showDsPerM) continue
    sinceMs = Math.max(sinceMs, one.endMs + limits.mixingMs)
  }
  return sinceMs
}

interface Point {
  readonly atMs: number
  readonly weight: number
  readonly value: number
  /** sum of squares of its own readings around their mean */
  readonly scatter: number
}

function pointsOf(bins: readonly Bin[], levelAfterL: number | null): Point[] {
  return bins.map((bin) => {
    const share = levelAfterL === null ? 1 : bin.sumL / bin.count / levelAfterL
    const value = (bin.sumDsPerM / bin.count) * share
    const scatter = Math.max(0, bin.squares - bin.sumDsPerM ** 2 / bin.count) * share ** 2
    return { atMs: bin.fromMs + BIN_MS / 2, weight: bin.count, value, scatter }
  })
}

interface Spot {
  readonly atMs: number
  readonly value: number
  readonly variance: number
  readonly count: number
}

/** The middle of all readings, each bin weighted by how many it holds. */
function spotOf(points: readonly Point[]): Spot {
  const count = points.reduce((sum, one) => sum + one.weight, 0)
  const mean = (of: (one: Point) => number): number =>
    points.reduce((sum, one) => sum + one.weight * of(one), 0) / count
  const value = mean((one) => one.value)
  const squares = points.reduce((sum, one) => sum + one.scatter + one.weight * (one.value - value) ** 2, 0)
  return { atMs: mean((one) => one.atMs), value, variance: squares / (count - 1), count }
}

interface Line {
  readonly atMs: number
  readonly value: number
  readonly slope: number
  readonly residual: number
  readonly spread: number
  readonly count: number
}

function lineThrough(points: readonly Point[]): Line {
  const { atMs, value, count } = spotOf(points)
  const over = (of: (one: Point) => number): number => points.reduce((sum, one) => sum + one.weight * of(one), 0)
  const spread = over((one) => (one.atMs - atMs) ** 2)
  const slope = over((one) => (one.atMs - atMs) * (one.value - value)) / spread
  const off = over((one) => (one.value - value - slope * (one.atMs - atMs)) ** 2)
  const scatter = points.reduce((sum, one) => sum + one.scatter, 0)
  return { atMs, value, slope, residual: (scatter + off) / (count - 2), spread, count }
}
