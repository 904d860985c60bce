import type { AlarmBoard } from '../core/alarm/alarm.ts'
import type { CoreSettings } from '../core/settings.ts'
import type { CoreState } from '../core/state.ts'
import type { Limits } from '../safety/limits.ts'
import { initialSafetyState, type SafetyState } from '../safety/state.ts'
import type { SaltBook } from './salt-book.ts'

/** A configuration resolved once: what the core must know, and what safety allows. Neither sees the other’s. */
export interface ReservoirSettings {
  readonly core: CoreSettings
  readonly limits: Limits
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
}

export interface Heard {
  readonly startedAtMs: number
  readonly scanAtMs: number
}

/** A reservoir nobody has started yet. */
export function initialReservoirState(settings: ReservoirSettings): ReservoirState {
  return {
    atMs: 0,
    core: null,
    safety: initialSafetyState(settings.limits),
    alarms: {},
    commandCount: 0,
    heard: { startedAtMs: 0, scanAtMs: 0 },
  }
}
