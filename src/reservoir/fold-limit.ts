/** A person’s word on a limit. */

import type { Effect } from './effect.ts'
import type { Input } from './input.ts'
import { asRecorded, limitRefused, withChange } from './limit-change.ts'
import { refuse } from './refusal.ts'
import type { ReservoirSettings, ReservoirState } from './state.ts'

/** Takes an instruction on a limit as far as the file’s ceiling allows; any other input leaves everything as it was. */
export function changeLimit(
  settings: ReservoirSettings,
  state: ReservoirState,
  input: Input,
  effects: Effect[],
): ReservoirState {
  if (input.kind !== 'instruction' || input.instruction.instruction !== 'limit') return state
  const { atMs, by, reason } = input
  const why = limitRefused(settings, state.changedLimits, input.instruction)
  if (why !== undefined) return refuse(state, 'the change of a limit', why, effects)
  if (by.trim() === '' || reason.trim() === '')
    return refuse(state, 'the change of a limit', 'it needs a name and a reason; say who changes it and why', effects)
  const instruction = asRecorded(settings, input.instruction)
  const changedLimits = withChange(settings, state.changedLimits, { atMs, by, reason, instruction })
  const { limit, value } = instruction
  effects.push({ kind: 'record', record: { kind: 'instructed', atMs, by, reason, instruction } })
  const text = `${by}: limit ${limit} from ${changedLimits[limit]?.from} to ${value} (${reason})`
  effects.push({ kind: 'notification', event: 'instructed', text })
  return { ...state, changedLimits }
}
