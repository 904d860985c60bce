/** What the crop is expected to take in one grid step, before the learned factors are applied. */

import { ELEMENT_COUNT } from '../../chemistry/element.ts'
import type { CohortSettings, CoreSettings, CropSettings } from '../settings.ts'

const DAY_MS = 86_400_000

/** Sums over all cohorts for one step. */
export interface Demand {
  /** water transpired, L */
  readonly waterL: number
  /** element uptake that follows growth, mmol, by element */
  readonly growthMmol: Float64Array
  /** element uptake that follows water, mmol */
  readonly waterMmol: Float64Array
  /** litres whose own concentration is taken along (Na, Cl): uptake is this times mmol/L */
  readonly concentrationL: Float64Array
  /** which share of a day’s water and growth falls in the step */
  readonly dayShare: { readonly water: number; readonly growth: number }
}

/**
 * Nominal demand between two moments, with `litShare` of the step under light.
 *
 * Growth and transpiration are two processes: a day’s water falls almost wholly in the light, a day’s nitrate and
 * potassium uptake to 35–40 % in the dark (Le Bot & Kirkby 1992, J. Plant Nutr. 15:247–264).
 */
export function demandBetween(
  settings: CoreSettings,
  cohorts: readonly CohortSettings[],
  step: { fromMs: number; untilMs: number; litShare: number },
): Demand {
  const share = dayShares(settings, step.untilMs - step.fromMs, step.litShare)
  const demand = {
    waterL: 0,
    growthMmol: new Float64Array(ELEMENT_COUNT),
    waterMmol: new Float64Array(ELEMENT_COUNT),
    concentrationL: new Float64Array(ELEMENT_COUNT),
    dayShare: share,
  }
  for (const cohort of cohorts) {
    const crop = settings.crops.find((candidate) => candidate.id === cohort.crop)
    if (crop) addCohort(demand, cohort, crop, step.untilMs, share)
  }
  return demand
}

/** Shares of a day’s water and growth that fall in a step. */
function dayShares(settings: CoreSettings, stepMs: number, litShare: number): Demand['dayShare'] {
  const { litFromMin, litUntilMin, darkWaterShare, darkGrowthShare } = settings.photoperiod
  const litMs = (litUntilMin - litFromMin) * 60_000
  const darkMs = DAY_MS - litMs
  const inLight = litMs > 0 ? (stepMs * litShare) / litMs : 0
  const inDark = darkMs > 0 ? (stepMs * (1 - litShare)) / darkMs : 0
  if (litMs <= 0 || darkMs <= 0) return { water: stepMs / DAY_MS, growth: stepMs / DAY_MS }
  return {
    water: inLight * (1 - darkWaterShare) + inDark * darkWaterShare,
    growth: inLight * (1 - darkGrowthShare) + inDark * darkGrowthShare,
  }
}

function addCohort(
  demand: Demand & { waterL: number },
  cohort: CohortSettings,
  crop: CropSettings,
  atMs: number,
  share: Demand['dayShare'],
): void {
  if (atMs < cohort.transplantedAtMs || (cohort.harvestedAtMs !== undefined && atMs >= cohort.harvestedAtMs)) return
  const dailyL = cohort.plants * waterPerPlantLPerDay(crop, (atMs - cohort.transplantedAtMs) / DAY_MS)
  const waterL = dailyL * share.water
  const growthL = dailyL * share.growth
  demand.waterL += waterL
  for (let at = 0; at < ELEMENT_COUNT; at++) {
    const uptake = crop.uptakeMmolPerL[at]!
    const driver = crop.drivers[at]
    if (driver === 'growth') demand.growthMmol[at]! += uptake * growthL
    else if (driver === 'water') demand.waterMmol[at]! += uptake * waterL
    else demand.concentrationL[at]! += uptake * waterL
  }
}

/** Width of the logistic against the days to half way; 20 → 250 mL over about 35 days. A judgement. */
const LOGISTIC_WIDTH_SHARE = 0.3

/** Water one plant transpires on an ordinary day, L, logistic in its age. */
export function waterPerPlantLPerDay(crop: CropSettings, ageDays: number): number {
  const width = crop.halfwayDays * LOGISTIC_WIDTH_SHARE
  const grown = 1 / (1 + Math.exp(-(ageDays - crop.halfwayDays) / width))
  return crop.waterStartLPerDay + (crop.waterFullLPerDay - crop.waterStartLPerDay) * grown
}
