/** Water that comes in place of what the crop drew, metered or not. */

import { ELEMENT_COUNT } from '../../chemistry/element.ts'
import type { CoreSettings, WaterSettings } from '../settings.ts'
import type { Demand } from './demand.ts'
import type { FilterState } from './filter-state.ts'
import type { GridStep } from './grid-step.ts'
import { DELIVERY_FACTOR, SOURCE_FACTOR, UNTRACKED, VOLUME, WATER_DRAWN, WATER_LASTING } from './layout.ts'
import { putEntry, type SparseChange } from './transition.ts'
import { drawnLasting, drawnOverCurve } from './uptake.ts'

/** Error of one burst at a water meter, share of it. */
const METER_RELATIVE = 0.02
/**
 * A float valve lets in by bursts of about this share of the nominal volume, and the tank falls as far between two of
 * them. A judgement: a float moves a centimetre or two of a tank’s depth.
 */
const VALVE_BURST_SHARE = 0.01

/** What a prediction writes: the mean, variances to add, and causes of doubt that several unknowns share. */
export interface Moved {
  readonly mean: Float64Array
  readonly noise: Float64Array
  readonly shared: Float64Array[]
}

/**
 * Make-up water of a step. Without a meter it is what the crop is expected to draw less what doses filled up, since a
 * float valve replaces that. All that the water brings is then as doubtful as the draw, and the volume tells nothing of
 * either: as much came as went.
 */
export function topUp(
  settings: CoreSettings,
  before: FilterState,
  { demand, step }: { readonly demand: Demand; readonly step: GridStep },
  moved: Moved,
  change: SparseChange,
): void {
  const { source } = settings
  if (step.topUpL !== undefined) {
    if (!(step.topUpL > 0)) return
    addWater(source, step.topUpL, before, moved.mean, change)
    moved.noise[VOLUME]! += (METER_RELATIVE * step.topUpL) ** 2
    return
  }
  const drawnL = demand.waterL * drawnOverCurve(before.mean)
  const perL = broughtPerL(source, before)
  // Below nothing it is credit: the valve lets in so much less within hours.
  addWater(source, drawnL - dosedL(before, step), before, moved.mean, change)
  for (let at = 0; at <= UNTRACKED; at++) putByWater(before, change, at, perL[at]! * drawnL)
  swingWithValve(settings, before, { drawnL, perL }, moved, change)
}

/**
 * The volume between two bursts of a valve that nobody sees, half a burst up or down and forgotten after one. Without
 * it the volume would be believed to the cupful, and what a level or EC shows of the swing would be laid at the door of
 * doses and crop. A level follows the swing; where there is none, the middle of it is all that is known of the volume.
 */
function swingWithValve(
  settings: CoreSettings,
  before: FilterState,
  { drawnL, perL }: { readonly drawnL: number; readonly perL: Float64Array },
  { mean, shared }: Moved,
  change: SparseChange,
): void {
  const burstL = VALVE_BURST_SHARE * settings.reservoir.volumeL
  // Full when the valve has closed, a burst less when it opens.
  const middleL = settings.reservoir.volumeL - 0.5 * burstL
  const bursts = drawnL / burstL
  const filled = hasLevel(settings) ? 0 : 1 - Math.exp(-bursts)
  const sdL = 0.5 * burstL * Math.sqrt(filled > 0 ? 1 - (1 - filled) ** 2 : 2 * bursts)
  shared.push(perL.map((amount) => amount * sdL))
  if (filled === 0) return
  addWater(settings.source, filled * (middleL - before.mean[VOLUME]!), before, mean, change)
  for (let at = 0; at <= UNTRACKED; at++) putEntry(change, at, VOLUME, -filled * perL[at]!)
}

/** Whether a probe tells the volume here; where none does, only the float valve can be relied on for it. */
export function hasLevel({ probes }: CoreSettings): boolean {
  return probes.some(({ role }) => role === 'level')
}

/** What a litre of the source’s water adds to each unknown. */
function broughtPerL(source: WaterSettings, { mean }: FilterState): Float64Array {
  const strength = Math.exp(mean[SOURCE_FACTOR]!)
  const perL = new Float64Array(mean.length)
  for (let at = 0; at < ELEMENT_COUNT; at++) perL[at] = source.mmolPerL[at]! * strength
  perL[VOLUME] = 1
  perL[UNTRACKED] = source.untrackedMeqPerL
  return perL
}

/** What the doses of a step filled up, L. */
function dosedL({ mean }: FilterState, { doses }: GridStep): number {
  return doses.reduce((sum, { stockIndex, lowMl, highMl }) => {
    return sum + (0.5 * (lowMl + highMl) * Math.exp(mean[DELIVERY_FACTOR + stockIndex]!)) / 1000
  }, 0)
}

/** Litres of the source’s water into a mean. */
export function addWater(
  water: WaterSettings,
  litres: number,
  before: FilterState,
  mean: Float64Array,
  change: SparseChange,
): void {
  const strength = Math.exp(before.mean[SOURCE_FACTOR]!)
  mean[VOLUME]! += litres
  mean[UNTRACKED]! += water.untrackedMeqPerL * litres
  for (let at = 0; at < ELEMENT_COUNT; at++) {
    const brought = water.mmolPerL[at]! * litres * strength
    if (brought === 0) continue
    mean[at]! += brought
    putEntry(change, at, SOURCE_FACTOR, brought)
  }
}

/** What follows the water drawn errs with the weeks’ share of it as with today’s. */
export function putByWater(before: FilterState, change: SparseChange, at: number, amount: number): void {
  const perCurve = amount / drawnOverCurve(before.mean)
  putEntry(change, at, WATER_LASTING, perCurve * drawnLasting(before.mean))
  putEntry(change, at, WATER_DRAWN, perCurve)
}
