import type { StockLimits } from './limits.ts'
import type { NodeState, SafetyState } from './state.ts'

export interface NodeFacts {
  readonly node: string
  readonly pump: string
  readonly nodeOnline: boolean
  readonly contractKnown: boolean
  readonly boot: string | null
  readonly heartbeatAgeMs: number
  readonly nodeUptimeMs: number
  readonly nodeTerm: number
  readonly maxRunMs: number
  readonly totalRunMs: number
  readonly doubtMs: number
  readonly runningPump: string | null
}

/** What the node of a stock says of itself and of the stock’s pump; NaN or null where it says nothing. */
export function nodeFacts(state: SafetyState, entry: StockLimits | null, atMs: number): NodeFacts {
  const named = entry ?? NOWHERE
  const node: NodeState | undefined = state.nodes[named.node]
  const pump = node?.pumps[named.pump]
  const heartbeat = node?.heartbeat ?? null
  return {
    node: named.node,
    pump: named.pump,
    nodeOnline: node?.online ?? false,
    contractKnown: node?.contractKnown ?? false,
    boot: node?.boot ?? null,
    heartbeatAgeMs: heartbeat === null ? Number.NaN : atMs - heartbeat.atMs,
    nodeUptimeMs: heartbeat === null ? Number.NaN : heartbeat.uptimeMs + atMs - heartbeat.atMs,
    nodeTerm: heartbeat?.term ?? Number.NaN,
    maxRunMs: pump?.maxRunMs ?? Number.NaN,
    totalRunMs: pump?.totalRunMs ?? Number.NaN,
    doubtMs: pump?.doubtMs ?? Number.NaN,
    runningPump: node === undefined ? null : runningPumpOf(node),
  }
}

const NOWHERE = { node: '', pump: '' }

function runningPumpOf(node: NodeState): string | null {
  for (const [id, { runningId }] of Object.entries(node.pumps)) if (runningId != null) return id
  return null
}
