/** Whether there is anything that a person’s instruction could be about. */

import { shelvingRefused } from '../core/alarm/persons-word.ts'
import type { ReservoirState } from '../reservoir/state.ts'
import type { PersonsInstruction } from './daemon-view.ts'

/** A sentence where the trip or alarm named does not stand, with those that do; undefined where it does. */
export function nothingToInstruct(
  state: ReservoirState,
  instruction: PersonsInstruction,
  nowMs: number,
): string | undefined {
  switch (instruction.instruction) {
    case 'hold':
      return undefined
    case 'release':
      return state.safety.held ? undefined : 'dosing is not on hold, so there is nothing to release'
    case 'reset':
      return unlessThere('trip', instruction.trip, new Set(state.safety.trips.map(({ trip }) => trip)))
    case 'acknowledge':
      return unlessThere('alarm', instruction.alarm, alarmsToAcknowledge(state))
    case 'shelve':
      return shelvingRefused(instruction.alarm, instruction.untilMs, nowMs)
    case 'unshelve':
      return state.alarms[instruction.alarm]?.condition === 'shelved'
        ? undefined
        : `"${instruction.alarm}" is not shelved`
  }
}

function alarmsToAcknowledge(state: ReservoirState): ReadonlySet<string> {
  const waiting = Object.entries(state.alarms).filter(
    ([, { condition }]) => condition === 'unacknowledged' || condition === 'returned' || condition === 'latched',
  )
  return new Set(waiting.map(([alarm]) => alarm))
}

function unlessThere(kind: string, named: string, there: ReadonlySet<string>): string | undefined {
  if (there.has(named)) return undefined
  return `no ${kind} "${named}" waits for a person; ${there.size === 0 ? 'none does' : `there is ${[...there].join(', ')}`}`
}
