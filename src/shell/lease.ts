/** Leases: short permissions that pump nodes must have renewed, so that a daemon that dies or hangs stops all pumps. */

import { type Cancel, type Clock, repeat } from './clock.ts'
import type { NodeLink } from './node-link.ts'

export interface LeaseKeeperOptions {
  readonly clock: Clock
  readonly link: Pick<NodeLink, 'sendLease'>
  readonly controller: string
  /** the term that leases go under now */
  readonly term: () => number
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
  /** stops every node’s pumps at once, before the loop has heard why; the next renewal gives back what is still allowed */
  pause(): void
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
  /** told to stop because the loop is behind or a person said hold; the next renewal takes it back */
  readonly suspended?: boolean
  readonly heard?: { readonly boot: string; readonly uptimeMs: number }
}

/** Keeps leases alive from now on, until it is stopped. */
export function createLeaseKeeper(options: LeaseKeeperOptions): LeaseKeeper {
  return new Keeper(options)
}

/**
 * Each lease reaches from the node’s own uptime as last heard, never from a guess of what it is by now: a node whose
 * heartbeats are lost runs out of its lease although we go on sending. A loop that hangs (on a disk that never answers)
 * cannot say anything itself, so its leases are withdrawn here, at the next heartbeat or renewal.
 */
class Keeper implements LeaseKeeper {
  readonly #options: LeaseKeeperOptions
  readonly #nodes = new Map<string, NodeLease>()
  readonly #cancel: Cancel
  #isStopped = false

  constructor(options: LeaseKeeperOptions) {
    this.#options = options
    this.#cancel = repeat(options.clock, options.leaseMs / 3, () => this.#renewAll())
  }

  allow(node: string): void {
    if (this.#isStopped) return
    const before = this.#of(node)
    this.#nodes.set(node, { ...before, allowed: true })
    if (!before.allowed) this.#renew(node)
  }

  withdraw(node: string): void {
    this.#nodes.set(node, { ...this.#of(node), allowed: false })
    this.#stop(node)
  }

  pause(): void {
    for (const [node, lease] of this.#nodes) {
      if (!lease.allowed) continue
      this.#nodes.set(node, { ...lease, suspended: true })
      this.#stop(node)
    }
  }

  /** A new boot knows nothing of earlier leases, and a node first met may still live under an older daemon’s. */
  heard(node: string, boot: string, uptimeMs: number): void {
    const before = this.#of(node)
    const isSameBoot = before.heard?.boot === boot
    this.#nodes.set(node, { ...before, ...(isSameBoot ? {} : { suspended: false }), heard: { boot, uptimeMs } })
    if (before.allowed && !this.#options.loopHealthy()) return this.#renew(node)
    if (isSameBoot) return
    if (before.allowed) this.#renew(node)
    else this.#stop(node)
  }

  linkUp(): void {
    for (const [node, { allowed }] of this.#nodes) if (!allowed) this.#stop(node)
    this.#renewAll()
  }

  /** What the loop still finishes afterwards may allow nothing any more. */
  stop(): void {
    this.#isStopped = true
    this.#cancel()
    for (const node of this.#nodes.keys()) this.withdraw(node)
  }

  #renewAll(): void {
    for (const node of this.#nodes.keys()) this.#renew(node)
  }

  #renew(node: string): void {
    const lease = this.#of(node)
    const { allowed, heard } = lease
    if (!allowed || heard === undefined) return
    const isBehind = !this.#options.loopHealthy()
    this.#nodes.set(node, { ...lease, suspended: isBehind })
    if (isBehind && !lease.suspended) this.#stop(node)
    if (isBehind) return
    this.#send(node, heard.boot, heard.uptimeMs + this.#options.leaseMs)
  }

  #stop(node: string): void {
    const { heard } = this.#of(node)
    if (heard !== undefined) this.#send(node, heard.boot, 0)
  }

  #send(node: string, boot: string, untilUptimeMs: number): void {
    const { link, controller, term } = this.#options
    link.sendLease(node, { controller, term: term(), boot, untilUptimeMs })
  }

  #of(node: string): NodeLease {
    return this.#nodes.get(node) ?? { allowed: false }
  }
}
