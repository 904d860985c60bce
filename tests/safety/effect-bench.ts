/** The small site with its effects checked: 1 mL of nitrate in 220 L moves conductivity by 0.0005 mS/cm. */

import type { EffectLimits, Limits, StockEffect } from '../../src/safety/limits.ts'
import { type Bench, LIMITS, MINUTE, readyBench } from './bench.ts'

export const EFFECT: EffectLimits = {
  windowMs: 15 * MINUTE,
  readingsMin: 10,
  driftSdDsPerM: 0.002,
  tolerance: 0.2,
  falseTripRisk: 1e-6,
  missRisk: 0.01,
  unverifiedMaxDsPerM: 0.05,
  showDsPerM: 0.02,
}

const PER_ML = 0.11

/** Nitrate and calcium are tested, the others are guarded by their caps. */
export function effectLimits(change: Partial<EffectLimits> = {}, nitrate?: Partial<StockEffect>): Limits {
  const effectOf = (stock: string): StockEffect => {
    if (stock === 'nitrate') return { dsPerMPerMlPerL: PER_ML, ...nitrate }
    return stock === 'calcium'
      ? { dsPerMPerMlPerL: PER_ML }
      : { dsPerMPerMlPerL: 0.02, untold: 'a shot of it is too small to be seen' }
  }
  const stocks = LIMITS.stocks.map((entry) => ({ ...entry, effect: effectOf(entry.stock) }))
  return { ...LIMITS, effect: { ...EFFECT, ...change }, stocks }
}

/** A bench of these limits, with an hour of readings behind it. */
export function effectBench(limits: Limits = effectLimits()): Bench {
  return readyBench(limits).pass(60 * MINUTE, { 'ec-1': 1.8 })
}

/** A shot of nitrate whose effect is seen from the moment it is mixed: `ec` is the conductivity before and after. */
export function seenShot(bench: Bench, ec: readonly [before: number, after: number], volumeUl = 40_000): void {
  bench.pass(20 * MINUTE, { 'ec-1': ec[0] })
  bench.dose('nitrate', volumeUl)
  bench.pass(25 * MINUTE, { 'ec-1': ec[0] })
  bench.pass(17 * MINUTE, { 'ec-1': ec[1] })
}
