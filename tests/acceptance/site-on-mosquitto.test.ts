import { join } from 'node:path'
import { setTimeout as wait } from 'node:timers/promises'
import { afterEach, describe, expect, it } from 'vitest'
import { createMosquitto, findMosquitto, type Mosquitto } from '../edge/mosquitto.ts'
import { hungryBench } from '../support/acceptance/bench-site.ts'
import { type BrokerEar, listenOn } from '../support/acceptance/broker-ear.ts'
import { type GivenDoses, readDoses } from '../support/acceptance/ledger-doses.ts'
import { type PumpTruth, startPlant } from '../support/acceptance/plant-process.ts'
import { type Running, startScript, startTarnward } from '../support/acceptance/tarnward.ts'

const SCALE = 20
/** The site's own rates, which the ledger reckons with, in microlitres a millisecond. */
const PUMPS: Readonly<Record<string, { readonly stock: string; readonly rate: number }>> = {
  'pump-1': { stock: 'calcium', rate: 0.5 },
  'pump-2': { stock: 'phosphate', rate: 0.5 },
  'pump-3': { stock: 'nitrate', rate: 0.5 },
  'pump-4': { stock: 'acid', rate: 20 / 60 },
}
const PROBES = ['ec-1', 'ph-1', 'level-1', 'flow-1']

const program = findMosquitto()
const brokers: Mosquitto[] = []
afterEach(async () => {
  for (const broker of brokers.splice(0)) await broker.kill('SIGKILL')
})

async function startBroker(): Promise<Mosquitto> {
  const broker = await createMosquitto(program!)
  brokers.push(broker)
  await broker.start()
  return broker
}

async function until<Found>(
  what: string,
  daemon: Running,
  find: () => Found | undefined | false,
  withinMs = 20_000,
): Promise<Found> {
  for (const endMs = performance.now() + withinMs; performance.now() < endMs; await wait(5)) {
    const found = find()
    if (found !== undefined && found !== false) return found
  }
  throw new Error(`waited ${withinMs} ms for ${what}; the daemon said:\n${daemon.text()}`)
}

/** Rounding to whole microlitres is the only slack. */
function expectTruthInside(pumps: Readonly<Record<string, PumpTruth>>, doses: GivenDoses): void {
  for (const [pump, { ranMs }] of Object.entries(pumps)) {
    const { stock, rate } = PUMPS[pump]!
    const { lowUl, highUl } = doses.stocks[stock] ?? { lowUl: 0, highUl: 0 }
    expect(ranMs * rate, `${stock}: the plant's own pump seconds`).toBeGreaterThanOrEqual(lowUl - 1)
    expect(ranMs * rate, `${stock}: the plant's own pump seconds`).toBeLessThanOrEqual(highUl + 1)
  }
}

/** Each run of a pump answers one command, and no command was obeyed or handed over twice. */
function expectNothingTwice(pumps: Readonly<Record<string, PumpTruth>>, ear: BrokerEar, doses: GivenDoses): void {
  const runs = Object.values(pumps).reduce((sum, { runs: count }) => sum + count, 0)
  const accepted = ear.reports().filter(({ state }) => state === 'accepted')
  expect(new Set(accepted.map(({ id }) => id)).size).toBe(accepted.length)
  expect(runs).toBeGreaterThan(0)
  expect(runs).toBeLessThanOrEqual(doses.permitted.length)
  const handed = ear.commands().map(({ id }) => id)
  expect(new Set(handed).size).toBe(handed.length)
  for (const id of handed) expect(doses.permitted).toContain(id)
}

/** Whatever was permitted was judged on readings that this life of the daemon has heard itself. */
function expectFreshProbes(doses: GivenDoses): void {
  let startedMs = Number.POSITIVE_INFINITY
  for (const record of doses.records) {
    if (record.kind === 'started') startedMs = record.atMs
    if (record.kind !== 'judged' || record.verdict !== 'permit') continue
    for (const probe of PROBES)
      expect(record.atMs - Number(record.figures[`${probe}.ageMs`]), probe).toBeGreaterThanOrEqual(startedMs)
  }
}

describe.skipIf(program === undefined)('a site on a real broker, daemon and plant each a process', () => {
  // The command runs on the wall's clock only, and its first plan comes a minute after its start.
  it('the command itself: broker killed and back, daemon killed while a pump runs, nothing given twice', async () => {
    const broker = await startBroker()
    const site = hungryBench({ broker: broker.url, leaseS: 15 }, Date.now())
    const state = join(site.folder, 'state')
    const run = () => startTarnward('run', '--config', site.siteFile, '--state-dir', state, '--port', '0')
    const ear = await listenOn(broker.url, site.name)
    const daemon = await run()
    await daemon.line(/keeping quarry-lane/)
    const plant = startPlant(site, broker.url, ['--seed', '1', '--start', 'now'])
    await daemon.line(/lease allowed/)

    await broker.kill('SIGKILL')
    await daemon.line(/lease withdrawn: the link to the nodes is down/)
    await wait(1500)
    await broker.start()
    await until('the lease again', daemon, () => daemon.text().split('lease allowed').length === 3)

    const began = await until('a run', daemon, () => ear.reports().find(({ state: at }) => at === 'accepted'), 80_000)
    await wait(1500)
    expect((await plant.pumps())[began.pump]).toMatchObject({ runs: 1 })
    await daemon.kill('SIGKILL')
    const isEnd = ({ id, state: at }: { id: string; state: string }) => id === began.id && at === 'stopped'
    const stopped = await until('the node to stop it', daemon, () => ear.reports().find(isEnd))
    expect(stopped.reason).toBe('the lease ended')

    const again = await run()
    await again.line(new RegExp(`command ${began.id} stopped`))
    expect(await again.kill('SIGTERM')).toBe(0)
    const doses = await readDoses(join(state, 'ledger.db'), site.name)
    const pumps = await plant.pumps()
    expect(doses.open).toEqual([])
    expect(pumps[began.pump]!.ranMs).toBe(stopped.ranMs)
    expectTruthInside(pumps, doses)
    expectNothingTwice(pumps, ear, doses)
    expectFreshProbes(doses)
  }, 300_000)

  it('twenty times as fast: daemon killed in three runs, broker in a fourth, and every drop is accounted for', async () => {
    const broker = await startBroker()
    const startMs = Date.now()
    const site = hungryBench({ broker: broker.url, leaseS: 30 }, startMs)
    const state = join(site.folder, 'state')
    const ear = await listenOn(broker.url, site.name)
    const clockOfItsOwn = [String(SCALE), String(startMs), String(Date.now())]
    const live = () => startScript('tests/support/acceptance/scaled-daemon.ts', site.siteFile, state, ...clockOfItsOwn)
    let daemon = live()
    await daemon.line(/the daemon keeps the site/)
    const plant = startPlant(site, broker.url, ['--seed', '2', '--scale', String(SCALE), '--start', 'now'])
    const nextRun = async () => {
      const known = new Set(ear.reports().map(({ id }) => id))
      return until('a run', daemon, () => ear.reports().find(({ id }) => !known.has(id)))
    }
    let starts = 1
    for (let cut = 0; cut < 3; starts++) {
      const { id } = await nextRun()
      await wait(200)
      const before = daemon
      await before.kill('SIGKILL')
      daemon = live()
      const settled = new RegExp(`command ${id} (stopped|done)`)
      // on a slow machine the run may have ended, and been told of, before the kill came
      if (settled.test(before.text())) continue
      await daemon.line(settled)
      cut++
    }

    const last = await nextRun()
    await broker.kill('SIGKILL')
    const downMs = Date.now()
    await daemon.line(/lease withdrawn: the link to the nodes is down/)
    await wait(2000)
    const backMs = Date.now()
    await broker.start()
    await daemon.line(new RegExp(`command ${last.id} (stopped|done)`))
    await until('the lease again', daemon, () => daemon.text().split('lease allowed').length >= 3)
    await wait(500)
    expect(await daemon.kill('SIGTERM')).toBe(0)

    const doses = await readDoses(join(state, 'ledger.db'), site.name)
    const pumps = await plant.pumps()
    const siteMs = (wallMs: number) => startMs + (wallMs - Number(clockOfItsOwn[2])) * SCALE
    const judgedAtMs = (id: string) =>
      doses.records.find((record) => record.kind === 'judged' && record.commandId === id)!.atMs
    // one that was permitted in the last moments may have been on its way when the daemon was told to end
    expect(doses.open.filter((id) => judgedAtMs(id) <= siteMs(backMs))).toEqual([])
    expect(doses.records.filter(({ kind }) => kind === 'started')).toHaveLength(starts)
    expectTruthInside(pumps, doses)
    expectNothingTwice(pumps, ear, doses)
    expectFreshProbes(doses)
    for (const { id } of ear.commands().filter(({ wallMs }) => wallMs > downMs)) {
      expect(judgedAtMs(id), `command ${id} was made while the broker was there`).toBeGreaterThan(siteMs(backMs))
    }
  }, 180_000)
})
