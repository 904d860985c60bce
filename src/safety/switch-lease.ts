import { quietly, type Transition } from './happening.ts'
import { switchHeldBecause } from './hold-switch.ts'
import { withLeases } from './lease.ts'
import type { Limits } from './limits.ts'
import type { SafetyState } from './state.ts'

/** The state with the hold switch as it is read now; a switch that came on, or is no longer read, withdraws every lease. */
export function withSwitch(limits: Limits, state: SafetyState, atMs: number): Transition {
  const switchHeld = switchHeldBecause(limits, state.readings, atMs)
  return switchHeld === state.switchHeld ? quietly(state) : withLeases(quietly({ ...state, switchHeld }))
}
