import type { Configuration } from '../config/configuration.ts'
import type { AlarmBoard } from '../core/alarm/alarm-board.ts'
import type { AlarmSettings } from '../core/alarm/alarm-settings.ts'
import type { StockBook } from '../core/alarm/stock-book.ts'
import type { WaterWatch } from '../core/alarm/water-watch.ts'
import type { CoreSettings } from '../core/settings.ts'
import type { CoreState } from '../core/state.ts'
import type { Limits } from '../safety/limits.ts'
import { initialSafetyState, type SafetyState } from '../safety/state.ts'
import type { LaboratoryResult } from './input.ts'
import type { ChangedLimits } from './limit-change.ts'
import type { SaltBook } from './salt-book.ts'
import type { Standstill } from './standstill.ts'

/** A configuration resolved once: what the core must know, and what safety allows. Neither sees the other’s. */
export interface ReservoirSettings {
  readonly core: CoreSettings
  readonly limits: Limits
  readonly alarms: AlarmSettings
  /** the files these were made of, so that limits can be changed within their ceilings; without it none can */
  readonly file?: Configuration
  /** what 1 g of each salt on the shelf brings, for acts by hand */
  readonly salts: SaltBook
}

/** Two states that do not know each other, and what the loop itself must remember. */
export interface ReservoirState {
  /** time of the last input */
  readonly atMs: number
  /** null until the first start, which says when the reservoir was filled */
  readonly core: CoreState | null
  readonly safety: SafetyState
  readonly alarms: AlarmBoard
  readonly commandCount: number
  /** when a scan last brought a reading, and when each node was last heard */
  readonly heard: Heard
  readonly watch: Watch
  /** why nothing is dosed and what runs out first; null while doses may go */
  readonly standstill: Standstill | null
  /** laboratory reports that wait for a person, oldest first */
  readonly heldReports: readonly HeldReport[]
  /** limits that a person changed while the daemon ran */
  readonly changedLimits: ChangedLimits
}

export interface HeldReport {
  readonly by: string
  readonly result: LaboratoryResult
  readonly why: readonly string[]
  readonly heldAtMs: number
}

export interface Heard {
  readonly startedAtMs: number
  readonly scanAtMs: number
  /** last heartbeat, by node */
  readonly nodesAtMs: Readonly<Record<string, number>>
}

/** What alarms need to have watched for a while. */
export interface Watch {
  readonly water: WaterWatch
  /** wishes refused one after another since the last permitted one */
  readonly refused: { readonly count: number; readonly why: string }
  readonly stocks: StockBook
  /** the first start, which is the first fill */
  readonly filledAtMs: number | null
}

/** A reservoir nobody has started yet. */
export function initialReservoirState(settings: ReservoirSettings): ReservoirState {
  return {
    atMs: 0,
    core: null,
    safety: initialSafetyState(settings.limits),
    alarms: {},
    commandCount: 0,
    heard: { startedAtMs: 0, scanAtMs: 0, nodesAtMs: {} },
    watch: { water: [], refused: { count: 0, why: '' }, stocks: {}, filledAtMs: null },
    standstill: null,
    heldReports: [],
    changedLimits: {},
  }
}
