/** The reservoir itself behind the face a trial drives. */

import type { Configuration } from '../config/configuration.ts'
import { createReservoir, type Effect, type Input, type Reservoir, toCommandMessage } from '../reservoir/index.ts'
import type { Belief, Controller, Outgoing } from './controller.ts'
import { learnClock, leaseFor, type NodeClock } from './node-clock.ts'

/** Long enough that a lease renewed once a minute never lapses. */
const LEASE_MS = 180_000

export interface TarnwardController extends Controller {
  readonly reservoir: Reservoir
}

/** A controller that is the whole loop: estimate, plan, gate. */
export function createTarnwardController(configuration: Configuration): TarnwardController {
  const reservoir = createReservoir(configuration)
  const clocks = new Map<string, NodeClock>()
  const allowed = new Map<string, boolean>()
  const by = { controller: 'trial', term: 1 }
  const told = { refused: 0, unknown: 0, alarms: [] as string[] }

  const carryOut = (effects: readonly Effect[], atMs: number): Outgoing[] => {
    const out: Outgoing[] = []
    for (const effect of effects) {
      if (effect.kind === 'lease') allowed.set(effect.node, effect.allowed)
      if (effect.kind === 'lease' && !effect.allowed) out.push(...leases(effect.node, atMs, 0))
      if (effect.kind === 'alarm' && effect.state === 'unacknowledged') told.alarms.push(effect.alarm)
      if (effect.kind === 'record') count(effect)
      if (effect.kind !== 'command') continue
      const { node, pump, id } = effect.shot
      out.push(...leases(node, atMs, LEASE_MS), {
        node,
        sent: { kind: 'command', pump, message: toCommandMessage(effect.shot) },
      })
      out.push(
        ...carryOut(reservoir.handle({ kind: 'edge', atMs, news: { edge: 'command-sent', commandId: id } }), atMs),
      )
    }
    return out
  }
  const count = (effect: Extract<Effect, { kind: 'record' }>): void => {
    if (effect.record.kind === 'judged' && effect.record.verdict === 'refuse') told.refused++
    if (effect.record.kind === 'settled' && effect.record.outcome === 'unknown') told.unknown++
  }
  const leases = (node: string, atMs: number, lengthMs: number): Outgoing[] => {
    const clock = clocks.get(node)
    return clock ? [{ node, sent: { kind: 'lease', message: leaseFor(clock, by, atMs, lengthMs) } }] : []
  }

  return {
    reservoir,
    get refused() {
      return told.refused
    },
    get unknown() {
      return told.unknown
    },
    alarms: told.alarms,
    handle(input: Input) {
      learnClock(clocks, input)
      const out = carryOut(reservoir.handle(input), input.atMs)
      if (input.kind === 'heartbeat' && allowed.get(input.node)) out.push(...leases(input.node, input.atMs, LEASE_MS))
      return out
    },
    belief: () => reservoir.estimate()?.elements as Record<string, Belief> | undefined,
  }
}
