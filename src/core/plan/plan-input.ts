// Everything one plan depends on. Element vectors are in the order of ELEMENTS, stock vectors in the order of
// settings.stocks; nothing here is changed by the planner.

import type { BandSettings, CoreSettings } from '../settings.ts'
import type { Headroom } from './headroom.ts'
import type { LeftVolume } from './plan.ts'

export interface PlanInput {
  readonly settings: CoreSettings
  readonly atMs: number
  readonly planId: string
  readonly estimate: PlanEstimate
  readonly forecast: PlanForecast
  /** the same for a whole day: what builds up does so over days, and an hour of the night says little of it */
  readonly day?: PlanForecast
  /** one per element, summed over the cohorts */
  readonly bands: readonly BandSettings[]
  readonly phBand: PhBand
  readonly alkalinityAim: AlkalinityAim
  readonly headroom: Headroom
  readonly responses: PlanResponses
  /** learned mean of delivered over booked volume, one per stock; 1 is as configured */
  readonly deliveryFactor: Float64Array
  /** age of the last laboratory value; absent when none has come yet */
  readonly sampleAgeDays: number | undefined
  readonly waits: PlanWaits
  /** `left` of the plan before, so that doses below the smallest shot add up instead of getting lost */
  readonly owed?: readonly LeftVolume[]
  /** plan as if nothing blocked: what would be dosed, for a person to read. The volumes left still hold */
  readonly ignoreBlocks?: boolean
}

export interface PlanEstimate {
  readonly volumeL: number
  readonly mmolPerL: Float64Array
  readonly sdMmolPerL: Float64Array
  readonly alkalinityMeqPerL: number
  readonly alkalinitySdMeqPerL: number
  /** absent while no pH reading can be trusted */
  readonly ph?: number | undefined
  /** alkalinity that this composition has at that pH, open to the air, meq/L; absent as pH is */
  readonly alkalinityAtPhMeqPerL?: number | undefined
  readonly conductivityDsPerM: number
}

export interface PlanForecast {
  /** length of the interval planned for; normally settings.planning.intervalMs */
  readonly intervalMs: number
  /** what uptake and losses take out of the solution in the interval, mmol; negative is a gain */
  readonly uptakeMmol: Float64Array
  /** make-up water expected in the interval, L, and what it brings, mmol */
  readonly makeUpL: number
  readonly makeUpMmol: Float64Array
  /** change of the amount of alkalinity over the interval without doses, crop and make-up together, meq */
  readonly alkalinityMeq: number
}

export interface PhBand {
  readonly low: number
  readonly aim: number
  readonly high: number
}

/** Alkalinities at the edges and the aim of the pH band, of the present composition open to the air, meq/L. */
export interface AlkalinityAim {
  readonly lowMeqPerL: number
  readonly aimMeqPerL: number
  readonly highMeqPerL: number
}

export interface PlanResponses {
  /** gradient of conductivity by element, dS/m per mmol/L */
  readonly conductivityDsPerMPerMmolPerL: Float64Array
}

export interface PlanWaits {
  /** time for a dose to be mixed */
  readonly mixingMs: number
  /** least time between shots of two different stocks, either way round; 0 where they may meet */
  readonly apartMs: (stock: string, other: string) => number
}
