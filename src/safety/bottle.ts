/** What safety knows of the bottle a stock is drawn from, since it was last filled. */

import { DAY_MS, type Settlement } from './book.ts'
import { withFreshEffect } from './effect-state.ts'
import { isNotChecked, type RefillLimits, type StockLimits } from './limits.ts'
import type { SafetyState } from './state.ts'

export interface Bottle {
  /** what the last refill brought, microlitres; null for the bottle a new site begins with, which is taken as full */
  readonly filledUl: number | null
  /** what went out or may have gone out since */
  readonly usedUl: number
  /** largest volume that one commanded shot surely delivered since */
  readonly provenUl: number
  /** deliveries of the last day, for a refill that is logged late */
  readonly lately: readonly { readonly atMs: number; readonly highUl: number }[]
}

const FULL: Bottle = { filledUl: null, usedUl: 0, provenUl: 0, lately: [] }

/** A run that no command asked for proves nothing, and neither does one that a person had into a glass, maybe of water. */
const NO_COMMAND = 'no-command:'

/** The state with a settled delivery taken out of its bottle. */
export function drawn(state: SafetyState, settlement: Settlement): SafetyState {
  const { atMs, commandId, stock, delivered, purpose } = settlement
  if (!(delivered.highUl > 0)) return state
  const bottle = state.bottles[stock] ?? FULL
  const provesNothing = commandId.startsWith(NO_COMMAND) || purpose !== undefined
  const provenUl = provesNothing ? bottle.provenUl : Math.max(bottle.provenUl, delivered.lowUl)
  const kept = bottle.lately.filter((row) => !(row.atMs <= atMs - DAY_MS))
  const lately = [...kept, { atMs, highUl: delivered.highUl }]
  const next = { ...bottle, usedUl: bottle.usedUl + delivered.highUl, provenUl, lately }
  return { ...state, bottles: { ...state.bottles, [stock]: next } }
}

/**
 * The state with a stock filled anew: what was settled after `doneAtMs` is already gone from the new filling. A refill
 * in time to come, of more than a day ago or without a volume changes nothing.
 */
export function refilled(
  state: SafetyState,
  refill: { readonly atMs: number; readonly doneAtMs: number; readonly stock: string; readonly volumeMl: number },
): SafetyState {
  const { atMs, doneAtMs, stock, volumeMl } = refill
  const filledUl = Math.floor(volumeMl * 1000)
  if (!(doneAtMs <= atMs && doneAtMs > atMs - DAY_MS && filledUl > 0 && Number.isSafeInteger(filledUl))) return state
  const { lately: before } = state.bottles[stock] ?? FULL
  const lately = before.filter((row) => !(row.atMs <= doneAtMs))
  const usedUl = lately.reduce((sum, row) => sum + row.highUl, 0)
  const next = { ...state, bottles: { ...state.bottles, [stock]: { filledUl, usedUl, provenUl: 0, lately } } }
  // what the old filling showed says nothing of the new one
  return withFreshEffect(next, stock)
}

/** What the interlocks look at. Where the limits say nothing of the bottle every figure is NaN, and so refuses. */
export interface BottleFacts {
  /** false where a person gave a reason why this stock’s bottle is not reckoned with */
  readonly bottleChecked: boolean
  /** what the bottle held when it was filled, at most what it can hold */
  readonly bottleUl: number
  readonly sinceRefillUl: number
  readonly sinceRefillMaxUl: number
  /** the next shot may be at most this: the first one, or double the largest that surely arrived */
  readonly seriesUl: number
}

/** Figures of one stock’s bottle; commands that are not settled count in full. */
export function bottleFacts(state: SafetyState, entry: StockLimits): BottleFacts {
  const refill = entry.refill
  if (isNotChecked(refill)) return { bottleChecked: false, ...NO_FIGURES }
  if (refill === undefined) return { bottleChecked: true, ...NO_FIGURES }
  const bottle = state.bottles[entry.stock] ?? FULL
  const openUl = state.book.commands.reduce((sum, open) => sum + (open.stock === entry.stock ? open.volumeUl : 0), 0)
  return {
    bottleChecked: true,
    bottleUl: Math.min(refill.bottleUl, bottle.filledUl ?? refill.bottleUl),
    sinceRefillUl: bottle.usedUl + openUl,
    sinceRefillMaxUl: refill.sinceRefillMaxUl,
    seriesUl: seriesOf(refill, bottle),
  }
}

function seriesOf(refill: RefillLimits, bottle: Bottle): number {
  return Math.max(refill.firstShotUl, 2 * bottle.provenUl)
}

export const NO_FIGURES = {
  bottleUl: Number.NaN,
  sinceRefillUl: Number.NaN,
  sinceRefillMaxUl: Number.NaN,
  seriesUl: Number.NaN,
}
