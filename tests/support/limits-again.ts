/** The model of other limits beside the simulator run again with those limits, same seed. */

import { ELEMENTS, type ElementName } from '../../src/chemistry/element.ts'
import { loadPlant } from '../../src/cli/load-plant.ts'
import type { Configuration } from '../../src/config/configuration.ts'
import { withLimits } from '../../src/config/limit-path.ts'
import {
  ALL_SIX,
  type BandShare,
  type BandShares,
  bandShareOf,
  runModel,
  withoutBottles,
} from '../../src/reservoir/band-model.ts'
import { reservoirSettings } from '../../src/reservoir/configure-reservoir.ts'
import type { LedgerRecord } from '../../src/reservoir/record.ts'
import { recordedHours } from '../../src/reservoir/recorded-hours.ts'
import { caughtUp, foldRecord } from '../../src/reservoir/recover.ts'
import { initialReservoirState } from '../../src/reservoir/state.ts'
import { runTrial } from '../../src/trial/run-trial.ts'

/** One element, or all six at once, under one set of limits: the part of all hours it was inside its band, simulated and by the model. */
export interface Compared {
  readonly name: string
  readonly simulated: number
  readonly model: BandShare
}

export interface Side {
  readonly elements: readonly Compared[]
  /** make-up water, L */
  readonly simulatedL: number
  readonly modelL: number
}

export interface LimitsAgain {
  readonly was: Side
  readonly wouldBe: Side
}

/**
 * Lives `days` of quarry-lane twice, with its own limits and with `changes`, a report each week; the model has the records
 * of the first life alone.
 */
export function limitsAgain(
  { configuration, scenario }: Awaited<ReturnType<typeof loadPlant>>,
  {
    days,
    seed,
    changes,
  }: { readonly days: number; readonly seed: number; readonly changes: Readonly<Record<string, number>> },
): LimitsAgain {
  const laboratory = { ...scenario.laboratory, firstDay: 0.3, everyDays: 7, lateDays: 0.3 }
  const live = (by: Configuration) => {
    const records: LedgerRecord[] = []
    const plant = { configuration: by, scenario: { ...scenario, laboratory }, days, seed }
    const trial = runTrial({ ...plant, controller: 'tarnward', keep: (record) => records.push(record) }, () => 0)
    return { records, ...trial }
  }
  const tried = { ...configuration, limits: withLimits(configuration.limits, changes) }
  const [was, then] = [live(configuration), live(tried)]
  const stated = withoutBottles(reservoirSettings(configuration))
  let state = initialReservoirState(stated)
  for (const record of was.records) state = foldRecord(stated, state, record)
  if (!state.core) throw new Error('the trial never started')
  // a daemon runs its history again after each report; once for all of them is the same to the bit
  const core = caughtUp(stated, state.core)
  const { stretches, filter } = core.history
  const hours = finished(recordedHours(stated, core, stretches, filter.atMs))
  const model = (by: Configuration) =>
    finished(runModel({ settings: withoutBottles(reservoirSettings(by)), core, stretches, hours }))
  return { was: sideOf(was, model(configuration)), wouldBe: sideOf(then, model(tried)) }
}

function sideOf({ tally, truth }: ReturnType<typeof runTrial>, model: BandShares): Side {
  const six = { name: 'six', simulated: tally.allInBand / tally.hours, model: bandShareOf(model, ALL_SIX) }
  const elements = Object.entries(tally.elements).map(([name, { inBand, hours }]) => {
    const at = ELEMENTS.indexOf(name === 'N' ? 'NO3-N' : (name as ElementName))
    return { name, simulated: inBand / hours, model: bandShareOf(model, at) }
  })
  return { elements: [...elements, six], simulatedL: truth.topUpL, modelL: model.makeUpL }
}

function finished<Result>(run: Generator<undefined, Result>): Result {
  let next = run.next()
  while (!next.done) next = run.next()
  return next.value
}

/** The plant on which limits are tried. */
export function loadQuarryLane(): ReturnType<typeof loadPlant> {
  return loadPlant('config/scenarios/quarry-lane.yaml')
}
