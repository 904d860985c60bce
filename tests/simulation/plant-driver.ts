// A simple master for the simulated plant: keeps a lease alive and asks for shots. It knows the contract, no chemistry.

import { fileURLToPath } from 'node:url'
import type { Fault } from '../../simulator/faults.ts'
import { loadScenario } from '../../simulator/load-scenario.ts'
import type { Scenario, Spread } from '../../simulator/scenario.ts'
import { createWorld, type NodeEmission, type World } from '../../simulator/world.ts'

export const MINUTE_MS = 60_000
export const HOUR_MS = 3_600_000
export const DAY_MS = 86_400_000

export function scenarioOf(name: 'light' | 'heavy' | 'quarry-lane'): Scenario {
  return loadScenario(fileURLToPath(new URL(`../../config/scenarios/${name}.yaml`, import.meta.url)))
}

/** The same plant with every error taken out: what is left is the book's own plant. */
export function perfect(scenario: Scenario): Scenario {
  const spread = Object.fromEntries(Object.keys(scenario.spread).map((key) => [key, 0])) as Spread
  return {
    ...scenario,
    spread,
    source: { ...scenario.source, relativeSd: 0 },
    firstFill: { ...scenario.firstFill, relativeSd: 0 },
  }
}

export function withFaults(scenario: Scenario, ...faults: Fault[]): Scenario {
  return { ...scenario, faults }
}

export interface Driver {
  readonly world: World
  readonly said: NodeEmission[]
  /** Moves on, renewing the lease every ten minutes while `leased`. */
  goTo(atMs: number): void
  /** Asks for a shot now and waits two minutes. */
  shoot(pump: string, runMs: number): void
  /** no lease is renewed from now on */
  letGo(): void
}

/** A driver of node `bench`, with slow heartbeats. */
export function drive(scenario: Scenario, seed = 1): Driver {
  const world = createWorld(scenario, seed, { heartbeatMs: MINUTE_MS })
  const said: NodeEmission[] = []
  let nowMs = world.startMs
  let shots = 0
  let leased = true
  let boot = ''
  let bootMs = 0
  const hear = (emissions: readonly NodeEmission[]) => {
    for (const emission of emissions) {
      said.push(emission)
      if (emission.message.kind !== 'heartbeat') continue
      boot = emission.message.message.boot
      bootMs = emission.atMs - emission.message.message.uptimeMs
    }
  }
  const renew = () => {
    if (!leased) return
    const message = { controller: 'driver', term: 1, boot, untilUptimeMs: nowMs - bootMs + 11 * MINUTE_MS }
    world.receive(nowMs, 'bench', { kind: 'lease', message })
  }
  hear(world.advanceTo(nowMs))
  renew()
  const goTo = (atMs: number) => {
    while (nowMs < atMs) {
      nowMs = Math.min(atMs, nowMs + 10 * MINUTE_MS)
      hear(world.advanceTo(nowMs))
      renew()
    }
  }
  return {
    world,
    said,
    goTo,
    shoot(pump, runMs) {
      shots += 1
      const message = { id: `shot-${shots}`, controller: 'driver', term: 1, boot, runMs }
      const startBeforeUptimeMs = nowMs - bootMs + MINUTE_MS
      world.receive(nowMs, 'bench', { kind: 'command', pump, message: { ...message, startBeforeUptimeMs } })
      goTo(nowMs + 2 * MINUTE_MS)
    },
    letGo: () => {
      leased = false
    },
  }
}

/** Values of one probe as they were sent. */
export function valuesOf(said: readonly NodeEmission[], probe: string): number[] {
  return said.flatMap(({ message }) =>
    message.kind === 'scan' ? message.message.readings.filter(({ id }) => id === probe).map(({ value }) => value) : [],
  )
}

export function mean(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length
}
