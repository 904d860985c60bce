/** The loop on a simulated plant in lockstep, with everything that went in and came out kept. */

import type { Scenario } from '../../../simulator/scenario.ts'
import { createWorld } from '../../../simulator/world.ts'
import type { Configuration } from '../../../src/config/configuration.ts'
import type { DaemonMessage } from '../../../src/contract/message.ts'
import {
  createReservoir,
  type Effect,
  type Input,
  inputOfMessage,
  type Reservoir,
  toCommandMessage,
} from '../../../src/reservoir/index.ts'
import { learnClock, leaseFor, type NodeClock } from '../../../src/trial/node-clock.ts'

const MINUTE_MS = 60_000
const LEASE_MS = 180_000

export interface Recording {
  readonly inputs: readonly Input[]
  /** one text an input */
  readonly effects: readonly string[]
  readonly reservoir: Reservoir
  /** taken before the input of this place */
  readonly snapshots: ReadonlyMap<number, Uint8Array>
}

export interface RecordingSetup {
  readonly configuration: Configuration
  readonly scenario: Scenario
  readonly days: number
  readonly seed: number
  /** days after which a snapshot is kept */
  readonly snapshotDays: readonly number[]
}

/** Runs the scenario with heartbeats and scans every minute. */
export function recordSeason({ configuration, scenario, days, seed, snapshotDays }: RecordingSetup): Recording {
  const world = createWorld(scenario, seed, { heartbeatMs: MINUTE_MS, scanMs: MINUTE_MS })
  const reservoir = createReservoir(configuration)
  const by = { controller: 'tests', term: 1 }
  const clocks = new Map<string, NodeClock>()
  const inputs: Input[] = []
  const effects: string[] = []
  const snapshots = new Map<number, Uint8Array>()
  const send = (atMs: number, node: string, message: DaemonMessage): void => world.receive(atMs, node, message)
  const lease = (atMs: number, node: string, lengthMs: number): void => {
    const clock = clocks.get(node)
    if (clock) send(atMs, node, { kind: 'lease', message: leaseFor(clock, by, atMs, lengthMs) })
  }
  const allowed = new Map<string, boolean>()
  const carryOut = (effect: Effect, atMs: number): void => {
    if (effect.kind === 'lease') {
      allowed.set(effect.node, effect.allowed)
      if (!effect.allowed) lease(atMs, effect.node, 0)
    } else if (effect.kind === 'command') {
      const { node, pump, id } = effect.shot
      lease(atMs, node, LEASE_MS)
      send(atMs, node, { kind: 'command', pump, message: toCommandMessage(effect.shot) })
      give({ kind: 'edge', atMs, news: { edge: 'command-sent', commandId: id } })
    }
  }
  const give = (input: Input): void => {
    learnClock(clocks, input)
    const made = reservoir.handle(input)
    inputs.push(input)
    effects.push(JSON.stringify(made))
    for (const effect of made) carryOut(effect, input.atMs)
    if (input.kind === 'heartbeat' && allowed.get(input.node)) lease(input.atMs, input.node, LEASE_MS)
  }
  give({ kind: 'start', atMs: world.startMs, ...by, utcOffsetMin: 0 })
  for (let minute = 1; minute <= days * 1440; minute++) {
    const atMs = world.startMs + minute * MINUTE_MS
    if (snapshotDays.includes(minute / 1440)) snapshots.set(inputs.length, reservoir.snapshot())
    for (const emission of world.advanceTo(atMs)) give(inputOfMessage(atMs, emission.node, emission.message))
    for (const { arrivesAtMs: _arrivesAtMs, ...result } of world.laboratoryReports(atMs))
      give({ kind: 'laboratory-result', atMs, by: 'laboratory', result })
    give({ kind: 'tick', atMs })
  }
  return { inputs, effects, reservoir, snapshots }
}
