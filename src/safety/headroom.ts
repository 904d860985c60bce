import { amountRoom } from './amount-room.ts'
import { mustShow } from './effect-facts.ts'
import { effectLimitsOf } from './effect-state.ts'
import { elementRooms } from './element-facts.ts'
import { type Facts, factsFor } from './facts.ts'
import type { Interlock } from './interlock.ts'
import { INTERLOCKS } from './interlocks.ts'
import type { Limits, StockLimits } from './limits.ts'
import { type MomentFacts, momentFacts } from './moment-facts.ts'
import { coveredLoss, lossFacts, rationMeteredUl } from './ration-facts.ts'
import { largestUlWithin } from './run-time.ts'
import type { SafetyState } from './state.ts'
import type { Headroom, ShotWish, StockHeadroom } from './types.ts'

/**
 * What the limits leave for every stock, by the same rows that judge. A wish of `shotUl` is permitted and one
 * microlitre more is refused, for the approved plan where the mode is advise.
 */
export function headroom(limits: Limits, state: SafetyState, atMs: number): Headroom {
  const moment = momentFacts(limits, state, atMs)
  const stocks = limits.stocks.map((entry) => stockHeadroom(limits, state, entry, atMs, moment))
  const lost = coveredLoss(lossFacts(limits, moment.water))
  const shared = limits.elements === undefined ? {} : { elements: elementRooms(moment.elementDays, limits) }
  return lost === null ? { stocks, ...shared } : { stocks, ...shared, lostProbe: lost.id }
}

/**
 * The largest shot of a stock that would be permitted now, µL, by the same rows: what headroom tells as `shotUl`. 0 while
 * anything blocks, and for a stock that the limits do not name. Shots that are due are asked for with every scan, and
 * all that headroom tells beside it would be worked out for nothing.
 */
export function shotRoom(limits: Limits, state: SafetyState, atMs: number): (stock: string) => number {
  const moment = momentFacts(limits, state, atMs)
  return (stock) => {
    const facts = factsFor(limits, state, { stock, atMs }, moment)
    const wish = leastShot(facts)
    return INTERLOCKS.every((row) => row.holds(wish, facts, limits)) ? largestShotUl(facts, limits) : 0
  }
}

function stockHeadroom(
  limits: Limits,
  state: SafetyState,
  entry: StockLimits,
  atMs: number,
  moment: MomentFacts,
): StockHeadroom {
  const facts = factsFor(limits, state, { stock: entry.stock, atMs }, moment)
  const amountUl = largestShotUl(facts, limits)
  const wish = leastShot(facts)
  const broken = INTERLOCKS.filter((row) => !row.holds(wish, facts, limits))
  const room = amountRoom(facts, limits)
  const shows = showing(facts, limits)
  const shotMaxUl = everUl(facts, limits)
  const waits = waitsOf(broken, wish, facts, limits)
  return {
    stock: entry.stock,
    shotUl: broken.length === 0 ? amountUl : 0,
    hourUl: leftUl(room.hourUl, 0),
    hourMaxUl: leftUl(room.hourMaxUl, 0),
    dayUl: Math.min(leftUl(room.dayUl, 0), ...effectBoundsUl(facts)),
    shotMinUl: Math.min(shows.shotMinUl, shotMaxUl),
    shotMaxUl,
    gapMs: Math.max(facts.gapMs, facts.isAcid || facts.isBase ? limits.mixingMs : 0, shows.gapMs),
    notBeforeMs: Math.ceil(atMs + waits.longestMs),
    blockedBy: waits.blockedBy,
    blockedWhy: waits.blockedWhy,
    ...(facts.rationBy === null ? {} : { rationUl: rationShotUl(facts, limits, { ...wish, volumeUl: amountUl }) }),
  }
}

/** The largest ration shot now: no more than any shot might be, if only the ration’s own rows and all else hold. */
function rationShotUl(facts: Facts, limits: Limits, most: ShotWish): number {
  const roomUl = leftUl(Math.min(rationMeteredUl(facts), facts.rationDayMaxUl), facts.dayUl)
  const volumeUl = Math.min(most.volumeUl, roomUl)
  const wish: ShotWish = { ...most, volumeUl, purpose: 'ration' }
  return INTERLOCKS.every((row) => row.holds(wish, facts, limits)) ? volumeUl : 0
}

/** Largest volume for which every amount row holds that the least shot meets; 0 where there is none. */
function largestShotUl(facts: Facts, limits: Limits): number {
  const room = amountRoom(facts, limits)
  const boundsUl = [leftUl(room.hourUl, 0), leftUl(room.dayUl, 0), ...bottleBoundsUl(facts), ...effectBoundsUl(facts)]
  return Math.min(shotCapUl(facts, limits), ...boundsUl)
}

function bottleBoundsUl(facts: Facts): readonly number[] {
  if (!facts.bottleChecked) return []
  const { bottleUl, sinceRefillUl, sinceRefillMaxUl, seriesUl } = facts
  return [leftUl(bottleUl, sinceRefillUl), leftUl(sinceRefillMaxUl, sinceRefillUl), leftUl(seriesUl, 0)]
}

function effectBoundsUl(facts: Facts): readonly number[] {
  return facts.effectChecked ? [leftUl(facts.unverifiedMaxUl, facts.unverifiedUl)] : []
}

/** Shots that show lie so far apart that each is measured before the next. */
function showing(facts: Facts, limits: Limits): { readonly shotMinUl: number; readonly gapMs: number } {
  const effect = effectLimitsOf(limits)
  if (effect === null || !facts.effectChecked || !mustShow(facts)) return { shotMinUl: 0, gapMs: 0 }
  // the last shot under the cap may be smaller than one that shows in full
  const roomUl = leftUl(facts.unverifiedMaxUl, facts.unverifiedUl)
  return { shotMinUl: Math.min(leftUl(facts.showUl, 0), roomUl), gapMs: limits.mixingMs + effect.windowMs }
}

function shotCapUl(facts: Facts, limits: Limits): number {
  const runCapUl = largestUlWithin(facts.maxRunMs, facts.rateUlPerS)
  return leftUl(Math.min(amountRoom(facts, limits).shotUl, runCapUl), 0)
}

/** The same without what is not known just now, such as a node that was not heard yet. */
function everUl(facts: Facts, limits: Limits): number {
  const runCapUl = Number.isNaN(facts.maxRunMs)
    ? facts.caps.shotMaxUl
    : largestUlWithin(facts.maxRunMs, facts.rateUlPerS)
  const level = Number.isFinite(facts.levelLowestL) ? facts : { ...facts, levelFitted: false }
  const known = Number.isFinite(facts.flowLowestLPerMin)
    ? level
    : { ...level, flowLowestLPerMin: Number.POSITIVE_INFINITY }
  return leftUl(Math.min(amountRoom(known, limits).shotUl, runCapUl), 0)
}

/** A wish of the least volume a pump can run for, one millisecond of it: what not even that may do is what blocks. */
function leastShot({ stock, rateUlPerS, approvedPlanId }: Facts): ShotWish {
  return { stock, volumeUl: Math.max(1, Math.ceil(rateUlPerS / 1000)), planId: approvedPlanId ?? '' }
}

/** Whole microlitres that are left, 0 where the figures are none. */
function leftUl(capUl: number, usedUl: number): number {
  const left = capUl - usedUl
  return Number.isSafeInteger(left) ? Math.max(0, left) : 0
}

function waitsOf(
  broken: readonly Interlock[],
  wish: ShotWish,
  facts: Facts,
  limits: Limits,
): { longestMs: number; blockedBy: readonly string[]; blockedWhy: readonly string[] } {
  let longestMs = 0
  const blockedBy: string[] = []
  const blockedWhy: string[] = []
  for (const row of broken) {
    const waitMs = row.waitMs?.(wish, facts, limits) ?? null
    if (waitMs === null) {
      blockedBy.push(row.id)
      blockedWhy.push(row.found(wish, facts, limits))
    } else longestMs = Math.max(longestMs, waitMs)
  }
  return { longestMs, blockedBy, blockedWhy }
}
