/** What a controller must know of a node to speak to it: its boot and its own clock. */

import type { LeaseMessage } from '../contract/message.ts'
import type { Input } from '../reservoir/input.ts'

export interface NodeClock {
  readonly boot: string
  readonly uptimeMs: number
  readonly atMs: number
}

/** Learns node clocks from what the nodes send. */
export function learnClock(clocks: Map<string, NodeClock>, input: Input): void {
  if (input.kind === 'heartbeat') {
    const { boot, uptimeMs } = input.heartbeat
    clocks.set(input.node, { boot, uptimeMs, atMs: input.atMs })
  } else if (input.kind === 'scan') {
    const { boot, uptimeMs } = input.scan
    clocks.set(input.node, { boot, uptimeMs, atMs: input.atMs })
  }
}

/** The node’s own clock now. */
export function uptimeNowMs(clock: NodeClock, atMs: number): number {
  return clock.uptimeMs + (atMs - clock.atMs)
}

/** A lease of so long from now; length 0 takes it back. */
export function leaseFor(
  clock: NodeClock,
  by: { controller: string; term: number },
  atMs: number,
  lengthMs: number,
): LeaseMessage {
  const untilUptimeMs = lengthMs > 0 ? Math.round(uptimeNowMs(clock, atMs) + lengthMs) : 0
  return { controller: by.controller, term: by.term, boot: clock.boot, untilUptimeMs }
}
