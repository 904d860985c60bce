import { beforeAll, describe, expect, it } from 'vitest'
import { loadPlant } from '../../../src/cli/load-plant.ts'
import { campaignJson, campaignText } from '../../../src/cli/simulate-text.ts'
import { workerFile } from '../../../src/ledger/worker-start.ts'
import { type CampaignSetup, type Outcomes, runCampaign, seedsOfShard } from '../../../src/trial/campaign.ts'
import { type CampaignName, mergeShards, shardFile } from '../../../src/trial/shard-file.ts'
import { runInWorkers } from '../../../src/trial/worker-pool.ts'

const SEEDS = [2001, 2002, 2003]
const CONTROLLERS = ['tarnward', 'ec-only'] as const
const NAME: CampaignName = {
  ...{ scenario: 'quarry-lane', configurationHash: 'same', days: 1, firstSeed: 2001, seeds: 3 },
  controllers: CONTROLLERS,
}

let setup: CampaignSetup
let single: Outcomes

/** A day is enough here: a bottle in its second hour, its report two hours later. */
beforeAll(async () => {
  const { configuration, scenario } = await loadPlant('config/scenarios/quarry-lane.yaml')
  const laboratory = { firstDay: 0.06, everyDays: 0.5, lateDays: 0.08 }
  setup = { configuration, scenario: { ...scenario, laboratory }, days: 1 }
  single = await runCampaign({ ...setup, controllers: CONTROLLERS, seeds: SEEDS, workers: 3 })
}, 240_000)

const shard = async (index: number, of: number): Promise<unknown> => {
  const seeds = seedsOfShard(SEEDS, { index, of })
  const outcomes = await runCampaign({ ...setup, controllers: CONTROLLERS, seeds, workers: 1 })
  return JSON.parse(JSON.stringify(shardFile(NAME, { index, of }, outcomes)))
}

describe('a campaign', () => {
  it('scores every seed', () => {
    const report = JSON.parse(campaignJson(CONTROLLERS, single)) as { seeds: number; overall: { medianError: number } }
    expect(report.seeds).toBe(3)
    expect(report.overall.medianError).toBeGreaterThan(0)
  })

  it('in two shards on one worker, merged in any order, is to the byte the campaign in one on three', async () => {
    const files = [
      { name: 'b.json', shard: await shard(2, 2) },
      { name: 'a.json', shard: await shard(1, 2) },
    ]
    const merged = mergeShards(files)
    if (merged.kind !== 'merged') throw new Error(merged.why)
    expect(campaignJson(merged.campaign.controllers, merged.outcomes)).toBe(campaignJson(CONTROLLERS, single))
  }, 240_000)

  it('prints water, salt and discharge of each controller, and what another set of seeds may give', () => {
    const text = campaignText(CONTROLLERS, single)
    expect(text).toMatch(/tarnward +\d+ +\d+ +\d+/)
    expect(text).toMatch(/ec-only +\d+ +\d+ +\d+/)
    expect(text).toMatch(/RMSE meq\/L \d/)
  })
})

describe('shards that are no campaign together', () => {
  const part = (index: number, of: number, name: CampaignName = NAME) => ({
    name: `${index}.json`,
    shard: shardFile(name, { index, of }, {}),
  })

  it('are refused with the one that is missing, there twice, or of another campaign', () => {
    const why = (files: Parameters<typeof mergeShards>[0]): string => {
      const merged = mergeShards(files)
      return merged.kind === 'no-campaign' ? merged.why : 'merged'
    }
    expect(why([part(1, 3), part(3, 3)])).toContain('shard 2 of 3 is missing')
    expect(why([part(1, 2), part(1, 2)])).toContain('shard 1/2 is there twice')
    expect(why([part(1, 2), part(2, 2, { ...NAME, days: 2 })])).toContain('another campaign')
    expect(why([part(1, 2), part(2, 3)])).toContain('one of 3 shards')
    expect(why([{ name: 'x.json', shard: { seeds: 4 } }])).toContain('x.json: no shard')
  })
})

describe('a worker', () => {
  const run = (tasks: readonly number[], workers: number) =>
    runInWorkers<number, number>({
      ...{ file: workerFile(import.meta.url, 'broken-worker'), data: null, tasks, workers },
      nameOf: (task) => `seed ${task}`,
    })

  it('answers in the order of the tasks, whoever did them', async () => {
    expect(await run([5, 4, 3, 2, 1], 3)).toEqual([25, 16, 9, 4, 1])
  })

  it('that dies is an error with the seed named, and so is one that cannot do its task', async () => {
    await expect(run([1, 7], 1)).rejects.toThrow(/seed 7: the worker died with code 3/)
    await expect(run([1, 2, 13, 3], 2)).rejects.toThrow('seed 13: thirteen is not done here')
  })
})
