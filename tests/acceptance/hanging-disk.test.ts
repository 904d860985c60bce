/**
 * A disk that gives no answer: every sync of the real daemon is held up by the tracer, as a failing card holds it up.
 * The daemon must hear, speak and let go of pumps all the same.
 */

import { type ChildProcess, spawn, spawnSync } from 'node:child_process'
import { once } from 'node:events'
import { join } from 'node:path'
import { afterEach, describe, expect, it } from 'vitest'
import { createMosquitto, findMosquitto, type Mosquitto } from '../edge/mosquitto.ts'
import { hungryBench } from '../support/acceptance/bench-site.ts'
import { listenOn } from '../support/acceptance/broker-ear.ts'
import { startPlant } from '../support/acceptance/plant-process.ts'
import { startTarnward } from '../support/acceptance/tarnward.ts'

const program = findMosquitto()
/** Whether one process may hold up another’s calls here. */
const canTrace = spawnSync('strace', ['-qq', '-e', 'trace=none', 'true']).status === 0
/** Longer than the test lasts: the disk answers when the tracer lets go. */
const HANG_S = 120
const SOON_MS = 5000

const brokers: Mosquitto[] = []
const tracers: ChildProcess[] = []
afterEach(async () => {
  for (const tracer of tracers.splice(0)) tracer.kill('SIGKILL')
  for (const broker of brokers.splice(0)) await broker.kill('SIGKILL')
})

/** From now on no sync of a process comes back. @returns lets them all come back */
async function hangDisk(pid: number): Promise<() => Promise<void>> {
  const calls = 'fsync,fdatasync'
  const options = [
    '-f',
    '--seccomp-bpf',
    '-p',
    String(pid),
    '-e',
    `trace=${calls}`,
    '-e',
    `inject=${calls}:delay_enter=${HANG_S}s`,
  ]
  const tracer = spawn('strace', options, { stdio: ['ignore', 'ignore', 'pipe'] })
  tracers.push(tracer)
  await once(tracer.stderr, 'data')
  return async () => {
    tracer.kill('SIGINT')
    await once(tracer, 'close')
  }
}

describe.skipIf(program === undefined || !canTrace)('a disk that really hangs', () => {
  it('costs the nodes their leases, silences no alarm, keeps no hold waiting, and forgets neither', async () => {
    const broker = await createMosquitto(program!)
    brokers.push(broker)
    await broker.start()
    const site = hungryBench({ broker: broker.url, leaseS: 60 }, Date.now())
    const ear = await listenOn(broker.url, site.name)
    const args = ['run', '--config', site.siteFile, '--state-dir', join(site.folder, 'state'), '--port', '0']
    const started = async () => {
      const daemon = await startTarnward(...args)
      return { daemon, url: /http:\/\/\S+?:\d+/.exec(await daemon.line(/http:\/\/127/, 60_000))![0] }
    }
    const first = await started()
    const { daemon, url } = first
    startPlant(site, broker.url, ['--seed', '1', '--start', 'now'])
    await daemon.line(/lease allowed/, 60_000)
    const leases = () =>
      ear.heard
        .filter(({ topic }) => topic.endsWith('/lease'))
        .map(({ text }) => JSON.parse(text) as { readonly untilUptimeMs: number })
    const isAllowed = ({ untilUptimeMs }: { readonly untilUptimeMs: number }) => untilUptimeMs > 0
    await expect.poll(() => leases().some(isAllowed), { timeout: 60_000 }).toBe(true)
    const status = async (of: { readonly url: string }) => (await fetch(`${of.url}/api/status`)).json()
    const hold = (reason: string) =>
      fetch(`${url}/api/hold`, {
        method: 'POST',
        headers: { 'content-type': 'application/json', origin: url },
        body: JSON.stringify({ by: 'Ines', reason }),
      })

    const answers = await hangDisk(daemon.child.pid!)
    // What must reach the disk to be answered: it keeps the loop waiting from here on.
    const inHand = hold('a puddle')
    await expect.poll(() => isAllowed(leases().at(-1)!), { timeout: SOON_MS }).toBe(false)
    await daemon.line(/alarm.*disk-not-writable/, 60_000)
    const told = await (await inHand).json()
    expect(JSON.stringify(told)).toContain('done, but the ledger cannot be written')

    const askedMs = performance.now()
    expect(await status(first)).toMatchObject({ held: true })
    const second = await (await hold('the puddle grows')).json()
    expect(JSON.stringify(second)).toContain('done, but the ledger cannot be written')
    expect(performance.now() - askedMs).toBeLessThan(SOON_MS)
    const commands = ear.commands().length

    await answers()
    await daemon.line(/disk gave no answer for \d+ s. It does again, and nothing was dosed meanwhile/, 30_000)
    expect(await status(first)).toMatchObject({ held: true })
    expect(ear.commands().length).toBe(commands)
    expect(await daemon.kill('SIGTERM')).toBe(0)
    expect(await status(await started())).toMatchObject({ held: true })
  }, 300_000)
})
