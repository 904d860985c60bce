import { andThen, quietly, type Transition } from './happening.ts'
import { withLeases } from './lease.ts'
import type { Limits } from './limits.ts'
import { adoptBoot, isPastBoot } from './node-boot.ts'
import { knownNode, NEW_PUMP, type NodeState, nodeNamed, type PumpState, type SafetyState, withNode } from './state.ts'

/** Version of the device contract that safety understands. */
const CONTRACT_VERSION = 1

export interface NodeStatus {
  readonly contract: number
  readonly online: boolean
  readonly boot: string
  readonly pumps?:
    | readonly { readonly id: string; readonly maxRunMs: number; readonly group?: string | undefined }[]
    | undefined
}

/** A node came or went. A will of an old boot, and a node that no limit names, change nothing. */
export function onNodeStatus(
  _limits: Limits,
  state: SafetyState,
  input: { readonly atMs: number; readonly node: string; readonly status: NodeStatus },
): Transition {
  const { node: name, status } = input
  const node = nodeNamed(state, name)
  if (node === undefined || isPastBoot(node, status.boot)) return quietly(state)
  if (!status.online && status.boot !== node.boot) return quietly(state)
  const booted = adoptBoot(state, name, status.boot)
  return withLeases(andThen(booted, (next) => quietly(takeStatus(next, name, status))))
}

function takeStatus(state: SafetyState, name: string, status: NodeStatus): SafetyState {
  if (!status.online) return withNode(state, name, { online: false, heartbeat: null })
  const contractKnown = status.contract === CONTRACT_VERSION
  const pumps = status.pumps === undefined ? {} : { pumps: pumpsOf(knownNode(state, name), status.pumps) }
  return withNode(state, name, { online: true, contractKnown, ...pumps })
}

/** A pump that the node no longer names keeps its totaliser but has no longest run, so it is not dosed from. */
function pumpsOf(node: NodeState, named: NonNullable<NodeStatus['pumps']>): Record<string, PumpState> {
  const pumps: Record<string, PumpState> = {}
  for (const [id, pump] of Object.entries(node.pumps)) pumps[id] = { ...pump, maxRunMs: null, group: null }
  for (const pump of named) {
    pumps[pump.id] = { ...(pumps[pump.id] ?? NEW_PUMP), maxRunMs: pump.maxRunMs, group: pump.group ?? null }
  }
  return pumps
}
