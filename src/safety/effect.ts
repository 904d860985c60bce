/** The effect check: a shot that shows is measured on raw conductivity, and what the readings say is taken in. */

import { latestEndMs, type OpenCommand, type Settlement } from './book.ts'
import { BIN_MS, binsKeptMs, contrastOverMs, type Seen, seenOf } from './effect-contrast.ts'
import {
  type Contrast,
  effectLimitsOf,
  NOTHING_UNVERIFIED,
  type StockEffectState,
  type TestedStock,
  testedStock,
  withEffect,
  withUnverified,
} from './effect-state.ts'
import { type Decision, decide, withSeen } from './effect-test.ts'
import { tripOfEffect } from './effect-trip.ts'
import { andThen, quietly, type Transition } from './happening.ts'
import type { EffectLimits, Limits } from './limits.ts'
import type { SafetyState } from './state.ts'
import { latch } from './trip.ts'

/** A shot of at least this share of one that shows is worth measuring: the level moves between plan and shot. */
const WORTH_SHARE = 0.5

/** The state with one good reading of conductivity in its bin; where effects are not checked nothing is kept. */
export function withReading(
  limits: Limits,
  state: SafetyState,
  reading: { atMs: number; dsPerM: number },
): SafetyState {
  const effect = effectLimitsOf(limits)
  const levelL = levelNow(limits, state, reading.atMs)
  if (reading.atMs < state.effectQuietUntilMs) return state
  if (effect === null || !Number.isFinite(reading.dsPerM) || !Number.isFinite(levelL)) return state
  const fromMs = Math.floor(reading.atMs / BIN_MS) * BIN_MS
  const last = state.effectBins.at(-1)
  const isSame = last !== undefined && last.fromMs === fromMs
  const old = isSame ? last : { fromMs, count: 0, sum: 0, sumOfSquares: 0, levelSumL: 0 }
  const bin = {
    fromMs,
    count: old.count + 1,
    sum: old.sum + reading.dsPerM,
    sumOfSquares: old.sumOfSquares + reading.dsPerM ** 2,
    levelSumL: old.levelSumL + levelL,
  }
  const sinceMs = fromMs - binsKeptMs(limits, effect)
  const kept = state.effectBins.filter((each) => each.fromMs > sinceMs && each !== old)
  return { ...state, effectBins: [...kept, bin] }
}

/** 0 at a site without a level; NaN where the level is not good and fresh. */
function levelNow(limits: Limits, state: SafetyState, atMs: number): number {
  const probe = limits.probes.find(({ role }) => role === 'level')
  if (probe === undefined) return 0
  const read = state.readings[probe.id]
  const isGood = read !== undefined && read.quality === 'good' && atMs - read.atMs <= limits.scanAgeMaxMs
  return isGood && read.value > 0 ? read.value : Number.NaN
}

/** A settled delivery is not verified yet; one that shows is measured from now on, and one that fills the cap unseen trips. */
export function unverified(
  limits: Limits,
  state: SafetyState,
  settlement: Settlement,
  command: OpenCommand | undefined,
): Transition {
  const { stock, atMs } = settlement
  const tested = testedStock(limits, stock)
  const counted = withUnverified(state, settlement)
  if (tested === null || counted === state) return quietly(counted)
  const contrast = contrastOf(limits, counted, showVolumeUl(limits, counted, tested), settlement, command)
  if (contrast !== null) return quietly(withEffect(counted, stock, { contrast }))
  return isRoomLeft(limits, counted, stock)
    ? quietly(counted)
    : concluded(limits, counted, { stock, effect: tested.site, atMs, closed: null })
}

/** Null for a run nobody asked for, for one too small to be seen, and while another shot of the stock is measured. */
function contrastOf(
  limits: Limits,
  state: SafetyState,
  showUl: number,
  { stock, atMs, commandId, delivered }: Settlement,
  command: OpenCommand | undefined,
): Contrast | null {
  const before = state.effects[stock] ?? NOTHING_UNVERIFIED
  if (command === undefined || before.contrast !== null) return null
  if (!(delivered.highUl >= WORTH_SHARE * showUl)) return null
  const endMs = delivered.highUl <= command.volumeUl ? Math.min(atMs, latestEndMs(limits, command)) : atMs
  const { lowUl, highUl } = delivered
  return { commandId, fromMs: command.judgedAtMs, endMs, lowUl, highUl, coversUl: before.unverifiedUl }
}

/**
 * The volume that shows, whole microlitres: by the declared response in the water that is there, or the largest shot
 * where that is less. NaN where a figure is none.
 */
export function showVolumeUl(limits: Limits, state: SafetyState, { site, entry, ...tested }: TestedStock): number {
  const neededUl = (site.showDsPerM * waterOf(limits, state).mostL * 1000) / Math.abs(tested.dsPerMPerMlPerL)
  return Math.min(Math.ceil(neededUl - ROUNDING), entry.shotMaxUl)
}

/** The most that may be unverified, whole microlitres, by the least water that may be there. NaN as above. */
export function unverifiedMaxUl(limits: Limits, state: SafetyState, { site, ...tested }: TestedStock): number {
  const mostUl = (site.unverifiedMaxDsPerM * waterOf(limits, state).leastL * 1000) / Math.abs(tested.dsPerMPerMlPerL)
  return Math.floor(mostUl + ROUNDING)
}

/** Far below a microlitre, so that a product of decimals that should be whole is. */
const ROUNDING = 1e-6

/** By the level readings; where no level is fitted, by what the limits allow. */
function waterOf(limits: Limits, state: SafetyState): { readonly leastL: number; readonly mostL: number } {
  const levels = limits.probes.filter(({ role }) => role === 'level')
  if (levels.length === 0) return { leastL: limits.levelMinL, mostL: limits.levelMaxL }
  const read = levels.map(({ id }) => state.readings[id]?.value ?? Number.NaN)
  return { leastL: Math.min(...read), mostL: Math.max(...read) }
}

/** Time passes: contrasts whose last reading is in are closed, and each is decided on. */
export function closeContrasts(limits: Limits, state: SafetyState, atMs: number): Transition {
  const effect = effectLimitsOf(limits)
  if (effect === null) return quietly(state)
  let next = quietly(state)
  for (const entry of limits.stocks) {
    const contrast = state.effects[entry.stock]?.contrast ?? null
    if (contrast === null || !(atMs >= contrastOverMs(limits, effect, contrast))) continue
    const seen = seenOf(limits, state, entry, contrast)
    const told = { stock: entry.stock, effect, atMs, closed: { contrast, seen } }
    next = andThen(next, (before) => concluded(limits, before, told))
  }
  return next
}

interface Conclusion {
  readonly stock: string
  readonly effect: EffectLimits
  readonly atMs: number
  /** null where no contrast was closed, and the cap alone asks for a decision */
  readonly closed: { readonly contrast: Contrast; readonly seen: Seen | null } | null
}

/** Takes in what a contrast showed, if it showed anything, and decides. */
function concluded(limits: Limits, state: SafetyState, { stock, effect, atMs, closed }: Conclusion): Transition {
  const before = state.effects[stock] ?? NOTHING_UNVERIFIED
  const seen = closed?.seen ?? null
  const evidence = seen === null ? before : withSeen(effect, before, seen)
  const decided = decide(effect, evidence, !isRoomLeft(limits, state, stock))
  const { information, agreement, against } = evidence
  const after: StockEffectState =
    decided.decision === 'as-declared'
      ? {
          ...NOTHING_UNVERIFIED,
          unverifiedUl: before.unverifiedUl - (closed?.contrast.coversUl ?? before.unverifiedUl),
        }
      : { unverifiedUl: before.unverifiedUl, information, agreement, against, contrast: null }
  const told: Transition = {
    state: withEffect(state, stock, after),
    happenings: [toldOf(stock, decided, after, seen)],
  }
  if (decided.decision === 'undecided' || decided.decision === 'as-declared') return told
  return andThen(told, (next) => latch(next, { ...tripOfEffect(stock, decided, before, seen), atMs }))
}

function toldOf(stock: string, { decision }: Decision, after: StockEffectState, seen: Seen | null) {
  const { unverifiedUl, information, agreement, against } = after
  const figures = { unverifiedUl, information, agreement, against }
  return { kind: 'effect-judged', stock, decision, ...figures, ...(seen === null ? {} : { seen }) } as const
}

/** Whether one more shot that shows fits under the cap. */
function isRoomLeft(limits: Limits, state: SafetyState, stock: string): boolean {
  const tested = testedStock(limits, stock)
  const { unverifiedUl } = state.effects[stock] ?? NOTHING_UNVERIFIED
  // A level that is not known just now says nothing about room; whatever is asked for then is refused anyway.
  if (tested === null) return true
  return !(unverifiedMaxUl(limits, state, tested) - unverifiedUl < WORTH_SHARE * showVolumeUl(limits, state, tested))
}
