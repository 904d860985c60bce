import type { Mode } from './types.ts'

/**
 * What may be delivered, whatever anybody else thinks: resolved numbers, no defaults. A number that is missing or is
 * not a number makes its interlock refuse, and a stock without a complete entry is never dosed.
 */
export interface Limits {
  /** the mode of a new site, until a person sets another */
  readonly mode: Mode
  /** how long a person’s approval of a plan is good for in the advise mode */
  readonly approvalMs: number
  /** every probe that must be well before any shot */
  readonly probes: readonly ProbeLimits[]
  /**
   * how far two probes of one role may differ, in the inside unit of the role; a role without an entry here may have
   * only one probe, or a reason why two of it are not compared
   */
  readonly twinsWithin?: TwinLimits
  /** sensors this site lacks, each with a reason; only level and flow can be declared so */
  readonly notFitted: readonly NotFittedSensor[]
  /** shot, hour and day caps are multiplied by this once for each sensor not fitted */
  readonly notFittedCapShare: number
  readonly scanAgeMaxMs: number
  readonly stuckMs: number
  readonly levelMinL: number
  readonly levelMaxL: number
  readonly flowMinLPerMin: number
  readonly flowSteadyMs: number
  /** the flow probe tells only whether there is flow, not how much */
  readonly flowIsSwitch?: boolean
  readonly heartbeatAgeMaxMs: number
  readonly startWindowMs: number
  readonly reportGraceMs: number
  /** how long the reservoir takes to mix; the wait between two acid shots */
  readonly mixingMs: number
  readonly stocks: readonly StockLimits[]
  /** how the effect of doses is checked on raw readings; without it, or a reason why not, nothing is dosed */
  readonly effect?: EffectLimits | NotChecked
  readonly acid?: AcidLimits
  readonly base?: BaseLimits
  /** caps on what all stocks together may bring of an element in a day; absent where none is declared */
  readonly elements?: ElementLimits
  /** the counter of the make-up water; absent where the site has none */
  readonly meter?: MeterLimits
  /** what may go on while one probe or the estimator is lost; absent where nothing may */
  readonly ration?: RationLimits
}

/** What a ration can stand in for. Of a lost estimator safety knows nothing: then every probe must be well. */
export type RationLoss = 'conductivity' | 'ph' | 'estimator'

/** Doses by the make-up meter alone, approved by a person beforehand. */
export interface RationLimits {
  readonly reason: string
  readonly covers: readonly RationLoss[]
  /** an approval is over after this */
  readonly lastsMs: number
  /** stocks that are not named here have no ration */
  readonly stocks: readonly RationStock[]
}

export interface RationStock {
  readonly stock: string
  /** for a litre of make-up water as metered in 24 h, with all else of the stock that went in meanwhile */
  readonly ulPerL: number
  readonly dayMaxUl: number
}

export interface ElementLimits {
  /** the smallest volume that the level allows, L: the same amount makes the greatest change there */
  readonly volumeL: number
  readonly dayMaxMgPerL: Readonly<Record<string, number>>
}

/** A counter that only grows, in L, on one node. */
export interface MeterLimits {
  readonly id: string
  readonly node: string
  /** more than this the make-up valve cannot bring, L/min; what a counter shows beyond it is not believed */
  readonly maxLPerMin: number
}

/** `hold-switch`: a switch at the reservoir, 1 while a person holds the dosing there */
export type ProbeRole = 'conductivity' | 'ph' | 'temperature' | 'level' | 'top-up' | 'flow' | 'hold-switch'

/** Why a check that this house knows is not made here; a blank reason is none, and the check then refuses. */
export interface NotChecked {
  readonly notChecked: string
}

export type TwinLimits = Readonly<Partial<Record<ProbeRole, number | NotChecked>>>

/** Raw range of one probe, in the inside unit of its role: dS/m, pH, °C, L or L/min. */
export interface ProbeLimits {
  readonly id: string
  readonly node: string
  readonly role: ProbeRole
  readonly min: number
  readonly max: number
  /** replaces the common `stuckMs` for this probe */
  readonly stuckMs?: number
}

interface NotFittedSensor {
  readonly role: ProbeRole
  readonly reason: string
}

export interface StockLimits {
  readonly stock: string
  readonly node: string
  readonly pump: string
  readonly rateUlPerS: number
  readonly shotMaxUl: number
  readonly hourMaxUl: number
  readonly dayMaxUl: number
  readonly gapMs: number
  /** stocks that must not meet this one; holds both ways, whichever of the two declares it */
  readonly apart: readonly Apart[]
  readonly acid?: boolean
  /** what may be drawn from one filling of its bottle; without it, or a reason why not, the stock is never dosed */
  readonly refill?: RefillLimits | NotChecked
  readonly base?: boolean
  /** what a microlitre brings, ng by element, rounded up; needed where any element has a cap */
  readonly contentNgPerUl?: Readonly<Record<string, number>>
  /** needed where the site checks effects */
  readonly effect?: StockEffect
  /** what a person may have its pump give into a measuring glass; without it the pump runs for nobody */
  readonly calibration?: CalibrationLimits
}

export interface CalibrationLimits {
  readonly runMaxUl: number
  /** in 24 h, over all such runs */
  readonly dayMaxUl: number
}

/** What the conductivity probe should see of a stock. */
export interface StockEffect {
  /** rise of conductivity by 1 mL in 1 L, dS/m; negative where it falls */
  readonly dsPerMPerMlPerL: number
  /** why its own effect is not tested, as where a whole shot is too small to be seen; its caps guard it then */
  readonly untold?: string
}

/** How the effect of doses is checked. */
export interface EffectLimits {
  /** how long raw readings are averaged before a shot, and again once it is mixed */
  readonly windowMs: number
  /** good readings that each of the two must have at the least */
  readonly readingsMin: number
  /** standard deviation of what else moves conductivity between the two windows, dS/m */
  readonly driftSdDsPerM: number
  /** a stock within 1 ± this share of its declared response is as declared */
  readonly tolerance: number
  /** risk of a trip where all is as declared, and of verifying where it is not */
  readonly falseTripRisk: number
  readonly missRisk: number
  /** volume not yet verified may move conductivity by this at the most, dS/m */
  readonly unverifiedMaxDsPerM: number
  /** a shot that is to be seen moves conductivity by this, dS/m */
  readonly showDsPerM: number
}

export interface RefillLimits {
  /** what its bottle holds */
  readonly bottleUl: number
  /** most that one filling may give before a person looks */
  readonly sinceRefillMaxUl: number
  /** first shot after a refill: harmless, whatever was filled in; each next one may be double the largest so far */
  readonly firstShotUl: number
}

interface Apart {
  readonly from: string
  readonly ms: number
}

/** What goes for acid and base alike. */
export interface ReagentLimits {
  readonly meqPerMl: number
  /** least volume the shot rule may count on; a lower level reading counts instead */
  readonly reservoirMinL: number
  readonly shotMaxMeqPerL: number
  readonly phFreshMs: number
}

export interface AcidLimits extends ReagentLimits {
  /** no acid when the raw reading is at or below this */
  readonly phFloor: number
  /** no acid sooner than this after the flow came back */
  readonly afterFlowMs: number
  /** the alkalinity that acid may count on; absent where the limits do not declare it, which no limits file may */
  readonly buffering?: BufferingLimits
  /** where the acid goes in; absent where the limits do not declare it, which no limits file may */
  readonly injection?: InjectionLimits
}

/** Lower bounds: what is counted here is surely there to take up acid. */
export interface BufferingLimits {
  /** alkalinity of the make-up water, meq/L */
  readonly sourceMeqPerL: number
  /** acid beyond what the hour’s make-up water takes up, meq */
  readonly trimMeqPerHour: number
  /** acid beyond what the day’s make-up water and the reservoir take up, such as the crop gives back, meq */
  readonly trimMeqPerDay: number
  /** what the reservoir itself takes up before it reaches the floor, meq/L */
  readonly reservoirMeqPerL: number
  /** stands for the make-up water where no meter is fitted, meq */
  readonly unmeteredMeqPerHour?: number
}

export interface InjectionLimits {
  /** `line`: the roots get what the pump gives into the running water; `reservoir`: it mixes there first */
  readonly into: 'line' | 'reservoir'
  /** most acid per litre that flows past */
  readonly rateMaxMeqPerL: number
  /** circulation that is surely there while the flow interlocks hold, L/min; a lower reading counts instead */
  readonly circulationLPerMin: number
}

export interface BaseLimits extends ReagentLimits {
  /** no base when the raw reading is at or above this */
  readonly phCeiling: number
  /** no base sooner than this after the flow came back */
  readonly afterFlowMs: number
  /** least time between acid and base, whichever comes first */
  readonly acidApartMs: number
}

/** The limits of one stock, or null: then it is never dosed. */
export function stockLimitsOf(limits: Limits, stock: string): StockLimits | null {
  return limits.stocks.find((entry) => entry.stock === stock) ?? null
}

/** The stock a pump delivers, or null for a pump that no limit names. */
export function stockOfPump(limits: Limits, node: string, pump: string): StockLimits | null {
  return limits.stocks.find((entry) => entry.node === node && entry.pump === pump) ?? null
}

/** Whether every number that a shot of this stock is judged by is there and makes sense. */
export function isComplete(limits: Limits, entry: StockLimits): boolean {
  const positive = [entry.rateUlPerS, entry.shotMaxUl, entry.hourMaxUl, entry.dayMaxUl]
  const waits = [entry.gapMs, limits.reportGraceMs, ...entry.apart.map((apart) => apart.ms)]
  if (!isPositive(limits.startWindowMs) || !limits.stocks.every((other) => isKeptFrom(other, entry))) return false
  if (entry.acid === true && !isCompleteForAcid(limits)) return false
  if (entry.base === true && !isCompleteForBase(limits)) return false
  return positive.every(isPositive) && waits.every(isWait)
}

/** Whether the other stock’s wait for this one, where it declares one, is a wait: it holds both ways. */
function isKeptFrom(other: StockLimits, entry: StockLimits): boolean {
  return other.apart.every((apart) => apart.from !== entry.stock || isWait(apart.ms))
}

function isCompleteForAcid(limits: Limits): boolean {
  const acid = limits.acid
  if (acid === undefined) return false
  const positive = [
    acid.meqPerMl,
    acid.reservoirMinL,
    acid.shotMaxMeqPerL,
    acid.phFloor,
    acid.phFreshMs,
    limits.mixingMs,
  ]
  return positive.every(isPositive) && isWait(acid.afterFlowMs)
}

/** A stock that is both acid and base is neither. */
function isCompleteForBase(limits: Limits): boolean {
  const { base } = limits
  if (base === undefined || limits.stocks.some((entry) => entry.acid === true && entry.base === true)) return false
  const { meqPerMl, reservoirMinL, shotMaxMeqPerL, phCeiling, phFreshMs } = base
  const positive = [meqPerMl, reservoirMinL, shotMaxMeqPerL, phCeiling, phFreshMs, limits.mixingMs]
  return positive.every(isPositive) && isWait(base.afterFlowMs) && isWait(base.acidApartMs)
}

/** Whether a figure is one that is surely above nothing. */
export function isPositive(value: number): boolean {
  return Number.isFinite(value) && value > 0
}

function isWait(value: number): boolean {
  return Number.isFinite(value) && value >= 0
}

/** Whether a person gave a reason for leaving a check out. */
export function isNotChecked(value: unknown): value is NotChecked {
  if (typeof value !== 'object' || value === null || !('notChecked' in value)) return false
  return typeof value.notChecked === 'string' && value.notChecked.trim() !== ''
}
