/** `tarnward simulate`: a controller on a simulated plant, scored. */

import { existsSync } from 'node:fs'
import { loadScenario, siteOfScenario } from '../../simulator/load-scenario.ts'
import type { Scenario } from '../../simulator/scenario.ts'
import type { Configuration } from '../config/configuration.ts'
import { CONTROLLER_NAMES, type ControllerName } from '../trial/controllers.ts'
import { runTrial, type Trial } from '../trial/run-trial.ts'
import { reportOf, type TrialReport } from '../trial/trial-report.ts'
import { CommandFailure } from './command-failure.ts'
import { readConfiguration } from './read-configuration.ts'
import { wholeNumber } from './whole-number.ts'

export interface SimulateOptions {
  readonly scenario: string
  readonly days: string
  readonly seed: string
  readonly seeds: string
  readonly controller: string
  readonly json?: boolean
}

/** Runs the seeds one after another and prints one object, or a table of it. */
export async function simulate(options: SimulateOptions): Promise<void> {
  const controller = controllerName(options.controller)
  const days = wholeNumber('--days', options.days, 1, 3650)
  const firstSeed = wholeNumber('--seed', options.seed, 0, 2 ** 31)
  const seeds = wholeNumber('--seeds', options.seeds, 1, 10_000)
  const { configuration, scenario } = await loadPlant(options.scenario)
  const trials: Trial[] = []
  for (let at = 0; at < seeds; at++) {
    if (!options.json) process.stderr.write(`seed ${firstSeed + at} (${at + 1} of ${seeds})\r`)
    trials.push(runTrial({ configuration, scenario, controller, days, seed: firstSeed + at }, () => performance.now()))
  }
  const report = reportOf(trials)
  process.stdout.write(options.json ? `${JSON.stringify(report)}\n` : table(controller, report))
}

function controllerName(text: string): ControllerName {
  const name = CONTROLLER_NAMES.find((candidate) => candidate === text)
  if (!name) throw new CommandFailure('usage', `--controller: found "${text}"; allowed: ${CONTROLLER_NAMES.join(', ')}`)
  return name
}

/** The plant of a scenario file and the site file that stands for it: `site` in the scenario, relative to it. */
export async function loadPlant(
  scenarioFile: string,
): Promise<{ readonly configuration: Configuration; readonly scenario: Scenario }> {
  let scenario: Scenario
  if (!existsSync(scenarioFile))
    throw new CommandFailure('no-input', `${scenarioFile}: there is no such scenario file; config/scenarios has some`)
  try {
    scenario = loadScenario(scenarioFile)
  } catch (error) {
    throw new CommandFailure('data', error instanceof Error ? error.message : String(error))
  }
  const siteFile = siteOfScenario(scenarioFile)
  if (!siteFile)
    throw new CommandFailure(
      'data',
      `${scenarioFile}: no "site"; a scenario to be run by a controller names its site file`,
    )
  return { configuration: await readConfiguration(siteFile), scenario }
}

function table(controller: string, report: TrialReport): string {
  const percent = (share: number | null): string =>
    share === null ? '     –' : `${(100 * share).toFixed(1).padStart(5)} %`
  const rows = [...Object.entries(report.elements), ['all', report.overall] as const].map(
    ([name, score]) =>
      `${name.padEnd(4)} ${percent(score.medianError)} ${percent(score.p90Error)} ${percent(score.coverage90)} ${percent(score.halfWidth90)} ${percent(score.inBandShare)}`,
  )
  const dosed = Object.entries(report.dosedMl).map(([stock, ml]) => `${stock} ${ml.toFixed(0)} mL`)
  return [
    `Controller ${controller}, ${report.seeds} seed(s)`,
    '      median    p90   covered  ± 90 %   in band   (errors and half widths as a share of the aim)',
    ...rows,
    `All six in band ${percent(report.overall.allInBandShare)} of the time.`,
    `Dosed: ${dosed.join(', ')}. Water ${report.waterL.toFixed(0)} L, discharged ${report.dischargedL.toFixed(0)} L, salt ${report.saltG.toFixed(0)} g.`,
    `Shots ${report.shots}, refused ${report.refused}, unknown ${report.unknown}, violations ${report.violations.length}, alarms ${report.alarms.length}.`,
    `${report.wallSeconds.toFixed(1)} s`,
    '',
  ].join('\n')
}
