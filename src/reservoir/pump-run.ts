/** A pump run that a person asks for, into a measuring glass: through the gate and into the book like any shot. */

import { quietly } from '../safety/happening.ts'
import { withLeases } from '../safety/lease.ts'
import { stockLimitsOf } from '../safety/limits.ts'
import { surelyUlOf } from '../safety/run-time.ts'
import { askSafety } from './ask-safety.ts'
import type { Effect } from './effect.ts'
import { tellHappening } from './happening-effects.ts'
import type { Instruction } from './input.ts'
import type { ReservoirSettings, ReservoirState } from './state.ts'

type PumpRun = Extract<Instruction, { instruction: 'pump-run' }>

/** What stands for a plan in the records of such runs. */
const CALIBRATION_PLAN = 'calibration'

/**
 * Asks safety for one run of a pump for a person. The volume is what the rate in force gives in that time, so the run is
 * never longer than asked. Its node has a lease until the run is settled, and not a moment after.
 */
export function runPump(
  settings: ReservoirSettings,
  state: ReservoirState,
  { stock, runMs, withWater }: PumpRun,
  effects: Effect[],
): ReservoirState {
  const rateUlPerS = state.safety.ratesUlPerS[stock] ?? stockLimitsOf(settings.limits, stock)?.rateUlPerS ?? Number.NaN
  const volumeUl = surelyUlOf(runMs, rateUlPerS)
  const wish = { stock, volumeUl, planId: CALIBRATION_PLAN, purpose: 'calibration', withWater } as const
  const told = `Run of the pump for a person, ${withWater ? 'with water' : 'with the stock'}: `
  const asked = askSafety(settings, state, wish, told, effects)
  const leased = withLeases(quietly(asked.state.safety))
  let next: ReservoirState = { ...asked.state, safety: leased.state }
  for (const happening of leased.happenings) next = tellHappening(settings, next, happening, effects)
  return next
}
