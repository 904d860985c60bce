/**
 * Six hours and a site of its own for every seed and turn of deaths: what must hold when all is over. One file
 * of tests takes the deaths before a durable point and one those after it, so that two cores share them.
 */

import { existsSync, mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, expect } from 'vitest'
import { loadScenario } from '../../simulator/load-scenario.ts'
import type { Scenario } from '../../simulator/scenario.ts'
import type { Configuration } from '../../src/config/configuration.ts'
import { loadConfiguration } from '../../src/config/load-configuration.ts'
import { openSqliteLedger, type SqliteLedger } from '../../src/ledger/sqlite-ledger.ts'
import type { LedgerRecord } from '../../src/reservoir/record.ts'
import { hungryBench } from '../support/acceptance/bench-site.ts'
import { dosesOf } from '../support/acceptance/ledger-doses.ts'
import { type Aftermath, liveThroughCrashes } from './crashing-site.ts'
import type { Death } from './mortal-ledger.ts'

/** Each dies at all its durable points on either side; a longer campaign sets more. */
export const SEED_COUNT = Number(process.env['TARNWARD_CRASH_SEEDS'] ?? 50)
/** Three times six hours a seed and side, a third of a second each on a quiet core; the rest is for busy ones. */
export const WITHIN_MS = 60_000 + SEED_COUNT * 12_000
/** Six hours lived so often die at every durable point between them, and leave each life time to dose in. */
const TURNS = 3
/** A scan waits a minute or two here, and a step of the grid has some of them. */
const STEP_MIN = 15
/** A minute and a third of pump: as many doses in fewer commits, and a run that is cut in the middle more often. */
const SHOT_MAX_ML = 40
/** Little, so that the day of the next bottle, which each new life works out, lies near: half of what a birth costs. */
const SD_MAX_SHARE = 0.07
/** What a disk keeps over a power cut is tests/edge/ledger-crash; here thousands of syncs would only cost time. */
const MEMORY_DISK = '/dev/shm'
const START_MS = Date.UTC(2026, 2, 12, 6)
const RATE_UL_PER_MS: Readonly<Record<string, { readonly stock: string; readonly rate: number }>> = {
  'pump-1': { stock: 'calcium', rate: 0.5 },
  'pump-2': { stock: 'phosphate', rate: 0.5 },
  'pump-3': { stock: 'nitrate', rate: 0.5 },
  'pump-4': { stock: 'acid', rate: 20 / 60 },
}

let configuration: Configuration
let scenario: Scenario
let ledger: SqliteLedger
let folder: string

beforeAll(async () => {
  const site = hungryBench({ broker: 'mqtt://127.0.0.1:1' }, START_MS)
  const read = await loadConfiguration(site.siteFile)
  if (!read.ok) throw new Error(JSON.stringify(read.errors))
  configuration = slower(read.configuration)
  scenario = loadScenario(site.scenarioFile)
  folder = mkdtempSync(join(existsSync(MEMORY_DISK) ? MEMORY_DISK : tmpdir(), 'tarnward-crash-'))
  ledger = await openSqliteLedger({ path: join(folder, 'ledger.db'), ballastBytes: 0 })
})
afterAll(async () => {
  await ledger.close()
  rmSync(folder, { recursive: true, force: true })
})

/** Minutes pass at once here, so what is counted in seconds must span more than one of them. */
function slower({ site, limits, ...others }: Configuration): Configuration {
  const stocks = Object.entries(limits.stocks).map(([stock, limit]) => [
    stock,
    stock === 'acid' ? limit : { ...limit, shotMaxMl: SHOT_MAX_ML },
  ])
  return {
    ...others,
    site: {
      ...site,
      grid: { ...site.grid, stepMin: STEP_MIN },
      planning: { ...site.planning, sdMaxShare: SD_MAX_SHARE },
    },
    limits: {
      ...limits,
      commands: { heartbeatAgeMaxS: 150, startWindowS: 60, reportGraceS: 90 },
      stocks: Object.fromEntries(stocks) as typeof limits.stocks,
    },
  }
}

async function kept(reservoirId: string): Promise<readonly { readonly sequence: number; readonly json: string }[]> {
  return ledger.read(reservoirId, 0, 100_000)
}

function expectNoDoubleDose({ handed, accepted, pumps }: Aftermath, doses: ReturnType<typeof dosesOf>): void {
  expect(new Set(handed).size, 'no command is handed over twice').toBe(handed.length)
  expect(new Set(accepted).size, 'no command is obeyed twice').toBe(accepted.length)
  for (const id of handed) expect(doses.permitted, 'nothing is handed over that is not on record').toContain(id)
  for (const [pump, { ranMs }] of Object.entries(pumps)) {
    const { stock, rate } = RATE_UL_PER_MS[pump]!
    const { lowUl, highUl } = doses.stocks[stock] ?? { lowUl: 0, highUl: 0 }
    expect(ranMs * rate, stock).toBeGreaterThanOrEqual(lowUl - doses.permitted.length)
    expect(ranMs * rate, stock).toBeLessThanOrEqual(highUl + doses.permitted.length)
  }
}

/** Lives through the deaths of every seed and turn on one side of the durable points. */
export async function dieAtEveryPoint(when: Death['when']): Promise<void> {
  let deaths = 0
  let shots = 0
  for (let seed = 1; seed <= SEED_COUNT; seed++) {
    for (let turn = 1; turn <= TURNS; turn++) {
      const reservoirId = `${when}-${seed}-${turn}`
      const plan = { configuration, scenario, ledger, reservoirId, seed, turn, turns: TURNS, when }
      const aftermath = await liveThroughCrashes(plan)
      await expectAllWell(aftermath, reservoirId)
      deaths += aftermath.deaths
      shots += aftermath.accepted.length
    }
  }
  // some thirty deaths and a dozen shots in each of the three runs of a seed, or these hours prove little
  expect(deaths).toBeGreaterThan(SEED_COUNT * TURNS * 20)
  expect(shots).toBeGreaterThan(SEED_COUNT * TURNS * 4)
  console.log(`dead ${deaths} times just ${when} a durable point, ${shots} runs of a pump`)
}

async function expectAllWell(aftermath: Aftermath, where: string): Promise<void> {
  const entries = await kept(where)
  const doses = dosesOf(entries.map(({ json }) => JSON.parse(json) as LedgerRecord))
  expect(aftermath.faults, where).toEqual([])
  expect(aftermath.violations, where).toEqual([])
  expect(doses.open, where).toEqual([])
  expectNoDoubleDose(aftermath, doses)
  for (const { sequence, json } of aftermath.acknowledged)
    if (entries[sequence - 1]?.json !== json) expect(entries[sequence - 1]?.json, where).toBe(json)
  const results = doses.records.flatMap((record) => (record.kind === 'laboratory' ? [record.result.id] : []))
  for (const id of aftermath.resultsTaken) expect(results, where).toContain(id)
  expect(await ledger.verifyChain(where), where).toMatchObject({ kind: 'whole' })
}
