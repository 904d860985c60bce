import type { Happening, Transition } from './happening.ts'
import { type NodeState, type SafetyState, withNode } from './state.ts'

/** Whether a node may run pumps at all now, and the first reason why not. */
function leaseFor(
  state: SafetyState,
  name: string,
  node: NodeState,
): { readonly allowed: boolean; readonly why: string } {
  const why = forbiddenBecause(state, name, node)
  return { allowed: why === null, why: why ?? `mode ${state.mode}, nothing held or tripped, node online` }
}

/** Brings every node’s lease up to date and tells the ones that changed. */
export function withLeases(transition: Transition): Transition {
  let { state } = transition
  const changes: Happening[] = []
  for (const [name, node] of Object.entries(state.nodes)) {
    const lease = leaseFor(state, name, node)
    if (lease.allowed === node.lease.allowed) continue
    state = withNode(state, name, { lease })
    changes.push({ kind: 'lease', node: name, ...lease })
  }
  return { state, happenings: [...transition.happenings, ...changes] }
}

function forbiddenBecause(state: SafetyState, name: string, node: NodeState): string | null {
  if (!state.started) return 'not started'
  if (!state.diskWritable) return 'the ledger’s disk cannot be written'
  if (!state.clockSane) return 'the clock is not to be trusted'
  if (!state.linkUp) return 'the link to the nodes is down'
  if (state.held !== null) return `held by ${state.held.by}: ${state.held.reason}`
  if (state.switchHeld !== null) return state.switchHeld
  if (state.sanitise !== null) return 'the system is being sanitised, or the rinse and probe check are not logged yet'
  const [trip] = state.trips
  if (trip !== undefined) return `tripped, ${trip.trip}: ${trip.why}`
  if (state.mode === 'observe' && !runsForPerson(state, name)) return 'the mode is observe'
  if (!node.online) return 'the node is not online'
  if (!node.contractKnown) return 'the node speaks another version of the contract'
  return null
}

/** A calibration runs in the mode observe, and the node may run for it alone, until it is settled or overdue. */
function runsForPerson(state: SafetyState, name: string): boolean {
  return state.book.commands.some(
    ({ node, status, purpose }) => node === name && status === 'open' && purpose === 'calibration',
  )
}
