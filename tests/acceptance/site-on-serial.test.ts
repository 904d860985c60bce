import { join } from 'node:path'
import { Duplex } from 'node:stream'
import { setTimeout as wait } from 'node:timers/promises'
import { afterEach, describe, expect, it } from 'vitest'
import { loadScenario } from '../../simulator/load-scenario.ts'
import { startSerialPlant } from '../../simulator/serial-plant.ts'
import { loadConfiguration } from '../../src/config/load-configuration.ts'
import { type Clock, createScaledClock } from '../../src/shell/clock.ts'
import { startDaemon } from '../../src/shell/daemon.ts'
import { createLog } from '../../src/shell/log.ts'
import { HANGS_AFTER_MS } from '../../src/shell/loop-options.ts'
import { createSerialLink } from '../../src/shell/serial.ts'
import { plugIn, type SerialCable } from '../edge/pty.ts'
import { type BenchSite, hungryBench } from '../support/acceptance/bench-site.ts'
import { readDoses } from '../support/acceptance/ledger-doses.ts'

const SCALE = 20
/** The site's own rates, microlitres a millisecond. */
const RATES: Readonly<Record<string, readonly [stock: string, rate: number]>> = {
  'pump-1': ['calcium', 0.5],
  'pump-2': ['phosphate', 0.5],
  'pump-3': ['nitrate', 0.5],
  'pump-4': ['acid', 20 / 60],
}

const cleanups: (() => unknown)[] = []
afterEach(async () => {
  for (const cleanup of cleanups.splice(0).reverse()) await cleanup()
})

/** The node's socket for a cable: what is plugged into it may change, the node does not notice. */
function nodeSocket(path: string) {
  let cable: SerialCable | undefined
  let read = 0
  const line = new Duplex({
    read() {},
    write(chunk: Buffer, _encoding, done) {
      cable?.write(chunk)
      done()
    },
  })
  const timer = setInterval(() => {
    const text = cable?.text() ?? ''
    if (text.length > read) line.push(text.slice(read))
    read = text.length
  }, 5)
  const unplug = () => {
    cable?.unplug()
    cable = undefined
  }
  cleanups.push(() => {
    clearInterval(timer)
    unplug()
  })
  const plug = () => {
    cable = plugIn(path)
    read = 0
  }
  return { line, plug, unplug }
}

/** A daemon on the library’s own pieces; `heard` waits for what it says from the last `mark` on. */
async function keep(site: BenchSite, path: string, clock: Clock) {
  const read = await loadConfiguration(site.siteFile)
  if (!read.ok) throw new Error(JSON.stringify(read.errors))
  let said = ''
  let marked = 0
  const write = (line: string) => {
    said += line
  }
  const daemon = await startDaemon({
    ...{ configuration: read.configuration, clock, version: 'test', leaseMs: 30_000 },
    hangsAfterMs: HANGS_AFTER_MS * SCALE,
    stateFolder: join(site.folder, 'state'),
    link: createSerialLink({ node: 'bench', path, clock }),
    log: createLog({ pretty: true, destination: { write } }),
    onFatal: (why) => write(`FATAL ${why}`),
  })
  let isStopped = false
  const stop = async () => {
    if (!isStopped) await daemon.stop()
    isStopped = true
    expect(said).not.toContain('FATAL')
  }
  cleanups.push(stop)
  return {
    stop,
    mark: () => {
      marked = said.length
    },
    async heard(pattern: RegExp) {
      for (const endMs = performance.now() + 15_000; performance.now() < endMs; await wait(10))
        if (pattern.test(said.slice(marked))) return
      throw new Error(`no ${pattern}; the daemon said:\n${said}`)
    },
  }
}

describe('a site on a serial line, a real terminal pair between daemon and node', () => {
  it('is dosed, also after its cable was pulled in the middle of a run and after a restart; every drop is accounted for', async () => {
    const startMs = Date.now()
    const site = hungryBench({ serial: { node: 'bench', path: '/dev/none' }, leaseS: 30 }, startMs)
    const path = join(site.folder, 'bench-node')
    const socket = nodeSocket(path)
    socket.plug()
    const clock = createScaledClock(SCALE, startMs)
    const plant = startSerialPlant({
      ...{ scenario: loadScenario(site.scenarioFile), seed: 3, scale: SCALE, startAtMs: startMs },
      lines: { bench: socket.line },
    })
    cleanups.push(() => plant.stop())
    const runs = () => Object.values(plant.world.truth().pumps).reduce((sum, pump) => sum + pump.runs, 0)

    const daemon = await keep(site, path, clock)
    await daemon.heard(/lease allowed/)
    await daemon.heard(/command (\w+-)?1-1 done: \d+\.\d\d mL delivered/)
    const before = runs()
    while (runs() === before) await wait(10)
    await wait(100)
    socket.unplug()
    await daemon.heard(/lease withdrawn/)
    await wait(2500)
    daemon.mark()
    socket.plug()
    await daemon.heard(/command [0-9a-f]{6}-1-\d+ (stopped|done)/)
    await daemon.heard(/lease allowed/)
    await daemon.stop()

    const again = await keep(site, path, clock)
    await again.heard(/lease allowed/)
    await again.stop()

    const doses = await readDoses(join(site.folder, 'state/ledger.db'), site.name)
    expect(doses.open).toEqual([])
    expect(runs()).toBeLessThanOrEqual(doses.permitted.length)
    for (const [pump, { ranMs }] of Object.entries(plant.world.truth().pumps)) {
      const [stock, rate] = RATES[pump]!
      const { lowUl, highUl } = doses.stocks[stock] ?? { lowUl: 0, highUl: 0 }
      expect(ranMs * rate, stock).toBeGreaterThanOrEqual(lowUl - 1)
      expect(ranMs * rate, stock).toBeLessThanOrEqual(highUl + 1)
    }
  })
})
