import { setTimeout as wait } from 'node:timers/promises'
import type {
  CommandMessage,
  HeartbeatMessage,
  NodeMessage,
  ScanMessage,
  StatusMessage,
} from '../../src/contract/message.ts'
import type { NodeLinkHandlers } from '../../src/shell/node-link.ts'

/** What a link told, kept for a test to look at. */
export function createProbe() {
  const messages: { readonly node: string; readonly message: NodeMessage }[] = []
  const refused: { readonly topic: string; readonly why: string }[] = []
  const links: boolean[] = []
  const handlers: NodeLinkHandlers = {
    onMessage: (node, message) => messages.push({ node, message }),
    onRefused: (topic, why) => refused.push({ topic, why }),
    onLink: (up) => links.push(up),
  }
  return { handlers, messages, refused, links }
}

/** Waits until something holds; names it where it does not within ten seconds. */
export async function until(what: string, holds: () => boolean): Promise<void> {
  for (let tries = 0; tries < 1000; tries++) {
    if (holds()) return
    await wait(10)
  }
  throw new Error(`waited 10 s for: ${what}`)
}

export const SCAN: ScanMessage = { boot: 'b1', uptimeMs: 5000, readings: [{ id: 'ec-1', value: 1.71, unit: 'mS/cm' }] }
export const STATUS: StatusMessage = { contract: 1, online: true, boot: 'b1' }
export const HEARTBEAT: HeartbeatMessage = { boot: 'b1', uptimeMs: 5000, term: 1, pumps: [] }

export function commandFor(id: string): CommandMessage {
  return { id, controller: 'daemon-1', term: 1, boot: 'b1', runMs: 4000, startBeforeUptimeMs: 20_000 }
}
