/** What safety remembers of the effect that doses had on raw conductivity. Plain data, nothing from the core. */

import type { Settlement } from './book.ts'
import {
  type EffectLimits,
  isNotChecked,
  type Limits,
  type StockEffect,
  type StockLimits,
  stockLimitsOf,
} from './limits.ts'
import type { SafetyState } from './state.ts'

/** Good readings of two minutes. */
export interface EffectBin {
  /** its begin, epoch ms */
  readonly fromMs: number
  readonly count: number
  /** sums of conductivity and of its square, dS/m */
  readonly sum: number
  readonly sumOfSquares: number
  /** sum of the level at the same moments, L; 0 where no level is fitted */
  readonly levelSumL: number
}

export interface StockEffectState {
  /** high end of all that was settled and not verified since, microlitres */
  readonly unverifiedUl: number
  /**
   * Sums over the contrasts since the last verification, which together give every likelihood ratio: expected² / sd²,
   * and expected × seen / sd².
   */
  readonly information: number
  readonly agreement: number
  /** how many contrasts in a row each spoke by itself for something else than the declared response */
  readonly against: number
  /** the shot whose effect is being measured */
  readonly contrast: Contrast | null
}

export interface Contrast {
  readonly commandId: string
  /** earliest moment at which it may have begun, and latest at which it may have ended */
  readonly fromMs: number
  readonly endMs: number
  readonly lowUl: number
  readonly highUl: number
  /** what the contrast can verify: all that was unverified with this shot */
  readonly coversUl: number
}

export const NOTHING_UNVERIFIED: StockEffectState = {
  unverifiedUl: 0,
  information: 0,
  agreement: 0,
  against: 0,
  contrast: null,
}

/** The state with one stock’s entry changed. */
export function withEffect(state: SafetyState, stock: string, change: Partial<StockEffectState>): SafetyState {
  const before = state.effects[stock] ?? NOTHING_UNVERIFIED
  return { ...state, effects: { ...state.effects, [stock]: { ...before, ...change } } }
}

/** The state with a settled delivery counted as not verified, at its high end; a calibration has no effect to verify. */
export function withUnverified(state: SafetyState, { stock, delivered, purpose }: Settlement): SafetyState {
  if (!(delivered.highUl > 0) || purpose !== undefined) return state
  const before = state.effects[stock] ?? NOTHING_UNVERIFIED
  return withEffect(state, stock, { unverifiedUl: before.unverifiedUl + delivered.highUl })
}

/** A person looked at the stock: what was not verified before is no longer asked for, and no evidence of before counts. */
export function withFreshEffect(state: SafetyState, stock: string): SafetyState {
  return stock in state.effects ? withEffect(state, stock, NOTHING_UNVERIFIED) : state
}

/** The limits by which effects are checked, or null where a person gave a reason or the limits say nothing. */
export function effectLimitsOf(limits: Limits): EffectLimits | null {
  return limits.effect === undefined || isNotChecked(limits.effect) ? null : readable(limits.effect)
}

/** A reason that is blank is none, and there is then nothing to check by. */
function readable(effect: NonNullable<Limits['effect']>): EffectLimits | null {
  return 'notChecked' in effect ? null : effect
}

/** A stock whose response is tested, with the limits by which it is. */
export interface TestedStock {
  readonly site: EffectLimits
  readonly entry: StockLimits
  readonly dsPerMPerMlPerL: number
}

/** How a stock is tested, or null where it is not. */
export function testedStock(limits: Limits, stock: string): TestedStock | null {
  const site = effectLimitsOf(limits)
  const entry = stockLimitsOf(limits, stock)
  if (site === null || entry?.effect === undefined || isUntold(entry.effect)) return null
  if (!isResponse(entry.effect.dsPerMPerMlPerL)) return null
  return { site, entry, dsPerMPerMlPerL: entry.effect.dsPerMPerMlPerL }
}

/** A response of 0 can be seen of no shot, and would let any volume go out unseen: like no number it is none. */
function isResponse(dsPerMPerMlPerL: number): boolean {
  return Number.isFinite(dsPerMPerMlPerL) && dsPerMPerMlPerL !== 0
}

/** Whether a person or the load gave a reason for not testing a stock. */
export function isUntold(effect: StockEffect): boolean {
  return typeof effect.untold === 'string' && effect.untold.trim() !== ''
}
