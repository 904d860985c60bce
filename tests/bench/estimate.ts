/**
 * `npm run bench -- estimate`: what the estimate is worth beside its baselines, on the stored sites or on yours.
 *
 * --site FILE (a scenario; may be repeated)  --seeds N  --seed FIRST  --days N  --only estimators|controllers
 * --workers N  --keep FILE (answers are kept there as they come; the same command goes on after a cut)  --json
 */

import { availableParallelism } from 'node:os'
import { fileURLToPath } from 'node:url'
import { parseArgs } from 'node:util'
import { loadPlant } from '../../src/cli/load-plant.ts'
import { PACKAGE_FOLDER } from '../../src/cli/package-folder.ts'
import { wholeNumber } from '../../src/cli/whole-number.ts'
import { workerFile } from '../../src/ledger/worker-start.ts'
import { CONTROLLER_NAMES, type ControllerName } from '../../src/trial/controllers.ts'
import { runInWorkers } from '../../src/trial/worker-pool.ts'
import { type Runs, type SiteReport, siteReport } from './estimate-report.ts'
import type { EstimateScore } from './estimate-score.ts'
import type { EstimateAnswer, EstimateSetup, EstimateTask } from './estimate-worker.ts'
import { type KeptAnswers, keptAnswers } from './kept-answers.ts'

const STORED = ['light', 'heavy'].map((name) => fileURLToPath(new URL(`config/scenarios/${name}.yaml`, PACKAGE_FOLDER)))

/** Runs the campaign and prints it. @param words the command line after `estimate` */
export async function estimateBench(words: readonly string[]): Promise<void> {
  const { values } = parseArgs({
    args: [...words],
    options: {
      site: { type: 'string', multiple: true },
      seeds: { type: 'string', default: '40' },
      seed: { type: 'string', default: '1' },
      days: { type: 'string', default: '56' },
      only: { type: 'string', default: 'all' },
      workers: { type: 'string', default: String(availableParallelism()) },
      keep: { type: 'string' },
      json: { type: 'boolean', default: false },
    },
  })
  const plants = await Promise.all((values.site ?? STORED).map(loadPlant))
  const setup: EstimateSetup = {
    plants: Object.fromEntries(plants.map((plant) => [plant.scenario.name, plant])),
    days: wholeNumber('--days', values.days, 1, 3650),
    estimators: values.only !== 'controllers',
  }
  const beganMs = performance.now()
  const controllers = values.only === 'estimators' ? (['tarnward'] as const) : CONTROLLER_NAMES
  const [first, count] = [
    wholeNumber('--seed', values.seed, 0, 2 ** 31),
    wholeNumber('--seeds', values.seeds, 1, 10_000),
  ]
  const seeds = Array.from({ length: count }, (_none, at) => first + at)
  const sites = Object.keys(setup.plants)
  const tasks = sites.flatMap((site) =>
    controllers.flatMap((controller) => seeds.map((seed): EstimateTask => ({ site, controller, seed }))),
  )
  const kept = keptAnswers<EstimateTask, EstimateAnswer>(values.keep, setup)
  const answers = await runAll(setup, tasks, kept, wholeNumber('--workers', values.workers, 1, 256))
  const of = (site: string, controller: ControllerName): readonly EstimateAnswer[] =>
    answers.filter((_answer, at) => tasks[at]!.site === site && tasks[at]!.controller === controller)
  const runsOf = (site: string): Runs => Object.fromEntries(controllers.map((name) => [name, of(site, name)]))
  const reports = Object.fromEntries(sites.map((site) => [site, siteReport(runsOf(site))]))
  const seconds = (performance.now() - beganMs) / 1000
  if (values.json)
    return console.log(JSON.stringify({ ...reports, days: setup.days, firstSeed: first, seeds: count, seconds }))
  for (const [site, report] of Object.entries(reports)) console.log(textOf(site, report))
  console.log(`${count} seed(s) from ${first}, ${setup.days} days, ${seconds.toFixed(0)} s`)
}

/** @returns the answers in the order of the tasks; only what is not kept yet is computed */
async function runAll(
  setup: EstimateSetup,
  tasks: readonly EstimateTask[],
  kept: KeptAnswers<EstimateTask, EstimateAnswer>,
  workers: number,
): Promise<readonly EstimateAnswer[]> {
  const missing = tasks.filter((task) => kept.of(task) === undefined)
  const computed = await runInWorkers<EstimateTask, EstimateAnswer>({
    ...{ file: workerFile(import.meta.url, 'estimate-worker'), data: setup, tasks: missing, workers },
    nameOf: ({ site, controller, seed }) => `seed ${seed} of ${controller} on ${site}`,
    onDone: (task, done, answer) => {
      kept.keep(task, answer)
      const before = tasks.length - missing.length
      process.stderr.write(`${before + done} of ${tasks.length}: ${task.site}, ${task.controller}, seed ${task.seed}\n`)
    },
  })
  const answerOf = new Map(missing.map((task, at) => [task, computed[at]!]))
  return tasks.map((task) => answerOf.get(task) ?? kept.of(task)!)
}

function textOf(site: string, report: SiteReport): string {
  const { baselines, probes } = report
  const scores: readonly (readonly [string, Pick<EstimateScore, 'medianError' | 'p90Error' | 'rmseMeqPerL'> | null])[] =
    [
      ['estimate', report],
      ['  every second report', report.everySecondReport],
      ['  no meter', report.withoutMeter],
      ['  no meter, every second', report.withoutMeterEverySecondReport],
      ['  EC, pH, temperature', probes.conductivityPhTemperature],
      ['ideal estimator', baselines.idealEstimator],
      ['mass balance alone', baselines.massBalance],
      ['report held', baselines.laboratoryHeld],
      ['report scaled by EC', baselines.laboratoryScaled],
    ]
  const uses = [
    ['tarnward', report.use],
    ['ideal controller', baselines.idealController],
    ['A/B by EC', baselines.ecOnly],
    ['A/B by EC, thrown away', baselines.ecOnlyWithDump],
  ] as const
  const elements = Object.keys(report.coverage90) as (keyof SiteReport['coverage90'])[]
  return [
    `${site}, ${report.seeds} seed(s)`,
    `${''.padEnd(26)} median     p90  RMSE meq/L`,
    ...scores.map(
      ([name, score]) =>
        `${name.padEnd(26)} ${percent(score?.medianError)} ${percent(score?.p90Error)} ${fixed(score?.rmseMeqPerL, 3)}`,
    ),
    `RMSE over the ideal’s ${fixed(report.ratioToIdeal, 2)}; less than mass balance alone by ${percent(report.gainOverMassBalance)}`,
    `90 % intervals cover ${elements.map((name) => `${name} ${percent(report.coverage90[name])}`).join(', ')}`,
    `their half-width     ${elements.map((name) => `${name} ${percent(report.halfWidth90[name])}`).join(', ')}`,
    `last day before a report, worst element: median ${percent(report.lastDayBeforeReport.worstMedian)}, p90 ${percent(report.lastDayBeforeReport.worstP90)}, mostly ${report.lastDayBeforeReport.worstElement ?? '–'}`,
    `${''.padEnd(26)} in band  water L  discharged L  salt g`,
    ...uses.map(
      ([name, use]) =>
        `${name.padEnd(26)} ${percent(use?.allInBandShare)} ${fixed(use?.waterL, 0)} ${fixed(use?.dischargedL, 0)} ${fixed(use?.saltG, 0)}`,
    ),
    '',
  ].join('\n')
}

function percent(share: number | null | undefined): string {
  return share === null || share === undefined ? '     –' : `${(100 * share).toFixed(1)} %`.padStart(7)
}

function fixed(value: number | null | undefined, digits: number): string {
  return (value === null || value === undefined ? '–' : value.toFixed(digits)).padStart(8)
}
