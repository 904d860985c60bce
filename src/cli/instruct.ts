/** `tarnward hold`, `release`, `reset`, `mode`, `approve` and the rest: a person’s word to the running daemon. */

import type { Instruction } from '../reservoir/input.ts'
import { CommandFailure } from './command-failure.ts'
import { askDaemon, refusalOf } from './daemon-http.ts'

export interface InstructOptions {
  readonly url: string
  readonly by?: string
  readonly reason: string
}

/**
 * Gives the daemon an instruction; name and reason go into the ledger with it.
 *
 * @throws CommandFailure where no daemon answers, there is nothing of that name, it may not be, or cannot be kept
 */
export async function instruct(instruction: Instruction, options: InstructOptions): Promise<void> {
  const { url, by, reason } = options
  const signed = { ...(by === undefined ? {} : { by }), reason }
  const { status, body } =
    instruction.instruction === 'hold'
      ? await askDaemon(url, '/api/hold', signed)
      : await askDaemon(url, '/api/instruction', { ...signed, instruction })
  if (status >= 400) throw refusalOf(status, body)
  process.stdout.write(`${DONE[instruction.instruction] ?? 'Done, and kept in the ledger.'}\n`)
}

const DONE: Readonly<Partial<Record<Instruction['instruction'], string>>> = {
  hold: 'Dosing is on hold. When the reason is gone: tarnward release --reason TEXT.',
  release: 'Released. What limits and interlocks permit is dosed again.',
  reset: 'Reset. It trips again if its cause is still there.',
  acknowledge: 'Acknowledged. It stands until its cause is gone.',
  shelve: 'Shelved. It comes back by itself at its end, if its cause is still there.',
  unshelve: 'Unshelved. It is raised again if its cause is still there.',
  approve: 'Approved. Its doses run as far as limits and interlocks permit.',
  mode: 'The mode is set; it outlives a restart.',
  calibrate: 'Taken. Readings from now on count with it.',
  'pump-rate': 'Taken. Shots from now on are timed by it.',
}

/** The instruction behind `tarnward sanitise PHASE`. @throws CommandFailure for anything but begin and end */
export function phaseNamed(phase: string): Instruction {
  if (phase === 'begin' || phase === 'end') return { instruction: 'sanitise', phase }
  throw new CommandFailure('usage', `sanitise: found "${phase}"; allowed are begin and end`)
}

/** The instruction behind `tarnward ration DECISION`. @throws CommandFailure for anything but approve and withdraw */
export function rationNamed(decision: string): Instruction {
  if (decision === 'approve' || decision === 'withdraw') return { instruction: 'ration', decision }
  throw new CommandFailure('usage', `ration: found "${decision}"; allowed are approve and withdraw`)
}

const MODES = ['observe', 'advise', 'automatic'] as const

/** The instruction behind `tarnward mode NAME`. @throws CommandFailure for a name that is no mode */
export function modeNamed(name: string): Instruction {
  const mode = MODES.find((one) => one === name)
  if (mode !== undefined) return { instruction: 'mode', mode }
  throw new CommandFailure('usage', `mode: found "${name}"; allowed are ${MODES.join(', ')}`)
}
