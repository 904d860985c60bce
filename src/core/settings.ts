/**
 * What the core must know of a site, resolved once from the configuration: numbers in inside units
 * (mmol, L, ms, dS/m), element vectors as Float64Array in the order of ELEMENTS. Never changed after it is made.
 */

import type { Quantity, UnitCode } from '../contract/unit.ts'

export interface CoreSettings {
  readonly reservoir: ReservoirSettings
  readonly source: WaterSettings
  readonly firstFill: FillSettings
  readonly probes: readonly ProbeSettings[]
  readonly stocks: readonly StockSettings[]
  /** what a person could weigh in where no stock serves */
  readonly handSalts: readonly HandSalt[]
  readonly crops: readonly CropSettings[]
  readonly cohorts: readonly CohortSettings[]
  readonly photoperiod: PhotoperiodSettings
  readonly planning: PlanningSettings
  readonly renewal: RenewalSettings
  readonly grid: GridSettings
  /** by element: how far one laboratory report may move it before a second agrees, as a share of its level or aim */
  readonly reportChangeMaxShare: Float64Array
}

export interface ReservoirSettings {
  /** nominal volume with everything that returns to it, L */
  readonly volumeL: number
  readonly volumeMinL: number
  readonly volumeMaxL: number
  /** part of the volume that hangs in the channels while the circulation runs, L */
  readonly filmL: number
  /** time for a dose to be mixed to 95 %, ms */
  readonly mixingMs: number
  /** where air is when no probe tells, °C */
  readonly temperatureC: number
}

export interface WaterSettings {
  readonly mmolPerL: Float64Array
  /** relative standard deviation of each element between days */
  readonly relativeSd: number
  /** charge that no listed element carries, meq/L; closes the measured alkalinity where the report gives one */
  readonly untrackedMeqPerL: number
}

export interface FillSettings {
  readonly volumeL: number
  readonly mmolPerL: Float64Array
  readonly relativeSd: number
  readonly untrackedMeqPerL: number
}

/** What a probe stands for here. A `top-up` probe is an ever-growing count of metered make-up litres. */
export type ProbeRole = 'conductivity' | 'ph' | 'temperature' | 'level' | 'top-up' | 'flow' | 'leak'

export interface ProbeSettings {
  readonly id: string
  readonly node: string
  readonly role: ProbeRole
  readonly quantity: Quantity
  readonly unit: UnitCode
  /** the device already refers conductivity to 25 °C */
  readonly compensated: boolean
  readonly min: number
  readonly max: number
  /** standard deviation of one reading, in the inside unit; conductivity: relative */
  readonly noiseSd: number
}

export type StockKind = 'calcium' | 'phosphate-sulfate' | 'neutral' | 'acid' | 'base'

export interface StockSettings {
  readonly id: string
  readonly node: string
  readonly pump: string
  readonly kind: StockKind
  readonly mmolPerMl: Float64Array
  /** strong cations minus strong anions that 1 mL brings, meq; negative for an acid */
  readonly alkalinityMeqPerMl: number
  readonly rateUlPerS: number
  readonly shotMinUl: number
  /** relative standard deviation of pump rate times strength for one batch */
  readonly strengthSd: number
  /** dissolved salt, g/mL, for the account of salt used */
  readonly saltGPerMl: number
}

/** A salt as it is weighed; only those that leave the alkalinity as it is. */
export interface HandSalt {
  readonly name: string
  readonly mmolPerG: Float64Array
}

/** What drives the uptake of an element. */
export type UptakeDriver = 'growth' | 'water' | 'concentration'

export interface CropSettings {
  readonly id: string
  /** mmol taken up per litre transpired on an ordinary day; for `concentration` the ratio to the solution’s own mmol/L */
  readonly uptakeMmolPerL: Float64Array
  readonly drivers: readonly UptakeDriver[]
  /** relative standard deviation of the crop priors */
  readonly growthSd: number
  readonly elementSd: Float64Array
  /** L per plant and day at transplanting and when full grown, and days to half way */
  readonly waterStartLPerDay: number
  readonly waterFullLPerDay: number
  readonly halfwayDays: number
  readonly bands: readonly BandSettings[]
  readonly phLow: number
  readonly phAim: number
  readonly phHigh: number
}

/** Target band of one element, mmol/L; `weight` orders the elements in the planner’s trade-offs. */
export interface BandSettings {
  readonly low: number
  readonly aim: number
  readonly high: number
  readonly weight: number
}

export interface CohortSettings {
  readonly id: string
  readonly crop: string
  readonly plants: number
  readonly transplantedAtMs: number
  readonly harvestedAtMs?: number
}

export interface PhotoperiodSettings {
  /** minutes of the local day */
  readonly litFromMin: number
  readonly litUntilMin: number
  /** share of a day’s water and of a day’s growth-driven uptake that falls in the dark */
  readonly darkWaterShare: number
  readonly darkGrowthShare: number
}

export interface PlanningSettings {
  readonly intervalMs: number
  /** share of the gap to the aim closed in a day when the estimate is certain */
  readonly gapSharePerDay: number
  /** margin from the edges of the band, in standard deviations */
  readonly marginSds: number
  readonly conductivityMaxDsPerM: number
  /** an element known less well than to this share of its aim is no longer dosed by its estimate */
  readonly sdMaxShare: number
  readonly parity?: ParitySettings
}

/** Two stocks that are meant to run together, since each carries what the other lacks. */
export interface ParitySettings {
  readonly stocks: readonly [string, string]
  /** share by which one may run ahead of the other in an interval */
  readonly windowShare: number
}

/** When part of the solution is let go and filled up again. */
export interface RenewalSettings {
  /** age of the solution at which a slice goes whatever its ions say; absent where nobody asks for it */
  readonly hygieneMs?: number
  /** how long one renewal should serve */
  readonly serveMs: number
}

export interface GridSettings {
  readonly stepMs: number
  readonly keptMs: number
  readonly checkpointMs: number
  readonly slotsPerSlice: number
}
