/** Mass balance over one grid step: what the crop took, what water and doses brought, and how doubt grew. */

import { ELEMENT_COUNT, ELEMENT_INDEX } from '../../chemistry/element.ts'
import type { CohortSettings, CoreSettings } from '../settings.ts'
import { appetiteVariance } from './appetite-doubt.ts'
import { bicarbonateBroughtMmol, excessAfter } from './carbon-dioxide.ts'
import { type Demand, demandBetween } from './demand.ts'
import { type FilterState, initialFilterState } from './filter-state.ts'
import type { GridStep } from './grid-step.ts'
import { fallOut, logPco2Sd } from './high-ph.ts'
import {
  CONDUCTIVITY_GAIN,
  CONDUCTIVITY_SHAPE,
  DELIVERY_FACTOR,
  GROWTH,
  GROWTH_TODAY,
  LOG_PCO2,
  PH_OFFSET,
  SOURCE_FACTOR,
  UNTRACKED,
  UPTAKE_FACTOR,
  VOLUME,
  WATER_DRAWN,
  WATER_LASTING,
} from './layout.ts'
import { addWater, type Moved, putByWater, topUp } from './make-up.ts'
import { NOISE, walkVariance } from './noise.ts'
import { VOLUME_LEAST_SHARE } from './physical-ends.ts'
import { emptyChange, propagate, putEntry, type SparseChange } from './transition.ts'
import { drawnLasting, drawnOverCurve, type Uptake, uptakeOf } from './uptake.ts'

/** Ammonium that nitrifying films turn into nitrate, share a day. A judgement; roots take most of it first. */
const NITRIFIED_PER_DAY = 0.3
/** Nitrate that bacteria on roots and channels breathe away, share a day. A judgement. */
const DENITRIFIED_PER_DAY = 0.002
/** Phosphate and iron lost to precipitates and light above pH 6.3, share a day: 0.5–2 %. */
const LOST_PER_DAY = 0.01
const LOSS_STARTS_PH = 6.3

const DAY_MS = 86_400_000
const NO3 = ELEMENT_INDEX['NO3-N']
const NH4 = ELEMENT_INDEX['NH4-N']
const { P, Fe: FE } = ELEMENT_INDEX

/** Nothing here is kept between calls: scratch is filled before it is read. */
const scratch = emptyChange(640)

/**
 * The belief carried to the end of a step by mass balance,
 * dn_i/dt = Σ dose·stock_i + topUp·source_i − demand_i(growth or water)·c/(c+Km) − loss_i,
 * dV/dt = topUp + doses − transpiration.
 *
 * @returns a fresh state at `step.endMs`; amounts never below zero
 */
export function predict(
  settings: CoreSettings,
  cohorts: readonly CohortSettings[],
  before: FilterState,
  step: GridStep,
): FilterState {
  const n = before.mean.length
  const mean = before.mean.slice()
  const noise = new Float64Array(n)
  const shared: Float64Array[] = []
  const change = scratch
  change.count = 0
  const stepMs = step.endMs - before.atMs
  const demand = demandBetween(settings, cohorts, { fromMs: before.atMs, untilMs: step.endMs, litShare: step.litShare })
  const uptake = takeUp(before, demand, mean, noise, change)
  loseSlowly(before, mean, change, stepMs)
  fallOut(before, mean, noise, change, stepMs)
  topUp(settings, before, { demand, step }, { mean, noise, shared }, change)
  doseIn(settings, before, step, mean, shared, change)
  actByHand(settings, before, step, { mean, noise, shared }, change)
  wander(settings, before, mean, noise, change, stepMs)
  const covariance = propagate(before.covariance, n, change)
  for (let at = 0; at < n; at++) covariance[at * n + at]! += noise[at]!
  for (const direction of shared) addShared(covariance, direction)
  for (let at = 0; at < ELEMENT_COUNT; at++) if (mean[at]! < 0) mean[at] = 0
  mean[VOLUME] = Math.max(mean[VOLUME]!, VOLUME_LEAST_SHARE * settings.reservoir.volumeL)
  const broughtMmol = bicarbonateBroughtMmol(settings.source, waterBroughtL(step, uptake), uptake)
  const carbonExcessMmolPerL = excessAfter(before, { broughtMmol, volumeL: mean[VOLUME]!, stepMs })
  return { ...before, atMs: step.endMs, mean, covariance, carbonExcessMmolPerL }
}

/** Litres of the source’s water in a step; what no meter counts replaces what was drawn. */
function waterBroughtL({ topUpL, acts }: GridStep, { waterL }: Uptake): number {
  return acts.reduce((sum, act) => {
    if (act.act === 'topped-up') return sum + act.volumeL
    return act.act === 'changed' && !act.mmolPerL ? sum + act.filledL : sum
  }, topUpL ?? waterL)
}

/** One cause of doubt that moves several amounts together, as one standard deviation of each. */
function addShared(covariance: Float64Array, direction: Float64Array): void {
  const n = direction.length
  for (let row = 0; row < n; row++) {
    if (direction[row] === 0) continue
    for (let column = 0; column < n; column++) covariance[row * n + column]! += direction[row]! * direction[column]!
  }
}

/** Crop uptake and transpiration, each element by its own driver. */
function takeUp(
  before: FilterState,
  demand: Demand,
  mean: Float64Array,
  noise: Float64Array,
  change: SparseChange,
): Uptake {
  const volumeL = before.mean[VOLUME]!
  const uptake = uptakeOf(before.mean, demand)
  const { byGrowth, factored, byWater, carried, waterL } = uptake
  const { growth: ofGrowth, water: ofWater } = demand.dayShare
  // What an even draw over the weeks would be of this step’s: the sun’s way over the day must not add to the day’s doubt.
  const even = drawnLasting(before.mean) / drawnOverCurve(before.mean)
  const unexplained = NOISE.uptakeUnexplained * Math.sqrt(appetiteVariance(before.memory))
  for (let at = 0; at < ELEMENT_COUNT; at++) {
    const taken = byGrowth[at]! + byWater[at]! + carried[at]!
    if (taken === 0) continue
    mean[at]! -= taken
    // Unexplained uptake is white between days; the step’s own share of the day keeps the day’s sum right, and water,
    // which nearly all goes by light, has another share than growth.
    const withWater = byWater[at]! + carried[at]!
    if (ofGrowth > 0) noise[at]! += (unexplained * byGrowth[at]!) ** 2 / ofGrowth
    if (ofWater > 0) noise[at]! += ((unexplained * withWater) ** 2 * even) / ofWater
    // The appetite’s own slope is left out on purpose: near zero it would contract all doubt away, while the truth may
    // well lie above, with an appetite that never fell.
    putEntry(change, at, at, before.mean[at]! > 0 ? -carried[at]! / before.mean[at]! : 0)
    putEntry(change, at, VOLUME, carried[at]! / volumeL)
    putEntry(change, at, GROWTH, -byGrowth[at]!)
    putEntry(change, at, GROWTH_TODAY, -byGrowth[at]!)
    putByWater(before, change, at, -withWater)
    putEntry(change, at, UPTAKE_FACTOR + at, -(factored[at]! + byWater[at]! + carried[at]!))
  }
  mean[VOLUME]! -= waterL
  putByWater(before, change, VOLUME, -waterL)
  return uptake
}

/** Nitrification, denitrification, and phosphate and iron lost in water that is not acid enough. */
function loseSlowly(before: FilterState, mean: Float64Array, change: SparseChange, stepMs: number): void {
  const days = stepMs / DAY_MS
  const nitrified = NITRIFIED_PER_DAY * days
  mean[NH4]! -= nitrified * before.mean[NH4]!
  const denitrified = DENITRIFIED_PER_DAY * days
  mean[NO3]! += nitrified * before.mean[NH4]! - denitrified * before.mean[NO3]!
  putEntry(change, NH4, NH4, -nitrified)
  putEntry(change, NO3, NO3, -denitrified)
  putEntry(change, NO3, NH4, nitrified)
  if (!(before.ph > LOSS_STARTS_PH)) return
  for (const at of [P, FE]) {
    mean[at]! -= LOST_PER_DAY * days * before.mean[at]!
    putEntry(change, at, at, -LOST_PER_DAY * days)
  }
}

/**
 * Doses settled in this step: the middle of the interval, the batch’s own factor, and its width as doubt that all its
 * elements share, so that a reading which shows one of them settles the others too.
 */
function doseIn(
  settings: CoreSettings,
  before: FilterState,
  step: GridStep,
  mean: Float64Array,
  shared: Float64Array[],
  change: SparseChange,
): void {
  for (const dose of step.doses) {
    const stock = settings.stocks[dose.stockIndex]
    if (!stock) throw new Error(`no stock ${dose.stockIndex}`)
    const middleMl = 0.5 * (dose.lowMl + dose.highMl)
    // Standard deviation of a flat belief over the interval.
    const sdMl = (dose.highMl - dose.lowMl) / Math.sqrt(12)
    const direction = new Float64Array(mean.length)
    const factor = Math.exp(before.mean[DELIVERY_FACTOR + dose.stockIndex]!)
    for (let at = 0; at < ELEMENT_COUNT; at++) {
      const perMl = stock.mmolPerMl[at]!
      if (perMl === 0) continue
      mean[at]! += perMl * middleMl * factor
      direction[at] = perMl * sdMl
      putEntry(change, at, DELIVERY_FACTOR + dose.stockIndex, perMl * middleMl * factor)
    }
    mean[VOLUME]! += (middleMl * factor) / 1000
    direction[VOLUME] = sdMl / 1000
    if (sdMl > 0) shared.push(direction)
  }
}

/** How well a person’s account of litres is trusted, share of it. A judgement. */
const BY_HAND_RELATIVE = 0.1

/** What people did in this step: salt added, solution let go, water added, a stock mixed anew. */
function actByHand(
  settings: CoreSettings,
  before: FilterState,
  step: GridStep,
  moved: Moved,
  change: SparseChange,
): void {
  const { mean, noise, shared } = moved
  for (const act of step.acts) {
    if (act.act === 'topped-up') {
      addWater(settings.source, act.volumeL, before, mean, change)
      noise[VOLUME]! += (BY_HAND_RELATIVE * act.volumeL) ** 2
    } else if (act.act === 'drained') {
      shared.push(drain(act.volumeL, mean, change))
    } else if (act.act === 'stock-refilled') {
      const at = DELIVERY_FACTOR + act.stockIndex
      // Another hydrate or a half bag is another strength; what is doubtful of a batch is doubtful of it all the same.
      mean[at] = Math.log(act.strength ?? 1)
      putEntry(change, at, at, -1)
      noise[at]! += (settings.stocks[act.stockIndex]?.strengthSd ?? 0) ** 2
    } else if (act.act === 'learning-reset') {
      forget(settings, before.atMs, moved, change)
    } else if (act.act === 'calibrated') {
      forgetProbe(act.role, mean, noise, change)
    } else if (act.act === 'changed') {
      shared.push(drain(act.drainedL, mean, change))
      fill(settings, before, act, moved, change)
    } else if (act.act === 'added') {
      for (let at = 0; at < ELEMENT_COUNT; at++) {
        mean[at]! += act.mmol[at]!
        noise[at]! += (act.mmol[at]! * act.relativeSd) ** 2
      }
    }
  }
}

/** Factors of crop and probe go back to their priors, and nothing else that is believed hangs on them any longer. */
function forget(settings: CoreSettings, atMs: number, { mean, noise }: Moved, change: SparseChange): void {
  const prior = initialFilterState(settings, atMs)
  const n = mean.length
  const places = [GROWTH, GROWTH_TODAY, WATER_LASTING, WATER_DRAWN, CONDUCTIVITY_GAIN, CONDUCTIVITY_SHAPE]
  for (let at = 0; at < ELEMENT_COUNT; at++) places.push(UPTAKE_FACTOR + at)
  for (const at of places) {
    mean[at] = prior.mean[at]!
    putEntry(change, at, at, -1)
    noise[at]! += prior.covariance[at * n + at]!
  }
}

/** A calibrated probe errs as a new one does, not as it was learned to. */
function forgetProbe(
  role: 'level' | 'conductivity' | 'ph',
  mean: Float64Array,
  noise: Float64Array,
  change: SparseChange,
): void {
  if (role === 'level') return
  const at = role === 'ph' ? PH_OFFSET : CONDUCTIVITY_GAIN
  mean[at] = 0
  putEntry(change, at, at, -1)
  noise[at]! += (role === 'ph' ? NOISE.phOffsetSd : NOISE.conductivityGainSd) ** 2
}

/** How well a person mixes a fill, as a share of each of its concentrations. A judgement. */
const FILL_RELATIVE = 0.05

/** Water or a new solution in place of what was let go. */
function fill(
  settings: CoreSettings,
  before: FilterState,
  act: Extract<GridStep['acts'][number], { act: 'changed' }>,
  { mean, noise }: Moved,
  change: SparseChange,
): void {
  const { filledL, mmolPerL } = act
  noise[VOLUME]! += (BY_HAND_RELATIVE * filledL) ** 2
  if (!mmolPerL) return addWater(settings.source, filledL, before, mean, change)
  mean[VOLUME]! += filledL
  for (let at = 0; at < ELEMENT_COUNT; at++) {
    const brought = mmolPerL[at]! * filledL
    mean[at]! += brought
    noise[at]! += (FILL_RELATIVE * brought) ** 2
  }
}

/**
 * Letting solution go takes the same share of every amount, whatever that share was: no concentration becomes doubtful.
 *
 * @returns how far each amount may be off together
 */
function drain(volumeL: number, mean: Float64Array, change: SparseChange): Float64Array {
  const share = Math.min(1, volumeL / mean[VOLUME]!)
  const direction = new Float64Array(mean.length)
  for (let at = 0; at <= UNTRACKED; at++) {
    direction[at] = BY_HAND_RELATIVE * share * mean[at]!
    mean[at]! *= 1 - share
    putEntry(change, at, at, -share)
  }
  return direction
}

/** Factors and biases wander: back toward their prior where they have one, freely where they have not. */
function wander(
  settings: CoreSettings,
  before: FilterState,
  mean: Float64Array,
  noise: Float64Array,
  change: SparseChange,
  stepMs: number,
): void {
  const revert = (at: number, sd: number, tauMs: number, toward = 0): void => {
    const kept = Math.exp(-stepMs / tauMs)
    mean[at] = toward + (mean[at]! - toward) * kept
    noise[at]! += sd * sd * (1 - kept * kept)
    putEntry(change, at, at, kept - 1)
  }
  revert(
    GROWTH,
    widest(settings.crops, (crop) => crop.growthSd),
    NOISE.growthTauMs,
  )
  revert(GROWTH_TODAY, NOISE.growthTodaySd, NOISE.growthTodayTauMs)
  revert(WATER_LASTING, NOISE.waterLastingSd, NOISE.waterLastingTauMs)
  revert(WATER_DRAWN, NOISE.waterDrawnSd, NOISE.waterDrawnTauMs)
  revert(LOG_PCO2, logPco2Sd(before.ph), NOISE.logPco2TauMs, NOISE.logPco2Mean)
  revert(CONDUCTIVITY_SHAPE, NOISE.conductivityShapeSd, NOISE.conductivityShapeTauMs)
  revert(SOURCE_FACTOR, settings.source.relativeSd, NOISE.sourceTauMs)
  const scale = Math.sqrt(appetiteVariance(before.memory))
  for (let at = 0; at < ELEMENT_COUNT; at++) {
    revert(UPTAKE_FACTOR + at, scale * widest(settings.crops, (crop) => crop.elementSd[at]!), NOISE.uptakeTauMs)
  }
  // What acts and water brought in this very step has had no time to go.
  const keptUntracked = Math.exp(-stepMs / NOISE.untrackedTauMs)
  mean[UNTRACKED]! -= (1 - keptUntracked) * before.mean[UNTRACKED]!
  noise[UNTRACKED]! += (NOISE.untrackedSdMeqPerL * mean[VOLUME]!) ** 2 * (1 - keptUntracked ** 2)
  putEntry(change, UNTRACKED, UNTRACKED, keptUntracked - 1)
  noise[CONDUCTIVITY_GAIN]! += walkVariance(NOISE.conductivityGainPerRootDay, stepMs)
  noise[PH_OFFSET]! += walkVariance(NOISE.phOffsetPerRootDay, stepMs)
  settings.stocks.forEach((_stock, at) => {
    noise[DELIVERY_FACTOR + at]! += walkVariance(NOISE.deliveryPerRootDay, stepMs)
  })
}

function widest<T>(items: readonly T[], sd: (item: T) => number): number {
  return items.reduce((most, item) => Math.max(most, sd(item)), 0.05)
}
