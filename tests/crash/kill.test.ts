import { mkdtempSync, rmSync } from 'node:fs'
import { join, relative } from 'node:path'
import { setTimeout as wait } from 'node:timers/promises'
import { buildSync } from 'esbuild'
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest'
import { createRandom } from '../../simulator/random.ts'
import { loadConfiguration } from '../../src/config/load-configuration.ts'
import { decodeNodeMessage } from '../../src/contract/decode.ts'
import { parseTopic, TOPIC_PREFIX } from '../../src/contract/topic.ts'
import type { PublishedHead } from '../../src/ledger/chain.ts'
import { openSqliteLedger } from '../../src/ledger/sqlite-ledger.ts'
import { createWatch } from '../../src/trial/watch.ts'
import { createMosquitto, findMosquitto, type Mosquitto } from '../edge/mosquitto.ts'
import { type BenchSite, hungryBench } from '../support/acceptance/bench-site.ts'
import { type BrokerEar, listenOn } from '../support/acceptance/broker-ear.ts'
import { type GivenDoses, readDoses } from '../support/acceptance/ledger-doses.ts'
import { type PumpTruth, startPlant } from '../support/acceptance/plant-process.ts'
import { ROOT, type Running, startScript } from '../support/acceptance/tarnward.ts'

/** Times the daemon is killed while a pump runs; a campaign sets more. */
const KILLS = Number(process.env['TARNWARD_KILLS'] ?? 5)
/** Then a new fill, or there is soon nothing left to dose. */
const KILLS_PER_FILL = 10
/** Sites side by side: each mostly waits for its own time to pass. */
const AT_ONCE = Number(process.env['TARNWARD_KILL_SITES'] ?? 4)
/** A busy machine must go slower: a lease that lapses by itself lets no pump run. */
const SCALE = Number(process.env['TARNWARD_KILL_SCALE'] ?? 20)
/** A full shot of the hungry bench takes 27 s of its own time. */
const KILL_WITHIN_MS = 18_000 / SCALE
/** Shorter than such a run, so that the node has to end it. */
const LEASE_S = 20
const PUMPS: Readonly<Record<string, { readonly stock: string; readonly rate: number }>> = {
  'pump-1': { stock: 'calcium', rate: 0.5 },
  'pump-2': { stock: 'phosphate', rate: 0.5 },
  'pump-3': { stock: 'nitrate', rate: 0.5 },
  'pump-4': { stock: 'acid', rate: 20 / 60 },
}

const program = findMosquitto()
/** Bundled, since it is started anew so often. */
let bundle: string
beforeAll(() => {
  bundle = mkdtempSync(join(ROOT, 'node_modules', '.kill-'))
  buildSync({
    entryPoints: {
      'scaled-daemon': join(ROOT, 'tests/support/acceptance/scaled-daemon.ts'),
      'store-worker': join(ROOT, 'src/ledger/store-worker.ts'),
    },
    outdir: bundle,
    ...{ bundle: true, format: 'esm', platform: 'node', target: 'node20', logLevel: 'warning' },
    external: ['better-sqlite3', 'serialport', 'mathjs'],
    banner: {
      js: "import { createRequire as requireOf } from 'node:module'; const require = requireOf(import.meta.url);",
    },
  })
})
afterAll(() => rmSync(bundle, { recursive: true, force: true }))
const brokers: Mosquitto[] = []
afterEach(async () => {
  for (const broker of brokers.splice(0)) await broker.kill('SIGKILL')
})

interface Fill {
  readonly site: BenchSite
  readonly ledgerFile: string
  readonly ear: BrokerEar
  live(): Running
}

async function layOut(): Promise<Fill & { readonly broker: Mosquitto }> {
  const broker = await createMosquitto(program!)
  brokers.push(broker)
  await broker.start()
  const [startMs, epochMs] = [Date.now(), Date.now()]
  const site = hungryBench({ broker: broker.url, leaseS: LEASE_S }, startMs)
  const state = join(site.folder, 'state')
  const ear = await listenOn(broker.url, site.name)
  const clockOfItsOwn = [String(SCALE), String(startMs), String(epochMs)]
  const live = () =>
    startScript(relative(ROOT, join(bundle, 'scaled-daemon.js')), site.siteFile, state, ...clockOfItsOwn)
  return { broker, site, ledgerFile: join(state, 'ledger.db'), ear, live }
}

async function until<Found>(what: string, daemon: Running, find: () => Found | undefined): Promise<Found> {
  for (const endMs = performance.now() + 120_000; performance.now() < endMs; await wait(5)) {
    const found = find()
    if (found !== undefined) return found
  }
  throw new Error(`waited in vain for ${what}; the daemon said:\n${daemon.text().slice(-4000)}`)
}

/** The last head of the ledger that the daemon published: what it acknowledged to the world. */
function publishedHead({ ear, site }: Fill): PublishedHead | undefined {
  const topic = `${TOPIC_PREFIX}/${site.name}/state/status`
  const told = ear.heard.findLast((heard) => heard.topic === topic)
  const head = told && (JSON.parse(told.text) as { head?: PublishedHead }).head
  return head && head.sequence > 0 ? head : undefined
}

/** Between two lives: the chain is whole and holds the head that was published. */
async function expectWholeLedger(fill: Fill): Promise<void> {
  const published = publishedHead(fill)
  const ledger = await openSqliteLedger({ path: fill.ledgerFile, ballastBytes: 0 })
  try {
    const verdict = await ledger.verifyChain(fill.site.name, published === undefined ? {} : { published })
    expect(verdict).toMatchObject({ kind: 'whole' })
  } finally {
    await ledger.close()
  }
}

function expectTruthInside(pumps: Readonly<Record<string, PumpTruth>>, doses: GivenDoses): void {
  for (const [pump, { ranMs }] of Object.entries(pumps)) {
    const { stock, rate } = PUMPS[pump]!
    const { lowUl, highUl } = doses.stocks[stock] ?? { lowUl: 0, highUl: 0 }
    expect(ranMs * rate, stock).toBeGreaterThanOrEqual(lowUl - doses.permitted.length)
    expect(ranMs * rate, stock).toBeLessThanOrEqual(highUl + doses.permitted.length)
  }
}

function expectNothingTwice(pumps: Readonly<Record<string, PumpTruth>>, ear: BrokerEar, doses: GivenDoses): void {
  const accepted = ear.reports().filter(({ state }) => state === 'accepted')
  expect(new Set(accepted.map(({ id }) => id)).size).toBe(accepted.length)
  const runs = Object.values(pumps).reduce((sum, { runs: count }) => sum + count, 0)
  expect(runs).toBeLessThanOrEqual(accepted.length)
  const handed = ear.commands().map(({ id }) => id)
  expect(new Set(handed).size).toBe(handed.length)
  for (const id of handed) expect(doses.permitted).toContain(id)
}

/** Caps and waits by what the pumps did, in the node’s own time. */
async function capsPassed({ ear, site }: Fill): Promise<readonly string[]> {
  const read = await loadConfiguration(site.siteFile)
  if (!read.ok) throw new Error(JSON.stringify(read.errors))
  const watch = createWatch(read.configuration)
  const base = `${TOPIC_PREFIX}/${site.name}`
  for (const { topic, text } of ear.heard) {
    const at = parseTopic(base, topic)
    const told = at?.kind === 'report' ? decodeNodeMessage(at, text) : undefined
    // When it ended by the node’s own clock: a busy machine hears of it later, and not each report as late as the last.
    if (at && told?.ok && told.value.kind === 'report') watch.look(told.value.message.uptimeMs, at.node, told.value)
  }
  expect(watch.shots).toBeGreaterThan(0)
  return watch.violations
}

/** Kills the daemon of one fill so many times, each while a pump runs, and counts what its pumps did. */
async function killOften(kills: number, seed: number): Promise<{ readonly runs: number; readonly stopped: number }> {
  const random = createRandom(seed, 'kills')
  const fill = await layOut()
  let daemon = fill.live()
  await daemon.line(/the daemon keeps the site/, 120_000)
  const clock = ['--seed', String(seed), '--scale', String(SCALE), '--start', 'now']
  const plant = startPlant(fill.site, fill.broker.url, clock)
  for (let killed = 0; killed < kills; ) {
    const known = new Set(fill.ear.reports().map(({ id }) => id))
    const began = ({ id, state }: { id: string; state: string }) => !known.has(id) && state === 'accepted'
    const { id } = await until('a run', daemon, () => fill.ear.reports().find(began))
    await wait(random.uniform() * KILL_WITHIN_MS)
    if (fill.ear.reports().some((report) => report.id === id && isEnd(report.state))) continue
    await daemon.kill('SIGKILL')
    killed++
    await expectWholeLedger(fill)
    daemon = fill.live()
    await daemon.line(/the daemon keeps the site/, 120_000)
  }
  await until('the last word on every command', daemon, () => {
    const ended = new Set(fill.ear.reports().flatMap(({ id, state }) => (isEnd(state) ? [id] : [])))
    return fill.ear.commands().every(({ id }) => ended.has(id)) ? true : undefined
  })
  await wait(1000)
  expect(await daemon.kill('SIGTERM')).toBe(0)
  const doses = await readDoses(fill.ledgerFile, fill.site.name)
  const pumps = await plant.pumps()
  expectTruthInside(pumps, doses)
  expectNothingTwice(pumps, fill.ear, doses)
  expect(await capsPassed(fill)).toEqual([])
  await expectWholeLedger(fill)
  await plant.process.kill('SIGKILL')
  const stopped = fill.ear.reports().filter(({ state }) => state === 'stopped').length
  return { runs: Object.values(pumps).reduce((sum, { runs }) => sum + runs, 0), stopped }
}

function isEnd(state: string): boolean {
  return state === 'done' || state === 'stopped' || state === 'refused'
}

describe.skipIf(program === undefined)('the real daemon, killed with signal 9 while pumps run', () => {
  it(
    'gives nothing twice, passes no cap, damages no ledger and loses nothing it had told',
    async () => {
      const fills = Array.from({ length: Math.ceil(KILLS / KILLS_PER_FILL) }, (_, at) =>
        Math.min(KILLS_PER_FILL, KILLS - at * KILLS_PER_FILL),
      )
      let [killed, runs, stopped, seed] = [0, 0, 0, 0]
      const killNext = async (): Promise<void> => {
        for (let kills = fills.shift(); kills !== undefined; kills = fills.shift()) {
          const count = await killOften(kills, ++seed)
          killed += kills
          runs += count.runs
          stopped += count.stopped
          console.log(`${killed} kills, ${runs} runs of a pump, ${stopped} of them cut short`)
        }
      }
      await Promise.all(Array.from({ length: AT_ONCE }, killNext))
      expect(runs).toBeGreaterThanOrEqual(KILLS)
    },
    120_000 + KILLS * 30_000,
  )
})
