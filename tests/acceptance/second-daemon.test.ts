import { join } from 'node:path'
import { setTimeout as wait } from 'node:timers/promises'
import { afterEach, describe, expect, it } from 'vitest'
import { EXIT_CODES } from '../../src/cli/command-failure.ts'
import { createMosquitto, findMosquitto, type Mosquitto } from '../edge/mosquitto.ts'
import { hungryBench } from '../support/acceptance/bench-site.ts'
import { listenOn } from '../support/acceptance/broker-ear.ts'
import { readDoses } from '../support/acceptance/ledger-doses.ts'
import { startPlant } from '../support/acceptance/plant-process.ts'
import { type Running, startScript, startTarnward } from '../support/acceptance/tarnward.ts'

const SCALE = 20
const PATIENCE_MS = 120_000
const program = findMosquitto()
const brokers: Mosquitto[] = []
afterEach(async () => {
  for (const broker of brokers.splice(0)) await broker.kill('SIGKILL')
})

async function until<Found>(what: string, daemon: Running, find: () => Found | undefined): Promise<Found> {
  for (const endMs = performance.now() + PATIENCE_MS; performance.now() < endMs; await wait(10)) {
    const found = find()
    if (found !== undefined) return found
  }
  throw new Error(`waited in vain for ${what}; the daemon said:\n${daemon.text().slice(-4000)}`)
}

describe('a second daemon, a process like the first', () => {
  it('on the same folder is refused by the lock of the ledger, told who keeps the reservoir, and the first goes on', async () => {
    const site = hungryBench({ broker: 'mqtt://127.0.0.1:1' }, Date.now())
    const args = ['run', '--config', site.siteFile, '--state-dir', join(site.folder, 'state'), '--port', '0']
    const first = await startTarnward(...args)
    await first.line(/keeping quarry-lane/, PATIENCE_MS)
    const second = await startTarnward(...args)
    expect(await second.ended).toBe(EXIT_CODES.unavailable)
    expect(second.text()).toMatch(/tarnward-quarry-lane-[0-9a-f]{6} keeps quarry-lane already; stop that one first/)
    expect(first.child.exitCode).toBeNull()
    expect(await first.kill('SIGTERM')).toBe(0)
    const { records } = await readDoses(join(site.folder, 'state/ledger.db'), site.name)
    expect(records.filter(({ kind }) => kind === 'started')).toHaveLength(1)
  }, 240_000)

  it.skipIf(program === undefined)(
    'with a ledger of its own, under the same term on the same nodes: they obey the first alone',
    async () => {
      const broker = await createMosquitto(program!)
      brokers.push(broker)
      await broker.start()
      const startMs = Date.now()
      const site = hungryBench({ broker: broker.url, leaseS: 60 }, startMs)
      const ear = await listenOn(broker.url, site.name)
      const clock = [String(SCALE), String(startMs), String(Date.now())]
      const live = (state: string) =>
        startScript('tests/support/acceptance/scaled-daemon.ts', site.siteFile, join(site.folder, state), ...clock)
      const first = live('first')
      await first.line(/lease|keeps the site/, PATIENCE_MS)
      const plant = startPlant(site, broker.url, ['--seed', '5', '--scale', String(SCALE), '--start', 'now'])
      await until('a first run', first, () => ear.reports().find(({ state }) => state === 'accepted'))

      const second = live('second')
      await second.line(/keeps the site/, PATIENCE_MS)
      const controllers = () => new Set(leases(ear.heard).map(({ controller }) => controller))
      await until('leases of both', second, () => (controllers().size === 2 ? true : undefined))
      const known = ear.reports().filter(({ state }) => state === 'done').length
      await until('more runs', first, () => (ear.reports().filter(isDone).length >= known + 2 ? true : undefined))
      for (const daemon of [second, first]) expect(await daemon.kill('SIGTERM')).toBe(0)

      expect(new Set(leases(ear.heard).map(({ term }) => term)), 'both went under the same term').toEqual(new Set([1]))
      const own = await readDoses(join(site.folder, 'first/ledger.db'), site.name)
      const other = await readDoses(join(site.folder, 'second/ledger.db'), site.name)
      const obeyed = ear.reports().filter(({ state }) => state === 'accepted')
      expect(obeyed.length).toBeGreaterThan(1)
      for (const { id } of obeyed) {
        expect(own.permitted).toContain(id)
        expect(other.permitted).not.toContain(id)
      }
      const heard = other.records.map((record) => (record.kind === 'event' ? record.text : record.kind))
      const isTold = heard.some((text) => text === 'tripped' || /another controller holds the lease/.test(text))
      expect(isTold, 'the second is refused by name, or trips on a pump that runs without a command of its own').toBe(
        true,
      )
      const ran = Object.values(await plant.pumps()).reduce((sum, { runs }) => sum + runs, 0)
      expect(ran, 'every run of a pump answers one command of the first').toBe(obeyed.length)
    },
    300_000,
  )
})

const isDone = ({ state }: { readonly state: string }) => state === 'done'

/** The leases that were said on the wire, whoever said them. */
function leases(heard: readonly { readonly topic: string; readonly text: string }[]) {
  return heard
    .filter(({ topic }) => topic.endsWith('/lease'))
    .map(({ text }) => JSON.parse(text) as { readonly controller: string; readonly term: number })
}
