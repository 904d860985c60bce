import type { Facts } from './facts.ts'
import type { Limits } from './limits.ts'
import type { ShotWish } from './types.ts'

/** A row says what must hold; anything else refuses, NaN included, so no row may read "x > max". */
type Holds = (wish: ShotWish, facts: Facts, limits: Limits) => boolean

export interface Interlock {
  readonly id: string
  /** what must hold, in a sentence for a grower */
  readonly rule: string
  /** an `amount` may hold for a smaller shot, a `condition` is the same for every shot */
  readonly on: 'condition' | 'amount'
  readonly holds: Holds
  /** what was found and what is allowed, with figures; read only where the row does not hold */
  readonly found: (wish: ShotWish, facts: Facts, limits: Limits) => string
  /** how long until time alone lifts it; absent or null where time alone does not */
  readonly waitMs?: (wish: ShotWish, facts: Facts, limits: Limits) => number | null
}

/** Whether a person asked for this very run, into a measuring glass. */
export function isCalibration(wish: ShotWish): boolean {
  return wish.purpose === 'calibration'
}

/** A wait that is still to come, or null where the figures give none. */
export function stillToWait(needMs: number, sinceMs: number): number | null {
  const waitMs = needMs - sinceMs
  return Number.isFinite(waitMs) && waitMs > 0 ? waitMs : null
}
