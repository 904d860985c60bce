/** Many seeds, one or more controllers, over worker threads; in shards where one machine is not enough. */

import type { Scenario } from '../../simulator/scenario.ts'
import type { Configuration } from '../config/configuration.ts'
import { workerFile } from '../ledger/worker-start.ts'
import type { ControllerName } from './controllers.ts'
import type { TrialOutcome } from './trial-outcome.ts'
import { runInWorkers } from './worker-pool.ts'

export interface CampaignSetup {
  readonly configuration: Configuration
  readonly scenario: Scenario
  readonly days: number
}

export interface SeedTask {
  readonly controller: ControllerName
  readonly seed: number
}

export interface CampaignRun extends CampaignSetup {
  readonly controllers: readonly ControllerName[]
  readonly seeds: readonly number[]
  readonly workers: number
  onDone?(task: SeedTask, done: number, of: number): void
}

/** Runs of each controller in the order of the seeds. */
export type Outcomes = Partial<Readonly<Record<ControllerName, readonly TrialOutcome[]>>>

/**
 * Runs every seed with every controller. The outcomes do not depend on how many workers there were.
 *
 * @throws WorkerFailure that names controller and seed
 */
export async function runCampaign(run: CampaignRun): Promise<Outcomes> {
  const { configuration, scenario, days, controllers, seeds, workers } = run
  const tasks = controllers.flatMap((controller) => seeds.map((seed): SeedTask => ({ controller, seed })))
  const data: CampaignSetup = { configuration, scenario, days }
  const outcomes = await runInWorkers<SeedTask, TrialOutcome>({
    file: workerFile(import.meta.url, 'seed-worker'),
    data,
    tasks,
    workers,
    nameOf: ({ controller, seed }) => `seed ${seed} of ${controller}`,
    onDone: (task, done) => run.onDone?.(task, done, tasks.length),
  })
  return Object.fromEntries(
    controllers.map((controller, at) => [controller, outcomes.slice(at * seeds.length, (at + 1) * seeds.length)]),
  )
}

/** Every n-th seed, beginning with the i-th: shards of a campaign whose seeds grow harder are still alike. */
export function seedsOfShard(seeds: readonly number[], shard: { index: number; of: number }): readonly number[] {
  return seeds.filter((_seed, at) => at % shard.of === shard.index - 1)
}
