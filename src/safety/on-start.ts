import { type Happening, quietly, type Transition } from './happening.ts'
import { switchHeldBecause } from './hold-switch.ts'
import { withLeases } from './lease.ts'
import type { Limits } from './limits.ts'
import { markUnknown } from './settlement.ts'
import type { NodeState, SafetyState } from './state.ts'

export interface Start {
  readonly atMs: number
  readonly controller: string
  /** must be higher than any before; otherwise nothing is ever permitted under it */
  readonly term: number
}

/**
 * A new process takes over. Probes start cold, approvals lapse, nodes must be heard again, and every command without a
 * settled report is unknown, counts in full and stops every dose until it is settled. Holds, trips, the mode and the
 * book stay.
 */
export function onStart(limits: Limits, state: SafetyState, start: Start): Transition {
  const happenings: Happening[] = []
  let next = quietly(coldState(limits, state, start))
  for (const command of next.state.book.commands) {
    next = markUnknown(next.state, command)
    happenings.push(...next.happenings)
  }
  return withLeases({ state: next.state, happenings })
}

function coldState(limits: Limits, state: SafetyState, start: Start): SafetyState {
  const isNewer = Number.isSafeInteger(start.term) && start.term > (state.term ?? -1)
  const nodes = Object.entries(state.nodes).map(([name, node]) => [name, coldNode(node)] as const)
  return {
    ...state,
    book: { ...state.book, commands: state.book.commands.map((command) => ({ ...command, isFromBefore: true })) },
    started: isNewer,
    controller: start.controller,
    term: isNewer ? start.term : state.term,
    approved: null,
    readings: {},
    switchHeld: switchHeldBecause(limits, {}, start.atMs),
    nodes: Object.fromEntries(nodes),
  }
}

function coldNode(node: NodeState): NodeState {
  return {
    ...node,
    online: false,
    contractKnown: false,
    heartbeat: null,
    lease: { allowed: false, why: 'the node was not heard since the start' },
  }
}
