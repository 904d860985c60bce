import { showVolumeUl, unverifiedMaxUl } from './effect.ts'
import { contrastOverMs } from './effect-contrast.ts'
import { type Contrast, effectLimitsOf, isUntold, testedStock } from './effect-state.ts'
import { type EffectLimits, isNotChecked, type Limits, type StockLimits } from './limits.ts'
import type { SafetyState } from './state.ts'

/** What the interlocks look at. Where the limits say nothing of the effect every figure is NaN, and so refuses. */
export interface EffectFacts {
  /** false where a person or the load gave a reason why this stock’s effect is not tested */
  readonly effectChecked: boolean
  /** settled and not verified, and every command that is not settled in full */
  readonly unverifiedUl: number
  readonly unverifiedMaxUl: number
  /** least volume of a shot that is to be seen */
  readonly showUl: number
  /** until the effect of a shot that is being measured is known; 0 or less where none is */
  readonly effectWaitMs: number
}

export const NO_EFFECT_FIGURES = {
  unverifiedUl: Number.NaN,
  unverifiedMaxUl: Number.NaN,
  showUl: Number.NaN,
  effectWaitMs: Number.NaN,
}

/** Unverified volume below this share of the cap needs no shots that show yet. */
const SHOW_FROM_SHARE = 0.1

/** Figures of one stock’s effect. */
export function effectFacts(limits: Limits, state: SafetyState, entry: StockLimits, atMs: number): EffectFacts {
  // A stock’s own reason stands only beside a site that says how all the others are checked.
  const isUntested = effectLimitsOf(limits) !== null && entry.effect !== undefined && isUntold(entry.effect)
  const isLeftOut = isNotChecked(limits.effect) || isUntested
  if (isLeftOut) return { effectChecked: false, ...NO_EFFECT_FIGURES }
  const tested = testedStock(limits, entry.stock)
  if (tested === null) return { effectChecked: true, ...NO_EFFECT_FIGURES }
  const { commands } = state.book
  const openUl = commands.reduce((sum, open) => sum + (open.stock === entry.stock ? open.volumeUl : 0), 0)
  const unverifiedUl = (state.effects[entry.stock]?.unverifiedUl ?? 0) + openUl
  const figures = {
    unverifiedUl,
    unverifiedMaxUl: unverifiedMaxUl(limits, state, tested),
    showUl: showVolumeUl(limits, state, tested),
  }
  const blurred = Object.entries(state.effects).filter(([stock]) => stock === entry.stock || mustShow(figures))
  const contrasts = blurred.flatMap(([, { contrast }]) => contrast ?? [])
  return { effectChecked: true, ...figures, effectWaitMs: waitMs(limits, tested.site, contrasts, atMs) }
}

/** Whether the next shot of the stock is wanted large enough to be seen. A figure that is none wants it. */
export function mustShow({
  unverifiedUl,
  unverifiedMaxUl: mostUl,
}: Omit<EffectFacts, 'effectChecked' | 'effectWaitMs'>) {
  return !(unverifiedUl < SHOW_FROM_SHARE * mostUl)
}

/** Its own shot that is being measured; where its next is to be seen as well, any other’s too: two at once blur each other. */
function waitMs(limits: Limits, effect: EffectLimits, contrasts: readonly Contrast[], atMs: number): number {
  // NaN spreads, and refuses
  return Math.max(0, ...contrasts.map((contrast) => contrastOverMs(limits, effect, contrast) - atMs))
}
