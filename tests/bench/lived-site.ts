/** A site that has lived some days in lockstep: its settings, its state and what it heard on the last day. */

import { fileURLToPath } from 'node:url'
import { createWorld } from '../../simulator/world.ts'
import { loadPlant } from '../../src/cli/load-plant.ts'
import { PACKAGE_FOLDER } from '../../src/cli/package-folder.ts'
import { configurationHash } from '../../src/config/configuration-hash.ts'
import { reservoirSettings } from '../../src/reservoir/configure-reservoir.ts'
import { inputOfMessage } from '../../src/reservoir/inbound.ts'
import type { Input, ScanInput } from '../../src/reservoir/input.ts'
import { decodeSnapshot } from '../../src/reservoir/snapshot.ts'
import type { ReservoirSettings, ReservoirState } from '../../src/reservoir/state.ts'
import { createTarnwardController } from '../../src/trial/tarnward-controller.ts'

const MINUTE_MS = 60_000
const DAY_MS = 86_400_000

export interface LivedSite {
  readonly settings: ReservoirSettings
  readonly state: ReservoirState
  /** scans of the day after `state` */
  readonly scans: readonly ScanInput[]
}

/** A scenario of the package and its site, by name. */
export function plantNamed(name: string): ReturnType<typeof loadPlant> {
  return loadPlant(fileURLToPath(new URL(`config/scenarios/${name}.yaml`, PACKAGE_FOLDER)))
}

/** The light site after `days`, seed 1. */
export async function liveLightSite(days: number): Promise<LivedSite> {
  const { configuration, scenario } = await plantNamed('light')
  const world = createWorld(scenario, 1)
  const controller = createTarnwardController(configuration)
  const scans: ScanInput[] = []
  const give = (input: Input): void => {
    for (const { node, sent } of controller.handle(input)) world.receive(input.atMs, node, sent)
  }
  const live = (untilMs: number, hear: (input: Input) => void): void => {
    for (let atMs = world.truth().atMs + MINUTE_MS; atMs <= untilMs; atMs += MINUTE_MS) {
      for (const { node, message } of world.advanceTo(atMs)) hear(inputOfMessage(atMs, node, message))
      hear({ kind: 'tick', atMs })
    }
  }
  give({ kind: 'start', atMs: world.startMs, controller: 'bench', term: 1, utcOffsetMin: 0 })
  give({
    kind: 'instruction',
    atMs: world.startMs,
    by: 'bench',
    reason: 'nobody is in the room',
    instruction: { instruction: 'mode', mode: 'automatic' },
  })
  live(world.startMs + days * DAY_MS, give)
  const read = decodeSnapshot<ReservoirState>(controller.reservoir.snapshot(), configurationHash(configuration))
  if (read.kind !== 'state') throw new Error(read.why)
  live(world.startMs + (days + 1) * DAY_MS, (input) => {
    if (input.kind === 'scan') scans.push(input)
  })
  return { settings: reservoirSettings(configuration), state: read.state, scans }
}
