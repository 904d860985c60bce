/** `tarnward hold`, `release`, `reset`, `acknowledge`, `shelve` and `unshelve`: a person’s word to the running daemon. */

import type { PersonsInstruction } from '../shell/daemon-view.ts'
import { CommandFailure } from './command-failure.ts'
import { askDaemon } from './daemon-http.ts'

export interface InstructOptions {
  readonly url: string
  readonly by: string
  readonly reason: string
}

const NOT_KEPT = 503

/**
 * Gives the daemon an instruction; name and reason go into the ledger with it.
 *
 * @throws CommandFailure where no daemon answers, there is nothing of that name, or the ledger cannot keep it
 */
export async function instruct(instruction: PersonsInstruction, options: InstructOptions): Promise<void> {
  const { url, by, reason } = options
  const { status, body } =
    instruction.instruction === 'hold'
      ? await askDaemon(url, '/api/hold', { by, reason })
      : await askDaemon(url, '/api/instruction', { by, reason, instruction })
  if (status >= 400) throw new CommandFailure(status === NOT_KEPT ? 'input-output' : 'data', problemText(body))
  process.stdout.write(`${DONE[instruction.instruction]}\n`)
}

const DONE: Readonly<Record<PersonsInstruction['instruction'], string>> = {
  hold: 'Dosing is on hold. When the reason is gone: tarnward release --reason TEXT.',
  release: 'Released. What limits and interlocks permit is dosed again.',
  reset: 'Reset. It trips again if its cause is still there.',
  acknowledge: 'Acknowledged. It stands until its cause is gone.',
  shelve: 'Shelved. It comes back by itself at its end, if its cause is still there.',
  unshelve: 'Unshelved. It is raised again if its cause is still there.',
}

function problemText(body: unknown): string {
  const { detail, errors } = body as { readonly detail?: string; readonly errors?: readonly string[] }
  return [detail ?? 'The daemon refused it.', ...(errors ?? [])].join('\n')
}
