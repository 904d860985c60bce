/** A worker thread of `npm run bench -- estimate`: one seed of one site, a run with its estimators or a baseline. */

import { parentPort, workerData } from 'node:worker_threads'
import type { Scenario } from '../../simulator/scenario.ts'
import type { Configuration } from '../../src/config/configuration.ts'
import { reservoirSettings } from '../../src/reservoir/configure-reservoir.ts'
import type { LedgerRecord } from '../../src/reservoir/index.ts'
import type { ControllerName } from '../../src/trial/controllers.ts'
import { runTrial } from '../../src/trial/run-trial.ts'
import type { Tally } from '../../src/trial/tally.ts'
import { outcomeOf, type TrialOutcome } from '../../src/trial/trial-outcome.ts'
import { ESTIMATORS, type EstimatorName, type Trajectory, tallyOf } from './estimators.ts'

export interface EstimateSetup {
  readonly plants: Readonly<Record<string, { readonly configuration: Configuration; readonly scenario: Scenario }>>
  readonly days: number
  /** whether estimators are folded beside the daemon’s own */
  readonly estimators: boolean
}

export interface EstimateTask {
  readonly site: string
  readonly controller: ControllerName
  readonly seed: number
}

export interface EstimateAnswer {
  readonly outcome: TrialOutcome
  /** only for the daemon’s own run */
  readonly tallies: Partial<Readonly<Record<EstimatorName, Tally>>>
}

const { plants, days, estimators } = workerData as EstimateSetup

function answer({ site, controller, seed }: EstimateTask): EstimateAnswer {
  const plant = plants[site]
  if (!plant) throw new Error(`no site ${site}`)
  const records: LedgerRecord[] = []
  const hours: Trajectory['hours'][number][] = []
  const trial = runTrial(
    {
      ...{ ...plant, controller, days, seed },
      keep: (record) => records.push(record),
      onHour: (hour) => hours.push({ ...hour, recordCount: records.length }),
    },
    () => performance.now(),
  )
  const names = controller === 'tarnward' && estimators ? ESTIMATORS : []
  const settings = reservoirSettings(plant.configuration)
  const tallies = names.map((name) => [name, tallyOf(name, settings, plant.scenario, { records, hours })])
  return { outcome: outcomeOf(trial, seed), tallies: Object.fromEntries(tallies) }
}

parentPort?.on('message', (task: EstimateTask) => {
  try {
    parentPort?.postMessage({ result: answer(task) })
  } catch (error) {
    parentPort?.postMessage({ failure: error instanceof Error ? (error.stack ?? error.message) : String(error) })
  }
})
