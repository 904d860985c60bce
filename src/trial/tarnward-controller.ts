/** The reservoir itself behind the face a trial drives. */

import type { Configuration } from '../config/configuration.ts'
import {
  createReservoir,
  type Effect,
  type Input,
  type LedgerRecord,
  type Reservoir,
  toCommandMessage,
} from '../reservoir/index.ts'
import type { Belief, Controller, Outgoing } from './controller.ts'
import { learnClock, leaseFor, type NodeClock } from './node-clock.ts'

/** Long enough that a lease renewed once a minute never lapses. */
const LEASE_MS = 180_000
const BY = { controller: 'trial', term: 1 }

export interface TarnwardController extends Controller {
  readonly reservoir: Reservoir
}

/**
 * A controller that is the whole loop: estimate, plan, gate.
 *
 * @param keep hears every record that a daemon would write
 */
export function createTarnwardController(
  configuration: Configuration,
  keep?: (record: LedgerRecord) => void,
): TarnwardController {
  return new Driver(createReservoir(configuration), keep)
}

class Driver implements TarnwardController {
  readonly keepsLimits = true
  readonly reservoir: Reservoir
  readonly alarms: string[] = []
  refused = 0
  unknown = 0
  readonly #clocks = new Map<string, NodeClock>()
  readonly #allowed = new Map<string, boolean>()

  readonly #keep: ((record: LedgerRecord) => void) | undefined

  constructor(reservoir: Reservoir, keep: ((record: LedgerRecord) => void) | undefined) {
    this.reservoir = reservoir
    this.#keep = keep
  }

  handle(input: Input): readonly Outgoing[] {
    learnClock(this.#clocks, input)
    const out = this.#carryOut(this.reservoir.handle(input), input.atMs)
    const isRenewed = input.kind === 'heartbeat' && this.#allowed.get(input.node)
    return isRenewed ? [...out, ...this.#lease(input.node, input.atMs, LEASE_MS)] : out
  }

  renewalL(): number | undefined {
    return this.reservoir.plan()?.renewal?.volumeL
  }

  belief(): Readonly<Record<string, Belief>> | undefined {
    const estimate = this.reservoir.estimate()
    return estimate && { ...estimate.elements, N: estimate.nitrogen }
  }

  #carryOut(effects: readonly Effect[], atMs: number): Outgoing[] {
    const out: Outgoing[] = []
    for (const effect of effects) {
      if (effect.kind === 'lease') this.#allowed.set(effect.node, effect.allowed)
      if (effect.kind === 'lease' && !effect.allowed) out.push(...this.#lease(effect.node, atMs, 0))
      if (effect.kind === 'alarm' && effect.state === 'unacknowledged') this.alarms.push(effect.alarm)
      if (effect.kind === 'record') {
        this.#count(effect)
        this.#keep?.(effect.record)
      }
      if (effect.kind === 'command') out.push(...this.#send(effect, atMs))
    }
    return out
  }

  #send({ shot }: Extract<Effect, { kind: 'command' }>, atMs: number): Outgoing[] {
    const { node, pump, id } = shot
    const command: Outgoing = { node, sent: { kind: 'command', pump, message: toCommandMessage(shot) } }
    const sent: Input = { kind: 'edge', atMs, news: { edge: 'command-sent', commandId: id } }
    return [...this.#lease(node, atMs, LEASE_MS), command, ...this.#carryOut(this.reservoir.handle(sent), atMs)]
  }

  #count({ record }: Extract<Effect, { kind: 'record' }>): void {
    if (record.kind === 'judged' && record.verdict === 'refuse') this.refused++
    if (record.kind === 'settled' && record.outcome === 'unknown') this.unknown++
  }

  #lease(node: string, atMs: number, lengthMs: number): Outgoing[] {
    const clock = this.#clocks.get(node)
    return clock ? [{ node, sent: { kind: 'lease', message: leaseFor(clock, BY, atMs, lengthMs) } }] : []
  }
}
