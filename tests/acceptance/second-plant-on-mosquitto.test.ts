import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, describe, expect, it } from 'vitest'
import type { EstimateView } from '../../src/shell/daemon-view.ts'
import { createMosquitto, findMosquitto, type Mosquitto } from '../edge/mosquitto.ts'
import { secondBench } from '../support/acceptance/bench-site.ts'
import { listenOn } from '../support/acceptance/broker-ear.ts'
import { readDoses } from '../support/acceptance/ledger-doses.ts'
import { startScript } from '../support/acceptance/tarnward.ts'

const program = findMosquitto()
const brokers: Mosquitto[] = []
afterEach(async () => {
  for (const broker of brokers.splice(0)) await broker.kill('SIGKILL')
})

describe.skipIf(program === undefined)('the second plant on a real broker, a process of its own', () => {
  it('is read, estimated and dosed for more than an hour of its time', async () => {
    const broker = await createMosquitto(program!)
    brokers.push(broker)
    await broker.start()
    const scale = 120
    const startMs = Date.now()
    const site = secondBench({ broker: broker.url, leaseS: 60 }, startMs)
    const state = join(site.folder, 'state')
    const truthFile = join(site.folder, 'truth.jsonl')
    const ear = await listenOn(broker.url, site.name)
    const daemon = startScript(
      'tests/support/acceptance/scaled-daemon.ts',
      ...[site.siteFile, state, String(scale), String(startMs), String(Date.now())],
    )
    await daemon.line(/the daemon keeps the site/)
    const plant = startScript(
      'tests/support/second-plant/main.ts',
      ...['--broker', broker.url, '--site', site.name, '--seed', '1', '--scale', String(scale)],
      ...['--start', new Date().toISOString(), '--truth', truthFile],
    )
    const truths = () => readFileSync(truthFile, 'utf8').trim().split('\n')
    await daemon.line(/command (\w+-)?1-\d+ done/, 40_000)
    while (truths().length < 2) await new Promise((resolve) => setTimeout(resolve, 100))
    const estimates = ear.heard.filter(({ topic }) => topic.endsWith('/state/estimate'))
    const estimate = JSON.parse(estimates.at(-1)!.text) as EstimateView
    const truth = JSON.parse(truths()[1]!) as { mgPerL: Record<string, number>; pumpSeconds: Record<string, number> }
    expect(await daemon.kill('SIGTERM')).toBe(0)
    await plant.kill('SIGTERM')

    const errors = (['NO3-N', 'P', 'K', 'Ca', 'Mg', 'S'] as const).map((name) => {
      const { mgPerL, sdMgPerL, band } = estimate.elements[name]!
      const error = Math.abs(mgPerL - truth.mgPerL[name]!)
      return { name, error: error / band!.aimMgPerL, sigmas: error / sdMgPerL }
    })
    const told = errors.map(
      ({ name, error, sigmas }) => `${name} ${(100 * error).toFixed(1)} % (${sigmas.toFixed(1)} sd)`,
    )
    console.log(`second plant over the broker after an hour: ${told.join(', ')}`)
    const sorted = errors.map(({ error }) => error).sort((a, b) => a - b)
    expect(sorted[3]).toBeLessThan(0.1)
    expect(sorted.at(-1)).toBeLessThan(0.3)
    const doses = await readDoses(join(state, 'ledger.db'), site.name)
    const handed = ear.commands().map(({ id }) => id)
    expect(new Set(handed).size).toBe(handed.length)
    expect(doses.records.filter(({ kind }) => kind === 'observed').length).toBeGreaterThanOrEqual(5)
    expect(doses.records.filter(({ kind }) => kind === 'planned').length).toBeGreaterThanOrEqual(1)
  })
})
