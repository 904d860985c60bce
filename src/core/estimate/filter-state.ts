/** The belief about a reservoir at one moment: a mean and a covariance. Never written after it is returned. */

import { ELEMENT_COUNT, ELEMENT_INDEX } from '../../chemistry/element.ts'
import type { CoreSettings } from '../settings.ts'
import {
  CONDUCTIVITY_GAIN,
  CONDUCTIVITY_SHAPE,
  DELIVERY_FACTOR,
  GROWTH,
  GROWTH_TODAY,
  LOG_PCO2,
  PH_OFFSET,
  SOURCE_FACTOR,
  stateSize,
  UNTRACKED,
  UPTAKE_FACTOR,
  VOLUME,
  WATER_DRAWN,
  WATER_LASTING,
} from './layout.ts'
import { emptyMemory, type FilterMemory } from './memory.ts'
import { NOISE } from './noise.ts'
import { NOTHING_UNMIXED, type Unmixed } from './unmixed.ts'

export interface FilterState {
  readonly atMs: number
  readonly mean: Float64Array
  /** n × n, row by row, symmetric */
  readonly covariance: Float64Array
  /** what is dosed but not yet mixed in, with its sign: the probes do not see it yet */
  readonly unmixed: Unmixed
  /** the solution’s pH as last believed; speciation needs one even while the probe is silent */
  readonly ph: number
  /** inorganic carbon on its way out to the air, mmol/L */
  readonly carbonExcessMmolPerL: number
  readonly memory: FilterMemory
}

/** The belief before anything was measured: the first fill as mixed, the crop and the probes as configured. */
export function initialFilterState(settings: CoreSettings, atMs: number): FilterState {
  const n = stateSize(settings.stocks.length)
  const mean = new Float64Array(n)
  const variance = new Float64Array(n)
  const { firstFill } = settings
  for (let at = 0; at < ELEMENT_COUNT; at++) {
    mean[at] = firstFill.mmolPerL[at]! * firstFill.volumeL
    variance[at] = (mean[at]! * firstFill.relativeSd) ** 2 + (impurityMmolPerL(at) * firstFill.volumeL) ** 2
  }
  mean[VOLUME] = firstFill.volumeL
  variance[VOLUME] = (NOISE.firstVolumeRelative * firstFill.volumeL) ** 2
  mean[UNTRACKED] = firstFill.untrackedMeqPerL * firstFill.volumeL
  variance[UNTRACKED] = (NOISE.untrackedSdMeqPerL * firstFill.volumeL) ** 2
  mean[LOG_PCO2] = NOISE.logPco2Mean
  variance[LOG_PCO2] = NOISE.logPco2Sd ** 2
  variance[GROWTH] = crowdGrowthSd(settings) ** 2
  variance[GROWTH_TODAY] = NOISE.growthTodaySd ** 2
  variance[WATER_LASTING] = NOISE.waterLastingSd ** 2
  variance[WATER_DRAWN] = NOISE.waterDrawnSd ** 2
  variance[CONDUCTIVITY_GAIN] = NOISE.conductivityGainSd ** 2
  variance[CONDUCTIVITY_SHAPE] = NOISE.conductivityShapeSd ** 2
  variance[PH_OFFSET] = NOISE.phOffsetSd ** 2
  variance[SOURCE_FACTOR] = settings.source.relativeSd ** 2
  const elementSd = crowdElementSd(settings)
  for (let at = 0; at < ELEMENT_COUNT; at++) variance[UPTAKE_FACTOR + at] = elementSd[at]! ** 2
  settings.stocks.forEach((stock, at) => {
    variance[DELIVERY_FACTOR + at] = stock.strengthSd ** 2
  })
  const covariance = new Float64Array(n * n)
  for (let at = 0; at < n; at++) covariance[at * n + at] = variance[at]!
  const memory = emptyMemory(settings.stocks.length)
  return { atMs, mean, covariance, unmixed: NOTHING_UNMIXED, ph: 6, carbonExcessMmolPerL: 0, memory }
}

/** What the recipe does not name may still ride in with salts and water. A judgement. */
function impurityMmolPerL(at: number): number {
  return at >= ELEMENT_INDEX.Fe ? 0.0001 : 0.01
}

/** One set of learned factors serves all cohorts, so the prior is as wide as the widest crop on the bench. */
function crowdGrowthSd(settings: CoreSettings): number {
  return settings.crops.reduce((widest, crop) => Math.max(widest, crop.growthSd), 0.05)
}

function crowdElementSd(settings: CoreSettings): Float64Array {
  const widest = new Float64Array(ELEMENT_COUNT).fill(0.05)
  for (const crop of settings.crops) {
    for (let at = 0; at < ELEMENT_COUNT; at++) widest[at] = Math.max(widest[at]!, crop.elementSd[at]!)
  }
  return widest
}
