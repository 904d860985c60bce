import { latestEndMs } from './book.ts'
import type { Transition } from './happening.ts'
import type { Limits } from './limits.ts'
import { settle } from './settlement.ts'
import type { SafetyState } from './state.ts'

const UNSETTLED = 'unsettled:'

/** The name by which a person resets a command that its node will never settle. */
export function unsettledName(commandId: string): string {
  return `${UNSETTLED}${commandId}`
}

export function isUnsettledName(trip: string): boolean {
  return trip.startsWith(UNSETTLED)
}

/**
 * A technician’s word that a node is gone for good: its command is closed as delivered in full. What the totaliser
 * shows, should the node ever come back, is then a run without a command: it counts once more and trips, since
 * somebody was wrong about the node.
 *
 * @returns a refusal while the command may still run by the contract, or where nobody waits for it
 */
export function closeUnsettled(
  limits: Limits,
  state: SafetyState,
  word: { readonly atMs: number; readonly name: string; readonly isSigned: boolean },
): Transition {
  const { atMs, name } = word
  const command = state.book.commands.find(
    (open) => open.status === 'unknown' && unsettledName(open.commandId) === name,
  )
  if (command === undefined)
    return refused(state, `${name.slice(UNSETTLED.length)} is no command that waits to be settled`)
  if (!word.isSigned)
    return refused(state, 'to close a command as delivered needs a name and a reason; say who and why')
  if (!(atMs > latestEndMs(limits, command))) {
    return refused(state, `command ${command.commandId} may still run; wait until its last moment is past`)
  }
  const { commandId, stock, volumeUl } = command
  return settle(limits, state, { atMs, commandId, stock, delivered: { lowUl: 0, highUl: volumeUl } }, 'stopped')
}

function refused(state: SafetyState, why: string): Transition {
  return { state, happenings: [{ kind: 'instruction-refused', instruction: 'reset', why }] }
}
