/** Twenty-eight recorded days behind the real command, with a plant on the wire that goes on from there. */

import { cpSync, readFileSync, writeFileSync } from 'node:fs'
import { mkdtemp, rm } from 'node:fs/promises'
import { createServer } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { setTimeout as wait } from 'node:timers/promises'
import { startMqttPlant } from '../../simulator/mqtt-plant.ts'
import { createWorld } from '../../simulator/world.ts'
import { TOPIC_PREFIX } from '../../src/contract/topic.ts'
import { startBroker } from '../../src/shell/broker.ts'
import { plantNamed } from '../bench/lived-site.ts'
import { type Running, startTarnwardToKeep } from '../support/acceptance/tarnward.ts'
import { storedMonth } from './stored-month.ts'

const SITE = 'quarry-lane'
const SCAN_MS = 2000
const START_WITHIN_MS = 120_000
export interface PopulatedSite {
  readonly url: string
  /** a technician’s */
  readonly token: string
  /** the daemon is stopped, as by a power cut or by hand */
  stop(): Promise<void>
  /** and started again under the same address */
  start(): Promise<void>
  /** tells the daemon something without a browser */
  tell(path: string, body: object): Promise<unknown>
  close(): Promise<void>
}

/** A copy of the stored site, its daemon running, its plant connected. */
export async function openPopulatedSite(): Promise<PopulatedSite> {
  const stored = await storedMonth()
  const folder = await mkdtemp(join(tmpdir(), 'tarnward-browser-'))
  cpSync(stored, folder, { recursive: true })
  const broker = await startBroker({ base: `${TOPIC_PREFIX}/${SITE}`, port: 0 })
  const siteFile = join(folder, 'site.yaml')
  writeFileSync(siteFile, readFileSync(siteFile, 'utf8').replace(/mqtt:\/\/127\.0\.0\.1:\d+/, broker.url))
  const port = String(await freePort())
  const begin = async (): Promise<Running> => {
    const daemon = await startTarnwardToKeep('run', '--config', siteFile, '--state-dir', folder, '--port', port)
    await daemon.line(/the page is at/, START_WITHIN_MS)
    return daemon
  }
  let daemon = await begin()
  const token = /shown this once: (\S+)/.exec(daemon.text())?.[1]
  if (token === undefined) throw new Error(`no first token in:\n${daemon.text()}`)
  const plant = await plantFor(broker.url)
  const url = `http://127.0.0.1:${port}`
  await untilReading(url)
  const stop = async () => void (await daemon.kill('SIGTERM'))
  return {
    ...{ url, token, stop },
    start: async () => {
      daemon = await begin()
    },
    tell: (path, body) => tell(url + path, token, body),
    close: async () => {
      await stop()
      await plant.stop()
      await broker.close()
      await rm(folder, { recursive: true, force: true })
    },
  }
}

/** A new node in the old one’s place: its pumps’ run times begin at nothing, which trips until somebody has looked. */
async function plantFor(brokerUrl: string) {
  const { scenario } = await plantNamed(SITE)
  const nodes = scenario.nodes.map((node) => ({ ...node, scanMs: SCAN_MS }))
  const quick = { ...scenario, nodes }
  const world = createWorld(quick, 1, { startAtMs: Date.now(), heartbeatMs: 10_000 })
  return startMqttPlant({ brokerUrl, site: SITE, scenario: quick, seed: 1, world, nowMs: Date.now })
}

async function untilReading(url: string): Promise<void> {
  for (const endMs = Date.now() + START_WITHIN_MS; Date.now() < endMs; await wait(200)) {
    const answer = await fetch(`${url}/api/now`)
    const now = (await answer.json()) as { probes: { quantity: string; value?: number }[]; trips: unknown[] }
    if (now.trips.length > 0 && now.probes.some(({ quantity, value }) => quantity === 'ph' && value !== undefined))
      return
  }
  throw new Error('the plant’s readings never came')
}

let told = 0

async function tell(url: string, token: string, body: object): Promise<unknown> {
  const answer = await fetch(url, {
    method: 'POST',
    headers: {
      'content-type': 'application/json',
      authorization: `Bearer ${token}`,
      'idempotency-key': `browser-test-${Date.now()}-${told++}`,
    },
    body: JSON.stringify(body),
  })
  const json: unknown = await answer.json()
  if (!answer.ok) throw new Error(`${url}: ${JSON.stringify(json)}`)
  return json
}

async function freePort(): Promise<number> {
  const server = createServer()
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', () => resolve()))
  const address = server.address()
  await new Promise((resolve) => server.close(resolve))
  return typeof address === 'object' && address !== null ? address.port : 0
}
