import { type Cancel, type Clock, repeat } from './clock.ts'
import type { NodeLink } from './node-link.ts'

export interface LeaseKeeperOptions {
  readonly clock: Clock
  readonly link: Pick<NodeLink, 'sendLease'>
  readonly controller: string
  readonly term: number
  /** how long a node may run pumps after it was last heard; more than two heartbeats */
  readonly leaseMs: number
  /** the last step and its commit were finished within one heartbeat period */
  readonly loopHealthy: () => boolean
}

export interface LeaseKeeper {
  /** the reservoir allows the node to run pumps: from now on renewed every third of the lease */
  allow(node: string): void
  /** sends 0 at once, whatever the loop does */
  withdraw(node: string): void
  /** the node’s own clock, from every heartbeat */
  heard(node: string, boot: string, uptimeMs: number): void
  /** the link came up: what holds is said again, a withdrawal first of all */
  linkUp(): void
  /** withdraws from every node that may have a lease and stops renewing */
  stop(): void
}

/** Least wall time a lease must last, or a busy machine lets it lapse by itself; below it time runs in lockstep only. */
const LEASE_WALL_MIN_MS = 250

/** A sentence where scaled time would leave a lease too short in wall time, undefined where it is long enough. */
export function leaseScaleFault(leaseMs: number, factor: number): string | undefined {
  const wallMs = leaseMs / factor
  if (wallMs >= LEASE_WALL_MIN_MS) return undefined
  const most = Math.floor(leaseMs / LEASE_WALL_MIN_MS)
  return `time ${factor} times as fast leaves a lease of ${leaseMs} ms only ${wallMs.toFixed(0)} ms; at most ${most} times, or run in lockstep`
}

interface NodeLease {
  readonly allowed: boolean
  readonly heard?: { readonly boot: string; readonly uptimeMs: number }
}

/**
 * Keeps leases alive. Each reaches from the node’s own uptime as last heard, never from a guess of what it is by now:
 * a node whose heartbeats are lost runs out of its lease although we go on sending.
 */
export function createLeaseKeeper(options: LeaseKeeperOptions): LeaseKeeper {
  const { clock, link, controller, term, leaseMs } = options
  const nodes = new Map<string, NodeLease>()
  const of = (node: string): NodeLease => nodes.get(node) ?? { allowed: false }
  const cancel: Cancel = repeat(clock, leaseMs / 3, renewAll)

  function send(node: string, untilUptimeMs: (uptimeMs: number) => number): void {
    const { heard } = of(node)
    if (heard === undefined) return
    link.sendLease(node, { controller, term, boot: heard.boot, untilUptimeMs: untilUptimeMs(heard.uptimeMs) })
  }

  function renew(node: string): void {
    if (of(node).allowed && options.loopHealthy()) send(node, (uptimeMs) => uptimeMs + leaseMs)
  }

  function renewAll(): void {
    for (const node of nodes.keys()) renew(node)
  }

  function withdraw(node: string): void {
    nodes.set(node, { ...of(node), allowed: false })
    send(node, () => 0)
  }

  return {
    allow: (node) => {
      const before = of(node)
      nodes.set(node, { ...before, allowed: true })
      if (!before.allowed) renew(node)
    },
    withdraw,
    heard: (node, boot, uptimeMs) => {
      const before = of(node)
      nodes.set(node, { ...before, heard: { boot, uptimeMs } })
      if (before.heard?.boot === boot) return
      if (before.allowed) renew(node)
      else send(node, () => 0)
    },
    linkUp: () => {
      for (const [node, { allowed }] of nodes) if (!allowed) send(node, () => 0)
      renewAll()
    },
    stop: () => {
      cancel()
      for (const node of nodes.keys()) withdraw(node)
    },
  }
}
