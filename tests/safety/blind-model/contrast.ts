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
  sumL: number
}

const BIN_MS = 120_000
const HOUR_MS = 3_600_000

/** Good readings of the first conductivity probe, two minutes each, beside the level at the time. */
export function binsOf(history: History, limits: Limits): Bin[] {
  const probe = limits.probes.find((one) => one.role === 'conductivity')
  const levelProbe = limits.probes.find((one) => one.role === 'level')
  const bins = new Map<number, Bin>()
  let level: (Reading & { atMs: number }) | null = null
  for (const item of history) {
    if (item.what === 'start') level = null
    if (item.what !== 'scan') continue
    const levelSaid = item.readings.findLast((one) => one.id === levelProbe?.id && item.node === levelProbe.node)
    if (levelSaid !== undefined) level = { ...levelSaid, atMs: item.atMs }
    for (const reading of item.readings) {
      if (probe === undefined || reading.id !== probe.id || item.node !== probe.node) continue
      if (reading.quality !== 'good' || !(reading.value >= probe.min && reading.value <= probe.max)) continue
      if (levelProbe !== undefined && !isSound(level, item.atMs, limits)) continue
      const fromMs = Math.floor(item.atMs / BIN_MS) * BIN_MS
      const bin = bins.get(fromMs) ?? { fromMs, count: 0, sumDsPerM: 0, sumL: 0 }
      bin.count += 1
      bin.sumDsPerM += reading.value
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

interface Point {
  readonly atMs: number
  readonly weight: number
  readonly value: number
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
  others: readonly Delivery[],
  water: { leastL: number; mostL: number },
): Seen | null {
  const effect = limits.effect as EffectLimits
  const hasLevel = limits.probes.some((probe) => probe.role === 'level')
  const mixedMs = wanted.endMs + limits.mixingMs
  const after = within(bins, mixedMs, mixedMs + effect.windowMs)
  const before = within(bins, quietSince(limits, wanted, others), wanted.fromMs)
  if (!(countOf(after) >= effect.readingsMin && countOf(before) >= effect.readingsMin)) return null
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
  return Object.values(seen).every(Number.isFinite) ? seen : null
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

/** No reading before an earlier shot was mixed is a beginning of this one. */
function quietSince(limits: Limits, wanted: ContrastWanted, others: readonly Delivery[]): number {
  const effect = limits.effect as EffectLimits
  let sinceMs = wanted.fromMs - 6 * HOUR_MS
  for (const one of others) {
    const moved = Math.abs((riseOf(limits, one.stock) * one.highUl) / 1000 / limits.levelMinL)
    if (one.endMs > wanted.fromMs || moved < 0.25 * effect.showDsPerM) continue
    sinceMs = Math.max(sinceMs, one.endMs + limits.mixingMs)
  }
  return sinceMs
}

function pointsOf(bins: readonly Bin[], levelAfterL: number | null): Point[] {
  return bins.map((bin) => {
    const dsPerM = bin.sumDsPerM / bin.count
    const value = levelAfterL === null ? dsPerM : (dsPerM * (bin.sumL / bin.count)) / levelAfterL
    return { atMs: bin.fromMs + BIN_MS / 2, weight: bin.count, value }
  })
}

interface Spot {
  readonly atMs: number
  readonly value: number
  readonly variance: number
  readonly count: number
}

function spotOf(points: readonly Point[]): Spot {
  const weight = points.reduce((sum, one) => sum + one.weight, 0)
  const mean = (of: (one: Point) => number): number =>
    points.reduce((sum, one) => sum + one.weight * of(one), 0) / weight
  const value = mean((one) => one.value)
  const count = points.length
  const variance = (mean((one) => (one.value - value) ** 2) * count) / (count - 1)
  return { atMs: mean((one) => one.atMs), value, variance, count }
}

interface Line {
  readonly atMs: number
  readonly value: number
  readonly slope: number
  readonly residual: number
  readonly spread: number
  readonly count: number
}

/** Bins are what is independent here, so they are what is counted; that is the larger of the two variances. */
function lineThrough(points: readonly Point[]): Line {
  const { atMs, value, count } = spotOf(points)
  const weight = points.reduce((sum, one) => sum + one.weight, 0)
  const over = (of: (one: Point) => number): number =>
    (points.reduce((sum, one) => sum + one.weight * of(one), 0) * count) / weight
  const spread = over((one) => (one.atMs - atMs) ** 2)
  const slope = over((one) => (one.atMs - atMs) * (one.value - value)) / spread
  const residual = over((one) => (one.value - value - slope * (one.atMs - atMs)) ** 2) / (count - 2)
  return { atMs, value, slope, residual, spread, count }
}
