/** What an input is to the loop: what may be dropped, what may be forgotten, and what is heard whatever the disk does. */

import type { Input, Instruction } from '../reservoir/input.ts'
import type { ReservoirState } from '../reservoir/state.ts'

/** What an input lacks until the loop stamps it. */
export type UnstampedInput = Input extends infer One ? (One extends Input ? Omit<One, 'atMs'> : never) : never

/** Dropped where too many wait, or too long: the next one of its kind says it again. Reports and people’s words never are. */
export const DROPPABLE: ReadonlySet<Input['kind']> = new Set(['scan', 'heartbeat', 'tick'])

/** Words that hold or quieten even while the ledger cannot keep them. */
export const HEARD_ANYWAY: ReadonlySet<Instruction['instruction']> = new Set(['hold', 'acknowledge'])

const WORDS: ReadonlySet<Input['kind']> = new Set([
  'laboratory-result',
  'laboratory-withdrawal',
  'laboratory-decision',
  'spot-reading',
  'act',
])

/** Time never falls along a ledger, whatever the wall clock says. */
export function stamped(input: UnstampedInput, wallMs: number, state: ReservoirState): Input {
  return { ...input, atMs: Math.max(wallMs, state.atMs) } as Input
}

/** What a restart would forget if it were answered now, and somebody relied on the answer. */
export function isForgettable(input: UnstampedInput): boolean {
  if (input.kind === 'instruction') return !HEARD_ANYWAY.has(input.instruction.instruction)
  return WORDS.has(input.kind)
}

export function isHold(input: UnstampedInput): boolean {
  return input.kind === 'instruction' && input.instruction.instruction === 'hold'
}
