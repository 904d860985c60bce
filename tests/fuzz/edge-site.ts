/**
 * The example’s bench in lockstep, whose daemon listens at its real edges besides: a broker on a socket, a terminal line, an
 * HTTP port. Time stands still while something is sent there, so that two sites told the same live the same.
 */

import { request } from 'node:http'
import { join } from 'node:path'
import { setTimeout as wait } from 'node:timers/promises'
import mqtt, { type MqttClient } from 'mqtt'
import { createWorld, type World } from '../../simulator/world.ts'
import type { Configuration } from '../../src/config/configuration.ts'
import { formatTopic, type NodeTopic, TOPIC_PREFIX } from '../../src/contract/topic.ts'
import { openAccessStore } from '../../src/ledger/access-store.ts'
import { createAccess } from '../../src/shell/api/access/access.ts'
import { startBroker } from '../../src/shell/broker.ts'
import { createLockstepClock, type LockstepClock } from '../../src/shell/clock.ts'
import { type Daemon, startDaemon } from '../../src/shell/daemon.ts'
import { encodeFrame } from '../../src/shell/frame.ts'
import { startHttp } from '../../src/shell/http.ts'
import { createLog } from '../../src/shell/log.ts'
import { createMqttLink } from '../../src/shell/mqtt.ts'
import type { NodeLink, NodeLinkHandlers } from '../../src/shell/node-link.ts'
import { createSerialLink } from '../../src/shell/serial.ts'
import { plantNamed } from '../bench/lived-site.ts'
import { plugIn, type SerialCable } from '../edge/pty.ts'
import { scratchFolder } from '../unit/ledger/scratch.ts'

const MINUTE_MS = 60_000
const PATIENCE_MS = 60_000
const KEY = 'key-of-this-process'
export const BENCH = 'bench'
const SENTINEL = 'end-of-lot'

export interface EdgeSite {
  readonly daemon: Daemon
  readonly clock: LockstepClock
  readonly configuration: Configuration
  /** what ended the daemon; nothing may */
  readonly fatal: string[]
  live(minutes: number): Promise<void>
  /** by broker, as of whoever writes to a node’s topic */
  publish(topic: NodeTopic, payload: string): Promise<void>
  /** by the line of one node */
  write(bytes: string | Uint8Array): void
  post(path: string, body: string, isSignedIn: boolean): Promise<number>
  /** until all that was sent by broker and line was heard */
  heard(): Promise<void>
  close(): Promise<void>
}

/** @param lineNode whose line the terminal is */
export async function openEdgeSite(lineNode: string): Promise<EdgeSite> {
  const { configuration: example, scenario } = await plantNamed('quarry-lane')
  const configuration = { ...example, limits: { ...example.limits, mode: 'automatic' as const } }
  const world = createWorld(scenario, 2001, { heartbeatMs: MINUTE_MS, scanMs: MINUTE_MS })
  const clock = createLockstepClock(world.startMs)
  const fatal: string[] = []
  const edges = await openEdges(lineNode)
  const link = manyLinks(world, clock, edges.links)
  const stateFolder = scratchFolder()
  const daemon = await startDaemon({
    ...{
      configuration,
      stateFolder,
      clock,
      link,
      version: 'test',
      leaseMs: 180_000,
      tickMs: MINUTE_MS,
      writesHere: true,
    },
    log: createLog({ pretty: false, destination: { write: () => {} } }),
    onFatal: (why) => void fatal.push(why),
  })
  const store = await openAccessStore(join(stateFolder, 'access.db'))
  const access = createAccess({ store, nowMs: () => clock.wallMs(), localKey: KEY })
  const http = await startHttp({ view: daemon.view, site: daemon.site, access, port: 0, clock })
  const live = async (minutes: number): Promise<void> => {
    for (let minute = 0; minute < minutes; minute++) {
      clock.advance(MINUTE_MS)
      link.deliver()
      await daemon.loop.idle()
    }
  }
  return {
    ...{ daemon, clock, configuration, fatal, live },
    publish: (topic, payload) => edges.publish(formatTopic(edges.base, topic), payload),
    write: (bytes) => edges.cable.write(bytes),
    post: (path, body, isSignedIn) => post(http.url, path, body, isSignedIn),
    heard: async () => {
      await edges.heard(link)
      await daemon.loop.idle()
    },
    close: async () => {
      await http.close()
      await daemon.stop()
      store.close()
      await edges.close()
    },
  }
}

interface Edges {
  readonly base: string
  readonly links: readonly NodeLink[]
  readonly cable: SerialCable
  publish(topic: string, payload: string): Promise<void>
  heard(ears: Ears): Promise<void>
  close(): Promise<void>
}

async function openEdges(lineNode: string): Promise<Edges> {
  const base = `${TOPIC_PREFIX}/quarry-lane`
  const broker = await startBroker({ base, port: 0 })
  const path = join(scratchFolder(), 'line')
  const cable = plugIn(path)
  const links = [
    createMqttLink({ url: broker.url, base, clientId: 'daemon' }),
    createSerialLink({ node: lineNode, path }),
  ]
  const client: MqttClient = await mqtt.connectAsync(broker.url)
  let lots = 0
  return {
    ...{ base, links, cable },
    publish: async (topic, payload) => void (await client.publishAsync(topic, payload, { qos: 1 })),
    heard: async (ears) => {
      lots++
      await client.publishAsync(`${base}/bench/scan`, SENTINEL, { qos: 1 })
      cable.write(`\n${encodeFrame(SENTINEL, {})}`)
      await ears.ends(2 * lots)
    },
    close: async () => {
      await client.endAsync(true)
      cable.unplug()
      await broker.close()
    },
  }
}

interface Ears {
  /** resolves once both edges have told so many ends of lots */
  ends(count: number): Promise<void>
}

/** The bench’s own node in lockstep, and whatever the real edges hear. Commands and leases go to the bench alone. */
function manyLinks(
  world: World,
  clock: LockstepClock,
  links: readonly NodeLink[],
): NodeLink & Ears & { deliver(): void } {
  let handlers: NodeLinkHandlers | undefined
  let ends = 0
  return {
    start(given) {
      handlers = given
      const onRefused = (topic: string, why: string): void => {
        if (`${topic} ${why}`.includes(SENTINEL)) ends++
        else given.onRefused(topic, why)
      }
      for (const link of links) link.start({ onMessage: given.onMessage, onRefused, onLink: () => {} })
      given.onLink(true)
    },
    async sendCommand(node, pump, message) {
      world.receive(clock.wallMs(), node, { kind: 'command', pump, message })
      return 'sent'
    },
    sendLease: (node, message) => {
      if (node === BENCH) world.receive(clock.wallMs(), node, { kind: 'lease', message })
    },
    deliver() {
      for (const { node, message } of world.advanceTo(clock.wallMs())) handlers?.onMessage(node, message)
    },
    async ends(count) {
      for (const endMs = performance.now() + PATIENCE_MS; ends < count; await wait(1))
        if (performance.now() > endMs) throw new Error(`${ends} of ${count} ends of lots were heard`)
    },
    async close() {
      for (const link of links) await link.close()
    },
  }
}

let asked = 0

/** One request from an address of its own, or the guard against floods would answer for the routes. @returns the status */
function post(url: string, path: string, body: string, isSignedIn: boolean): Promise<number> {
  const from = asked++
  const headers = {
    'content-type': 'application/json',
    'idempotency-key': `spoilt-${from}`,
    ...(isSignedIn ? { authorization: `Bearer ${KEY}` } : {}),
  }
  return new Promise((resolve, reject) => {
    const localAddress = `127.3.${(from >> 8) & 255}.${from & 255}`
    const asking = request(new URL(path, url), { method: 'POST', headers, localAddress }, (answer) => {
      answer.resume()
      answer.on('end', () => resolve(answer.statusCode ?? 0))
    })
    asking.on('error', reject)
    asking.end(body)
  })
}
