/**
 * From a scan on the wire to the command on the wire: the daemon as it runs, with its ledger on this disk, over a
 * broker. The plant moves in lockstep, so that days of shots pass in a minute; nothing else is scaled.
 */

import { mkdtemp, rm } from 'node:fs/promises'
import { Socket } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { connectAsync, type MqttClient } from 'mqtt'
import { createWorld, type NodeEmission, topicOf, type World } from '../../simulator/world.ts'
import { decodeDaemonMessage } from '../../src/contract/decode.ts'
import { formatTopic, isNodeTopic, nodeSubscriptions, parseTopic, TOPIC_PREFIX } from '../../src/contract/topic.ts'
import { openSqliteLedger } from '../../src/ledger/sqlite-ledger.ts'
import { createSqliteOwnership } from '../../src/ledger/sqlite-ownership.ts'
import { createLockstepClock, type LockstepClock } from '../../src/shell/clock.ts'
import { type Daemon, startDaemon } from '../../src/shell/daemon.ts'
import { createLog } from '../../src/shell/log.ts'
import { createMqttLink } from '../../src/shell/mqtt.ts'
import type { NodeLink } from '../../src/shell/node-link.ts'
import { type BenchBroker, openBroker } from './broker.ts'
import { plantNamed } from './lived-site.ts'
import { type Figure, median, quantile } from './measure.ts'

const MINUTE_MS = 60_000
const DAYS_MOST = 28
const COMMANDS = 200
/** Only messages drive the daemon, so that it is always the scan that brings the command. */
const TICK_MS = 365 * 86_400_000
const LEASE_MS = 180_000
const BASE = `${TOPIC_PREFIX}/light`
const SCAN_BYTES = 520
const RECORD_BYTES = 1500

export async function wireFigures(): Promise<readonly Figure[]> {
  const folder = await mkdtemp(join(tmpdir(), 'tarnward-bench-'))
  const broker = await openBroker(BASE, folder)
  try {
    const roundTripMs = median(await roundTrips(broker))
    const commitMs = median(await commits(join(folder, 'commit.db')))
    const wholeMs = await scansToCommands(broker, folder)
    const bareMs = roundTripMs + commitMs
    const note = `${wholeMs.length} commands over ${broker.name}, less round trip and commit`
    return [
      { name: 'bare round trip', value: roundTripMs, unit: 'ms', note: `median, ${broker.name}` },
      { name: 'one synced commit', value: commitMs, unit: 'ms', note: 'median, one record' },
      { name: 'scan to command, p50', value: quantile(wholeMs, 0.5), unit: 'ms', note: 'whole' },
      { name: 'scan to command, p99', value: quantile(wholeMs, 0.99), unit: 'ms', note: 'whole' },
      { name: 'of it the daemon’s own, p50', value: quantile(wholeMs, 0.5) - bareMs, unit: 'ms', note },
      { name: 'of it the daemon’s own, p99', value: quantile(wholeMs, 0.99) - bareMs, unit: 'ms', goal: 5, note },
    ]
  } finally {
    await broker.close()
    await rm(folder, { recursive: true, force: true })
  }
}

/**
 * A client that sends each packet when it is written. Else the kernel may keep a small one back until the one before
 * is acknowledged, 40 ms later on Linux, and the plant’s side would be all that is measured.
 */
async function connectAtOnce(url: string, clientId: string): Promise<MqttClient> {
  const client = await connectAsync(url, { clientId })
  const { stream } = client
  if (stream instanceof Socket) stream.setNoDelay(true)
  return client
}

/** A scan there, a command back, by the library alone. */
async function roundTrips({ url }: BenchBroker): Promise<readonly number[]> {
  const node = await connectAtOnce(url, 'bench-a')
  const echo = await connectAtOnce(url, 'bench-b')
  await node.subscribeAsync('echo/back', { qos: 1 })
  await echo.subscribeAsync('echo/there', { qos: 1 })
  const payload = 'x'.repeat(SCAN_BYTES)
  echo.on('message', () => echo.publish('echo/back', payload, { qos: 1 }))
  const times: number[] = []
  for (let at = 0; at < COMMANDS + 25; at++) {
    const beganMs = performance.now()
    const back = new Promise((done) => node.once('message', done))
    node.publish('echo/there', payload, { qos: 0 })
    await back
    times.push(performance.now() - beganMs)
  }
  await Promise.all([node.endAsync(), echo.endAsync()])
  return times.slice(25)
}

async function commits(path: string): Promise<readonly number[]> {
  const ledger = await openSqliteLedger({ path })
  const claim = await createSqliteOwnership(ledger).claim('light', 'bench')
  if ('heldBy' in claim) throw new Error(`${claim.heldBy} has the bench’s ledger`)
  const json = JSON.stringify({ padding: 'x'.repeat(RECORD_BYTES) })
  const times: number[] = []
  let head = 0
  for (let at = 0; at < COMMANDS + 25; at++) {
    const beganMs = performance.now()
    head = Number(await ledger.append('light', claim.term, head, [{ kind: 'judged', atMs: at, json }]))
    times.push(performance.now() - beganMs)
  }
  await ledger.close()
  return times.slice(25)
}

interface Bench {
  readonly world: World
  readonly clock: LockstepClock
  readonly node: MqttClient
  readonly daemon: Daemon
  /** messages that the daemon’s link has handed over */
  readonly heard: { count: number }
  readonly command: { atMs: number | undefined }
}

async function scansToCommands(broker: BenchBroker, folder: string): Promise<readonly number[]> {
  const bench = await openBench(broker, folder)
  const times: number[] = []
  for (let minute = 0; minute < DAYS_MOST * 1440 && times.length < COMMANDS; minute++) {
    bench.clock.advance(MINUTE_MS)
    const emissions = bench.world.advanceTo(bench.clock.wallMs())
    const scans = emissions.filter(({ message }) => message.kind === 'scan')
    for (const scan of scans) {
      const tookMs = await timeOf(bench, scan)
      if (tookMs !== undefined) times.push(tookMs)
    }
    await say(
      bench,
      emissions.filter(({ message }) => message.kind !== 'scan'),
    )
  }
  await bench.daemon.stop()
  await bench.node.endAsync()
  return times
}

/** Time from the scan’s publication to the command’s arrival; undefined where none came of it. */
async function timeOf(bench: Bench, scan: NodeEmission): Promise<number | undefined> {
  const { daemon, command } = bench
  const openBefore = daemon.loop.state.safety.book.commands.length
  command.atMs = undefined
  const beganMs = performance.now()
  await say(bench, [scan])
  if (openBefore > 0 || daemon.loop.state.safety.book.commands.length === 0) return undefined
  await until(() => command.atMs !== undefined)
  return command.atMs! - beganMs
}

/** Publishes and waits until the daemon has folded it all. */
async function say({ node, heard, daemon }: Bench, emissions: readonly NodeEmission[]): Promise<void> {
  const expected = heard.count + emissions.length
  for (const emission of emissions) {
    const { kind } = emission.message
    const qos = kind === 'scan' || kind === 'heartbeat' ? 0 : 1
    const topic = formatTopic(BASE, topicOf(emission))
    node.publish(topic, JSON.stringify(emission.message.message), { qos, retain: kind === 'status' })
  }
  await until(() => heard.count >= expected)
  await daemon.loop.idle()
}

async function until(holds: () => boolean): Promise<void> {
  const endMs = performance.now() + 5000
  while (!holds()) {
    if (performance.now() > endMs) throw new Error('nothing came over the wire within 5 s')
    await new Promise((done) => setImmediate(done))
  }
}

async function openBench(broker: BenchBroker, folder: string): Promise<Bench> {
  const { configuration, scenario } = await plantNamed('light')
  const world = createWorld(scenario, 1, { heartbeatMs: MINUTE_MS / 2 })
  const clock = createLockstepClock(world.startMs)
  const heard = { count: 0 }
  const command: Bench['command'] = { atMs: undefined }
  const link = createMqttLink({ url: broker.url, base: BASE, clientId: 'tarnward-bench' })
  const daemon = await startDaemon({
    ...{ configuration, clock, link: countingLink(link, heard), version: 'bench', stateFolder: join(folder, 'site') },
    log: createLog({ level: 'error' }),
    leaseMs: LEASE_MS,
    tickMs: TICK_MS,
    onFatal: (why) => {
      throw new Error(why)
    },
  })
  await daemon.loop.take({
    kind: 'instruction',
    by: 'bench',
    reason: 'nobody is in the room',
    instruction: { instruction: 'mode', mode: 'automatic' },
  })
  const node = await openNode(broker, (topic, payload) => {
    const parsed = parseTopic(BASE, topic)
    if (!parsed || isNodeTopic(parsed)) return
    const decoded = decodeDaemonMessage(parsed, payload)
    if (!decoded.ok) throw new Error(decoded.error)
    if (decoded.value.kind === 'command') command.atMs = performance.now()
    world.receive(clock.wallMs(), parsed.node, decoded.value)
  })
  return { world, clock, node, daemon, heard, command }
}

async function openNode(broker: BenchBroker, onMessage: (topic: string, payload: Buffer) => void): Promise<MqttClient> {
  const node = await connectAtOnce(broker.url, 'bench-node')
  node.on('message', onMessage)
  await node.subscribeAsync(nodeSubscriptions(BASE, 'bench'), { qos: 1 })
  return node
}

function countingLink(link: NodeLink, heard: { count: number }): NodeLink {
  return {
    start: (handlers) =>
      link.start({
        ...handlers,
        onMessage: (node, message) => {
          handlers.onMessage(node, message)
          heard.count++
        },
      }),
    sendCommand: (node, pump, message) => link.sendCommand(node, pump, message),
    sendLease: (node, message) => link.sendLease(node, message),
    close: () => link.close(),
  }
}
