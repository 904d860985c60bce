/**
 * A file system of some megabytes that is really full: the daemon lives in a mount namespace of its own, where its state
 * folder is a small tmpfs, and the test fills and empties it through the process’s root.
 */

import { spawnSync } from 'node:child_process'
import { appendFileSync, closeSync, mkdirSync, openSync, rmSync, writeSync } from 'node:fs'
import { join } from 'node:path'
import { setTimeout as wait } from 'node:timers/promises'
import { afterEach, describe, expect, it } from 'vitest'
import { EXIT_CODES } from '../../src/cli/command-failure.ts'
import { createMosquitto, findMosquitto, type Mosquitto } from '../edge/mosquitto.ts'
import { hungryBench } from '../support/acceptance/bench-site.ts'
import { type BrokerEar, listenOn } from '../support/acceptance/broker-ear.ts'
import { startPlant } from '../support/acceptance/plant-process.ts'
import { type Running, startTarnwardOnDisk } from '../support/acceptance/tarnward.ts'

const program = findMosquitto()
const canMount = spawnSync('unshare', ['-rm', 'mount', '-t', 'tmpfs', 'tmpfs', '/mnt']).status === 0
/** A ballast of 4 MiB, as much beside it before it is taken again, and some days of records. */
const DISK = '24m'

const brokers: Mosquitto[] = []
afterEach(async () => {
  for (const broker of brokers.splice(0)) await broker.kill('SIGKILL')
})

/** Takes all the room there is; what the ballast gives back is taken by the next call. */
function fill(folder: string, name: string): void {
  const file = openSync(join(folder, name), 'w')
  try {
    for (const size of [65_536, 4096, 1]) for (const chunk = Buffer.alloc(size, 1); writes(file, chunk); );
  } finally {
    closeSync(file)
  }
}

function writes(file: number, chunk: Buffer): boolean {
  try {
    return writeSync(file, chunk) === chunk.length
  } catch {
    return false
  }
}

/** Waits for the daemon to print what was not printed up to `from`. */
async function since(daemon: Running, from: number, pattern: RegExp, withinMs = 60_000): Promise<void> {
  for (const endMs = performance.now() + withinMs; !pattern.test(daemon.text().slice(from)); await wait(50))
    if (performance.now() > endMs) throw new Error(`no ${pattern}; it said:\n${daemon.text().slice(from)}`)
}

function leaseEnds(ear: BrokerEar): number {
  const leases = ear.heard.filter(({ topic }) => topic.endsWith('/lease')).map(({ text }) => JSON.parse(text))
  return leases.filter(({ untilUptimeMs }) => untilUptimeMs === 0).length
}

describe.skipIf(program === undefined || !canMount)('a disk that is really full', () => {
  it('costs the nodes their leases at once, keeps nobody from hearing of another alarm, and doses nothing until there is room', async () => {
    const broker = await createMosquitto(program!)
    brokers.push(broker)
    await broker.start()
    const site = hungryBench({ broker: broker.url, leaseS: 60 }, Date.now())
    appendFileSync(site.siteFile, 'alarms: { nodeSilentMin: 0.5 }\n')
    const mount = join(site.folder, 'state')
    mkdirSync(mount)
    const ear = await listenOn(broker.url, site.name)
    const daemon = await startTarnwardOnDisk(
      { mount, size: DISK },
      ...['run', '--config', site.siteFile, '--state-dir', mount, '--port', '0'],
    )
    await daemon.line(/keeping quarry-lane/, 60_000)
    const disk = join('/proc', String(daemon.child.pid), 'root', mount)
    const plant = startPlant(site, broker.url, ['--seed', '1', '--start', 'now'])
    await daemon.line(/lease allowed/, 60_000)

    const ended = leaseEnds(ear)
    const before = daemon.text().length
    fill(disk, 'first')
    await since(daemon, before, /alarm.*disk-not-writable|The record cannot be written/, 120_000)
    fill(disk, 'second')
    const commands = ear.commands().length
    await expect.poll(() => leaseEnds(ear), { timeout: 30_000 }).toBeGreaterThan(ended)

    const full = daemon.text().length
    plant.process.child.kill('SIGSTOP')
    await since(daemon, full, /node-silent/, 240_000)
    plant.process.child.kill('SIGCONT')
    expect(ear.commands().length).toBe(commands)

    const again = daemon.text().length
    for (const name of ['first', 'second']) rmSync(join(disk, name))
    await since(daemon, again, /can again, and nothing was dosed meanwhile/)
    await since(daemon, again, /lease allowed/)
    expect(await daemon.kill('SIGTERM')).toBe(0)
  }, 600_000)
})

describe.skipIf(!canMount)('a disk that can only be read', () => {
  it('is refused at the start, with the file and what to look at', async () => {
    const site = hungryBench({ broker: 'mqtt://127.0.0.1:1' }, Date.now())
    const mount = join(site.folder, 'state')
    mkdirSync(mount)
    const args = ['run', '--config', site.siteFile, '--state-dir', mount, '--port', '0']
    const daemon = await startTarnwardOnDisk({ mount, size: `${DISK},ro` }, ...args)
    expect(await daemon.ended).toBe(EXIT_CODES['input-output'])
    expect(daemon.text()).toMatch(
      /ledger\.db.*cannot be written. Check owner, mode and mount of the file and of its folder/,
    )
    expect(daemon.text()).not.toMatch(/\n\s+at /)
  }, 120_000)
})
