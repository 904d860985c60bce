// A season lived once by the whole loop on a simulated plant, kept as what the filter saw of it, beside the truth by the
// hour: so that a filter can be judged, and judged again with other noise, without living the season again.

import type { Scenario } from '../../../simulator/scenario.ts'
import { createWorld } from '../../../simulator/world.ts'
import type { Configuration } from '../../../src/config/configuration.ts'
import { configurationHash } from '../../../src/config/configuration-hash.ts'
import { initialFilterState } from '../../../src/core/estimate/filter-state.ts'
import type { GridStep } from '../../../src/core/estimate/grid-step.ts'
import type { CohortSettings, CoreSettings } from '../../../src/core/settings.ts'
import { coreSettings } from '../../../src/reservoir/configure.ts'
import { inputOfMessage } from '../../../src/reservoir/inbound.ts'
import type { Input, ReservoirState } from '../../../src/reservoir/index.ts'
import { decodeSnapshot } from '../../../src/reservoir/snapshot.ts'
import { createTarnwardController } from '../../../src/trial/tarnward-controller.ts'

const MINUTE_MS = 60_000
const HOUR_MS = 3_600_000
const DAY_MS = 86_400_000

export interface Truth {
  readonly atMs: number
  readonly volumeL: number
  readonly mgPerL: Readonly<Record<string, number>>
}

export interface LivedSeason {
  readonly name: string
  readonly settings: CoreSettings
  readonly cohorts: readonly CohortSettings[]
  readonly startMs: number
  readonly steps: readonly GridStep[]
  readonly truths: readonly Truth[]
  /** when the report of each bottle was told */
  readonly arrivals: Readonly<Record<string, number>>
}

/** Lives `days` of the scenario from one seed. */
export function liveSeason(
  configuration: Configuration,
  scenario: Scenario,
  span: { readonly days: number; readonly seed: number },
): LivedSeason {
  const world = createWorld(scenario, span.seed, { heartbeatMs: 30_000 })
  const controller = createTarnwardController(configuration)
  const give = (input: Input): void => {
    for (const { node, sent } of controller.handle(input)) world.receive(input.atMs, node, sent)
  }
  const { startMs } = world
  give({ kind: 'start', atMs: startMs, controller: 'trial', term: 1, utcOffsetMin: 0 })
  const instruction = { instruction: 'mode', mode: 'automatic' } as const
  give({ kind: 'instruction', atMs: startMs, by: 'trial', reason: 'a trial runs unattended', instruction })
  const truths: Truth[] = []
  const arrivals: Record<string, number> = {}
  for (let atMs = startMs + MINUTE_MS; atMs <= startMs + span.days * DAY_MS; atMs += MINUTE_MS) {
    for (const { node, message } of world.advanceTo(atMs)) give(inputOfMessage(atMs, node, message))
    for (const { arrivesAtMs: _arrivesAtMs, ...result } of world.laboratoryReports(atMs)) {
      give({ kind: 'laboratory-result', atMs, by: 'laboratory', result })
      arrivals[result.id] = atMs
    }
    give({ kind: 'tick', atMs })
    if ((atMs - startMs) % HOUR_MS === 0) {
      const { mgPerL, volumeL } = world.truth()
      truths.push({ atMs, volumeL, mgPerL: { ...mgPerL } })
    }
  }
  const read = decodeSnapshot<ReservoirState>(controller.reservoir.snapshot(), configurationHash(configuration))
  if (read.kind !== 'state' || !read.state.core) throw new Error('no season to look at')
  const { history, cohorts } = read.state.core
  const settings = coreSettings(configuration)
  if (history.stretches[0]!.start.atMs !== initialFilterState(settings, startMs).atMs)
    throw new Error('the season is longer than what is kept of it')
  const steps = history.stretches.flatMap((stretch) => stretch.steps)
  return { name: `${scenario.name}-${span.seed}`, settings, cohorts, startMs, steps, truths, arrivals }
}
