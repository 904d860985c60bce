/** One controller on one simulated plant, in lockstep, scored by the hour. */

import type { Scenario } from '../../simulator/scenario.ts'
import { createWorld, type World } from '../../simulator/world.ts'
import type { Configuration } from '../config/configuration.ts'
import { coreSettings } from '../reservoir/configure.ts'
import { inputOfMessage } from '../reservoir/inbound.ts'
import type { LedgerRecord } from '../reservoir/index.ts'
import type { Input } from '../reservoir/input.ts'
import { type Scored, type ScoredBand, scoredBands } from './bands.ts'
import type { Controller } from './controller.ts'
import { type ControllerName, createController } from './controllers.ts'
import { emptyTally, markHour, type Tally } from './tally.ts'
import { createWatch, type Watch } from './watch.ts'

const MINUTE_MS = 60_000
const HOUR_MS = 3_600_000
const DAY_MS = 86_400_000
/** Seasons run with a heartbeat every half minute: a tenth of the messages, and no rule of the contract is slackened. */
const HEARTBEAT_MS = 30_000

export interface TrialSetup {
  readonly configuration: Configuration
  readonly scenario: Scenario
  readonly controller: ControllerName
  readonly days: number
  readonly seed: number
  /** hears every record that a daemon would write */
  readonly keep?: (record: LedgerRecord) => void
  /** hears every hour that is scored */
  readonly onHour?: (hour: TrialHour) => void
}

export interface TrialHour {
  readonly atMs: number
  readonly truthMgPerL: Readonly<Record<string, number>>
  readonly bands: Readonly<Record<Scored, ScoredBand>>
  /** laboratory reports that had come by then */
  readonly reports: number
}

export interface Trial {
  readonly tally: Tally
  readonly watch: Watch
  readonly controller: Controller
  readonly truth: ReturnType<World['truth']>
  /** mass of tracked elements that left with discharged solution, g */
  readonly dischargedElementsG: number
  readonly wallSeconds: number
}

/**
 * Runs `days` of the scenario. Scored by the hour from the arrival of the first laboratory report, or from the first
 * hour where none comes.
 *
 * @param wallMs a clock for the time taken; time inside the run is the plant’s own
 */
export function runTrial(setup: TrialSetup, wallMs: () => number): Trial {
  const { configuration, scenario, days, seed } = setup
  const beganMs = wallMs()
  const world = createWorld(scenario, seed, { heartbeatMs: HEARTBEAT_MS })
  const controller = createController(setup.controller, configuration, world, setup.keep)
  const settings = coreSettings(configuration)
  const watch = createWatch(configuration)
  const tally = emptyTally()
  const give = (input: Input): void => {
    for (const { node, sent } of controller.handle(input)) world.receive(input.atMs, node, sent)
  }
  const discharge = createDischarge()
  let reports = 0
  start(configuration, world.startMs, give)
  const endMs = world.startMs + days * DAY_MS
  for (let atMs = world.startMs; atMs < endMs; ) {
    atMs += MINUTE_MS
    for (const emission of world.advanceTo(atMs)) {
      watch.look(emission.atMs, emission.node, emission.message)
      give(inputOfMessage(atMs, emission.node, emission.message))
    }
    for (const report of world.laboratoryReports(atMs)) {
      const { arrivesAtMs: _arrivesAtMs, ...result } = report
      give({ kind: 'laboratory-result', atMs, by: 'laboratory', result })
      reports++
    }
    give({ kind: 'tick', atMs })
    if (controller.dump?.(atMs) === 'new-fill') world.replaceAll()
    if (scenario.renewal === 'by-hand') renewByHand(controller, world, atMs, give)
    if ((atMs - world.startMs) % HOUR_MS !== 0) continue
    const truth = world.truth()
    discharge.look(truth)
    if (reports === 0 && scenario.laboratory.everyDays !== 0) continue
    const hour = { atMs, truthMgPerL: truth.mgPerL, bands: scoredBands(settings, atMs), reports }
    markHour(tally, hour.truthMgPerL, controller.belief?.(), hour.bands, reports)
    setup.onHour?.(hour)
  }
  const wallSeconds = (wallMs() - beganMs) / 1000
  return { tally, watch, controller, truth: world.truth(), dischargedElementsG: discharge.grams(), wallSeconds }
}

/** When the person of a trial comes by, ms after midnight UTC. */
const COMES_BY_MS = 9 * HOUR_MS

/** Somebody comes by each morning, lets go what is asked for, and logs it; the float valve fills up again. */
function renewByHand(controller: Controller, world: World, atMs: number, give: (input: Input) => void): void {
  const askedL = atMs % DAY_MS === COMES_BY_MS ? controller.renewalL?.() : undefined
  if (askedL === undefined) return
  const volumeL = world.drain(askedL)
  give({ kind: 'act', atMs, by: 'trial', act: { act: 'drained', doneAtMs: atMs, volumeL } })
}

/** What went with the discharged litres: their mass of elements, as it stood an hour before at most. */
function createDischarge(): { look(truth: ReturnType<World['truth']>): void; grams(): number } {
  let grams = 0
  let before = { dischargedL: 0, mgPerL: 0 }
  return {
    look({ dischargedL, mgPerL }) {
      grams += ((dischargedL - before.dischargedL) * before.mgPerL) / 1000
      before = { dischargedL, mgPerL: Object.values(mgPerL).reduce((sum, level) => sum + level, 0) }
    },
    grams: () => grams,
  }
}

function start(configuration: Configuration, atMs: number, give: (input: Input) => void): void {
  give({ kind: 'start', atMs, controller: 'trial', term: 1, utcOffsetMin: 0 })
  if (configuration.limits.mode === 'automatic') return
  give({
    kind: 'instruction',
    atMs,
    by: 'trial',
    reason: 'a trial runs unattended',
    instruction: { instruction: 'mode', mode: 'automatic' },
  })
}
