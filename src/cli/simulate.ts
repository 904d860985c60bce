/** `tarnward simulate`: controllers on a simulated plant, many seeds on all cores, scored. */

import { readFileSync } from 'node:fs'
import { availableParallelism } from 'node:os'
import { configurationHash } from '../config/configuration-hash.ts'
import { runCampaign, seedsOfShard } from '../trial/campaign.ts'
import { CONTROLLER_NAMES, type ControllerName } from '../trial/controllers.ts'
import { type CampaignName, mergeShards, shardFile } from '../trial/shard-file.ts'
import { WorkerFailure } from '../trial/worker-pool.ts'
import { CommandFailure } from './command-failure.ts'
import { loadPlant } from './load-plant.ts'
import { campaignJson, campaignText } from './simulate-text.ts'
import { wholeNumber } from './whole-number.ts'

export interface SimulateOptions {
  readonly scenario?: string
  readonly days: string
  readonly seed: string
  readonly seeds: string
  readonly controller: string
  readonly workers?: string
  readonly shard?: string
  readonly merge?: readonly string[]
  readonly baselines?: boolean
  readonly json?: boolean
}

const BASELINES: readonly ControllerName[] = ['ec-only', 'ec-only-with-dump', 'ideal']

/** Runs the seeds, or merges shards, and prints one object or a table of it; a shard is always an object. */
export async function simulate(options: SimulateOptions): Promise<void> {
  if (options.merge) return merge(options.merge, options.json === true)
  const beganMs = performance.now()
  const campaign = await campaignOf(options)
  const shard = shardOf(options.shard)
  const all = Array.from({ length: campaign.name.seeds }, (_none, at) => campaign.name.firstSeed + at)
  const workers = wholeNumber('--workers', options.workers ?? String(availableParallelism()), 1, 256)
  const outcomes = await runCampaign({
    ...campaign.plant,
    ...{ days: campaign.name.days, controllers: campaign.name.controllers, workers },
    seeds: seedsOfShard(all, shard),
    onDone: ({ controller, seed }, done, of) => progress(`${done} of ${of} runs, last ${controller} seed ${seed}`),
  }).catch((error: unknown) => {
    throw error instanceof WorkerFailure ? new CommandFailure('failed', error.message) : error
  })
  const seconds = (performance.now() - beganMs) / 1000
  progress(`${seconds.toFixed(1)} s on ${workers} worker(s)`)
  if (process.stderr.isTTY) process.stderr.write('\n')
  if (options.shard !== undefined)
    return void process.stdout.write(`${JSON.stringify(shardFile(campaign.name, shard, outcomes))}\n`)
  process.stdout.write(
    options.json
      ? campaignJson(campaign.name.controllers, outcomes)
      : campaignText(campaign.name.controllers, outcomes),
  )
}

function progress(text: string): void {
  process.stderr.write(process.stderr.isTTY ? `\r\x1b[K${text}` : `${text}\n`)
}

async function campaignOf(options: SimulateOptions): Promise<{
  readonly name: CampaignName
  readonly plant: Awaited<ReturnType<typeof loadPlant>>
}> {
  const controller = controllerName(options.controller)
  const days = wholeNumber('--days', options.days, 1, 3650)
  const firstSeed = wholeNumber('--seed', options.seed, 0, 2 ** 31)
  const seeds = wholeNumber('--seeds', options.seeds, 1, 10_000)
  if (options.scenario === undefined)
    throw new CommandFailure('usage', '--scenario: a scenario file is needed, e.g. config/scenarios/light.yaml')
  const plant = await loadPlant(options.scenario)
  const beside = options.baselines ? BASELINES.filter((name) => name !== controller) : []
  const hash = configurationHash(plant.configuration)
  const { name: scenario } = plant.scenario
  const controllers = [controller, ...beside]
  return { plant, name: { scenario, configurationHash: hash, days, firstSeed, seeds, controllers } }
}

function controllerName(text: string): ControllerName {
  const name = CONTROLLER_NAMES.find((candidate) => candidate === text)
  if (!name) throw new CommandFailure('usage', `--controller: found "${text}"; allowed: ${CONTROLLER_NAMES.join(', ')}`)
  return name
}

function shardOf(text: string | undefined): { readonly index: number; readonly of: number } {
  if (text === undefined) return { index: 1, of: 1 }
  const [index, of] = (/^([1-9]\d{0,3})\/([1-9]\d{0,3})$/.exec(text)?.slice(1) ?? []).map(Number)
  if (index === undefined || of === undefined || index > of)
    throw new CommandFailure('usage', `--shard: found "${text}"; i/n with i from 1 to n is needed, e.g. 2/4`)
  return { index, of }
}

function merge(files: readonly string[], asJson: boolean): void {
  const merged = mergeShards(files.map((name) => ({ name, shard: readShard(name) })))
  if (merged.kind === 'no-campaign') throw new CommandFailure('data', merged.why)
  const { controllers } = merged.campaign
  process.stdout.write(asJson ? campaignJson(controllers, merged.outcomes) : campaignText(controllers, merged.outcomes))
}

function readShard(name: string): unknown {
  try {
    return JSON.parse(readFileSync(name, 'utf8'))
  } catch (error) {
    if (error instanceof SyntaxError) throw new CommandFailure('data', `${name}: no JSON; ${error.message}`)
    throw new CommandFailure('no-input', `${name}: cannot be read; simulate --shard i/n --json writes such a file`)
  }
}
