import { existsSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { setTimeout as wait } from 'node:timers/promises'
import { afterEach, describe, expect, it } from 'vitest'
import { createMosquitto, findMosquitto, type Mosquitto } from '../edge/mosquitto.ts'
import { hungryBench } from '../support/acceptance/bench-site.ts'
import { readDoses } from '../support/acceptance/ledger-doses.ts'
import { startPlant } from '../support/acceptance/plant-process.ts'
import { type Running, startTarnwardWith } from '../support/acceptance/tarnward.ts'

/** Where Debian puts it, by machine. */
const FAKETIME = ['x86_64', 'aarch64', 'arm']
  .map((machine) => `/usr/lib/${machine}-linux-gnu${machine === 'arm' ? 'eabihf' : ''}/faketime/libfaketime.so.1`)
  .find((file) => existsSync(file))
if (FAKETIME === undefined && process.env['CI'])
  throw new Error('libfaketime is not installed; on CI these tests may not be skipped')
const program = findMosquitto()
const HOUR_S = 3600
/** From four minutes before midnight to well after it. */
const STEP_S = 600

const brokers: Mosquitto[] = []
afterEach(async () => {
  for (const broker of brokers.splice(0)) await broker.kill('SIGKILL')
})

/** The daemon’s wall clock is what the file says; its monotonic clock stays the machine’s own. */
async function daemonWithItsOwnWall(startMs = Date.now()) {
  const broker = await createMosquitto(program!)
  brokers.push(broker)
  await broker.start()
  const site = hungryBench({ broker: broker.url, leaseS: 60 }, startMs)
  const state = join(site.folder, 'state')
  const file = join(site.folder, 'faketime')
  const step = (seconds: number) => writeFileSync(file, `${seconds >= 0 ? '+' : ''}${seconds}s\n`)
  const env = {
    LD_PRELOAD: FAKETIME!,
    FAKETIME_TIMESTAMP_FILE: file,
    FAKETIME_DONT_FAKE_MONOTONIC: '1',
    FAKETIME_NO_CACHE: '1',
  }
  const run = () => startTarnwardWith(env, 'run', '--config', site.siteFile, '--state-dir', state, '--port', '0')
  return { broker, site, state, step, run, ledger: () => readDoses(join(state, 'ledger.db'), site.name) }
}

async function leaseAgain(daemon: Running): Promise<void> {
  for (const endMs = performance.now() + 60_000; daemon.text().split('lease allowed').length < 3; await wait(100))
    if (performance.now() > endMs) throw new Error(`no lease again:\n${daemon.text()}`)
}

const isAfter =
  (midnightMs: number) =>
  ({ atMs }: { readonly atMs: number }) =>
    atMs >= midnightMs

describe.skipIf(FAKETIME === undefined || program === undefined)('a wall clock that somebody sets', () => {
  it('back by an hour and forward again: told, dosing refused until it is sane, no time of the ledger runs back', async () => {
    const { broker, site, step, run, ledger } = await daemonWithItsOwnWall()
    step(0)
    const daemon = await run()
    await daemon.line(/keeping quarry-lane/, 60_000)
    startPlant(site, broker.url, ['--seed', '1', '--start', 'now'])
    await daemon.line(/lease allowed/, 60_000)
    step(-HOUR_S)
    await daemon.line(/clock was set back by 36\d\d s/, 40_000)
    await daemon.line(/lease withdrawn: .*clock/i, 40_000)
    step(0)
    await daemon.line(/clock was set forward by 36\d\d s/, 40_000)
    await leaseAgain(daemon)
    expect(await daemon.kill('SIGTERM')).toBe(0)
    const { records } = await ledger()
    for (const [at, record] of records.entries())
      if (at > 0) expect(record.atMs).toBeGreaterThanOrEqual(records[at - 1]!.atMs)
  }, 240_000)

  it('over midnight and back into the day before: told, dosing refused until it is sane, nothing written into that day', async () => {
    // In winter the site’s own zone is UTC, so that the day of its photoperiod and of any count by days turns as well.
    const eveMs = Date.UTC(2026, 0, 15, 23, 56)
    const midnightMs = Date.UTC(2026, 0, 16)
    const { broker, site, step, run, ledger } = await daemonWithItsOwnWall(eveMs)
    const eve = Math.round((eveMs - Date.now()) / 1000)
    step(eve)
    const daemon = await run()
    await daemon.line(/keeping quarry-lane/, 60_000)
    startPlant(site, broker.url, ['--seed', '3', '--start', 'now'])
    await daemon.line(/lease allowed/, 60_000)
    step(eve + STEP_S)
    await daemon.line(/clock was set forward by (59|60)\d s/, 60_000)
    await wait(8000) // a scan or two of the new day
    step(eve)
    await daemon.line(/clock was set back by (59|60)\d s/, 60_000)
    await daemon.line(/lease withdrawn: .*clock/i, 60_000)
    const before = (await ledger()).permitted
    await wait(12_000)
    expect((await ledger()).permitted, 'nothing is dosed while the clock is behind').toEqual(before)
    step(eve + STEP_S)
    await leaseAgain(daemon)
    expect(await daemon.kill('SIGTERM')).toBe(0)
    const { records } = await ledger()
    expect(records.some((record) => !isAfter(midnightMs)(record))).toBe(true)
    for (const [at, record] of records.entries())
      if (at > 0) expect(record.atMs).toBeGreaterThanOrEqual(records[at - 1]!.atMs)
    const behind = records.slice(records.findIndex(isAfter(midnightMs))).filter(({ atMs }) => atMs < midnightMs)
    expect(behind, 'nothing of the day before is written after the new day began').toEqual([])
  }, 400_000)

  it('behind the ledger at a start: nothing is dosed, and it says why and what to do', async () => {
    const { step, run, ledger } = await daemonWithItsOwnWall()
    step(0)
    const first = await run()
    await first.line(/keeping quarry-lane/, 60_000)
    expect(await first.kill('SIGTERM')).toBe(0)
    step(-26 * HOUR_S)
    const second = await run()
    await second.line(/keeping quarry-lane/, 60_000)
    await wait(1000)
    expect(await second.kill('SIGTERM')).toBe(0)
    const { records, permitted } = await ledger()
    expect(permitted).toEqual([])
    const started = records.filter(({ kind }) => kind === 'started')
    expect(started).toHaveLength(2)
    expect(started[1]!.atMs).toBeGreaterThanOrEqual(started[0]!.atMs)
  }, 120_000)
})
