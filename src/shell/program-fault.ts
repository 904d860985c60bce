/** A fault of the program itself, as the ledger keeps it. */

import type { LedgerRecord } from '../reservoir/record.ts'
import type { ReservoirState } from '../reservoir/state.ts'

/** Who holds the dosing after a fault; a person releases it. */
export const HELD_BY_PROGRAM = 'tarnward'

/** Frames kept of what was thrown: enough to find the line, short enough for a row of the ledger. */
const STACK_LINES_MAX = 12

/**
 * What was thrown and a hold, so that the next start finds dosing held until a person has looked. A hold that stands
 * is left as it is: its reason is somebody’s own.
 *
 * @param wallMs the clock’s word, which may be what broke; one that is no whole number gives way to the state’s time
 */
export function faultRecords(error: unknown, state: ReservoirState, wallMs: number): readonly LedgerRecord[] {
  const atMs = Number.isSafeInteger(wallMs) ? Math.max(wallMs, state.atMs) : state.atMs
  const told: LedgerRecord = { kind: 'event', atMs, event: 'program-fault', text: stackOf(error) }
  if (state.safety.held) return [told]
  const reason = `the program met a fault of its own (${faultText(error)}); look at its log before releasing it`
  return [told, { kind: 'instructed', atMs, by: HELD_BY_PROGRAM, reason, instruction: { instruction: 'hold' } }]
}

/** What was thrown, in one line. */
export function faultText(error: unknown): string {
  return (error instanceof Error ? error.message : String(error)).split('\n')[0] ?? ''
}

function stackOf(error: unknown): string {
  const stack = error instanceof Error ? (error.stack ?? error.message) : String(error)
  return stack.split('\n').slice(0, STACK_LINES_MAX).join('\n')
}
