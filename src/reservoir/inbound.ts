import type { NodeMessage } from '../contract/message.ts'
import type { Input } from './input.ts'

/** A node’s message as an input, stamped with the time of its arrival. */
export function inputOfMessage(atMs: number, node: string, sent: NodeMessage): Input {
  switch (sent.kind) {
    case 'status':
      return { kind: 'node-status', atMs, node, status: sent.message }
    case 'heartbeat':
      return { kind: 'heartbeat', atMs, node, heartbeat: sent.message }
    case 'scan':
      return { kind: 'scan', atMs, node, scan: sent.message }
    case 'report':
      return { kind: 'pump-report', atMs, node, pump: sent.pump, report: sent.message }
  }
}
