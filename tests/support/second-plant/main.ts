/**
 * The second plant as a process on a broker, in scaled time:
 *   npx tsx tests/support/second-plant/main.ts --broker mqtt://127.0.0.1:1883 --site bench-site --seed 1 --scale 60
 *     [--start 2026-03-01T00:00:00Z] [--days 14] [--truth FILE] [--laboratory DIR] [--utc-offset MINUTES]
 * Its clock begins with the first connection. It says goodbye and ends after --days, or on SIGINT or SIGTERM.
 */
import { appendFileSync, mkdirSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { performance } from 'node:perf_hooks'
import { parseArgs } from 'node:util'
import { connect, type MqttClient } from 'mqtt'
import { commandSchema, type DaemonMessage, leaseSchema } from '../../../src/contract/message.ts'
import { formatTopic, nodeSubscriptions, parseTopic, TOPIC_PREFIX } from '../../../src/contract/topic.ts'
import { writeReport } from './laboratory.ts'
import { createSecondPlant, type Emission, NODE, type SecondPlant } from './second-plant.ts'

const HOUR_MS = 3_600_000
const DAY_MS = 24 * HOUR_MS
const WALL_TICK_MS = 20
const SAMPLE_EVERY_MS = 14 * DAY_MS
const REPORT_AFTER_MS = 5 * DAY_MS

interface Settings {
  readonly broker: string
  readonly site: string
  readonly seed: number
  readonly scale: number
  readonly startMs: number
  readonly endMs: number
  readonly utcOffsetMin: number
  readonly truthFile: string | undefined
  readonly laboratoryDir: string | undefined
}

runOnBroker(readSettings())

/** Joins the plant to the broker and keeps both going until the end. */
function runOnBroker(settings: Settings): void {
  const { broker, site, seed, scale, startMs, endMs, utcOffsetMin } = settings
  const base = `${TOPIC_PREFIX}/${site}`
  const plant = createSecondPlant({ seed, startMs, utcOffsetMin, bootSalt: Date.now().toString(36) })
  const desk = openDesk(settings, plant)
  const { contract, boot } = plant.status()
  const will = JSON.stringify({ contract, online: false, boot })
  const statusTopic = formatTopic(base, { kind: 'status', node: NODE })
  const client = connect(broker, {
    clientId: `second-plant-${boot}`,
    protocolVersion: 4,
    clean: true,
    queueQoSZero: false,
    reconnectPeriod: 500,
    will: { topic: statusTopic, payload: Buffer.from(will), qos: 1, retain: true },
  })
  let wallStartMs: number | undefined
  const nowMs = () => Math.min(Math.floor(startMs + (performance.now() - wallStartMs!) * scale), endMs)
  const speak = (atMs: number) => {
    for (const said of plant.advanceTo(atMs)) publish(client, base, said)
  }

  client.on('connect', () => {
    client.subscribe(nodeSubscriptions(base, NODE), { qos: 1 }, (error) => {
      if (error) return console.error(`subscribing on ${broker} failed: ${error.message}`)
      client.publish(statusTopic, JSON.stringify(plant.status()), { qos: 1, retain: true })
      wallStartMs ??= performance.now()
    })
  })
  client.on('error', (error) => console.error(`broker ${broker}: ${error.message}`))
  client.on('message', (topic, payload) => {
    const message = understand(base, topic, payload)
    if (message === undefined || wallStartMs === undefined) return
    const atMs = nowMs()
    desk.passTo(atMs)
    plant.receive(atMs, NODE, message)
    speak(atMs)
  })

  const leave = () => {
    clearInterval(ticking)
    client.publish(statusTopic, will, { qos: 1, retain: true }, () => client.end(false, {}, () => process.exit(0)))
    setTimeout(() => process.exit(0), 2000)
  }
  const ticking = setInterval(() => {
    if (wallStartMs === undefined) return
    const atMs = nowMs()
    desk.passTo(atMs)
    speak(atMs)
    if (atMs >= endMs) leave()
  }, WALL_TICK_MS)
  process.once('SIGINT', leave)
  process.once('SIGTERM', leave)
}

function publish(client: MqttClient, base: string, said: Emission): void {
  const topic = formatTopic(
    base,
    said.kind === 'report'
      ? { kind: 'report', node: said.node, pump: said.pump }
      : { kind: said.kind, node: said.node },
  )
  const lasting = said.kind === 'status' || said.kind === 'report'
  if (!lasting && !client.connected) return
  client.publish(topic, JSON.stringify(said.message), { qos: lasting ? 1 : 0, retain: said.kind === 'status' })
}

/** The daemon’s message, or undefined where the payload does not keep the contract; a board cannot answer what it cannot read. */
function understand(base: string, topicText: string, payload: Buffer): DaemonMessage | undefined {
  const topic = parseTopic(base, topicText)
  try {
    const parsed: unknown = JSON.parse(payload.toString('utf8'))
    if (topic?.kind === 'lease') return { kind: 'lease', message: leaseSchema.parse(parsed) }
    if (topic?.kind === 'command') return { kind: 'command', pump: topic.pump, message: commandSchema.parse(parsed) }
  } catch (error) {
    console.error(`${topicText}: not of the contract: ${String(error)}`)
  }
  return undefined
}

/** Whoever writes down the truth each hour, draws the bottles, and lays the reports into the laboratory folder. */
function openDesk(settings: Settings, plant: SecondPlant): { passTo(atMs: number): void } {
  const { startMs, truthFile, laboratoryDir } = settings
  if (truthFile !== undefined) writeFileSync(truthFile, '')
  if (laboratoryDir !== undefined) mkdirSync(laboratoryDir, { recursive: true })
  let truthMs = startMs
  let bottleMs = startMs + SAMPLE_EVERY_MS
  const onTheWay: { atMs: number; fileName: string; text: string }[] = []

  const passTo = (atMs: number) => {
    for (;;) {
      const dueMs = Math.min(truthMs, bottleMs, onTheWay[0]?.atMs ?? Number.POSITIVE_INFINITY)
      if (dueMs > atMs) return
      if (dueMs === truthMs) {
        if (truthFile !== undefined) appendFileSync(truthFile, `${JSON.stringify(describe(plant, dueMs))}\n`)
        truthMs += HOUR_MS
      } else if (dueMs === bottleMs) {
        onTheWay.push({ atMs: dueMs + REPORT_AFTER_MS, ...writeReport(plant.sample(dueMs)) })
        bottleMs += SAMPLE_EVERY_MS
      } else {
        const { fileName, text } = onTheWay.shift()!
        if (laboratoryDir !== undefined) writeFileSync(join(laboratoryDir, fileName), text)
      }
    }
  }
  return { passTo }
}

function describe(plant: SecondPlant, atMs: number): unknown {
  plant.runTo(atMs)
  const { volumeL, transpiredL, makeUpL, pumpSeconds } = plant.accounts()
  const { acidity, mSPerCm } = plant.water()
  const at = new Date(atMs).toISOString()
  const mgPerL = plant.truthMgPerL()
  return { atMs, at, volumeL, transpiredL, makeUpL, pumpSeconds, ph: acidity.ph, conductivityMsPerCm: mSPerCm, mgPerL }
}

function readSettings(): Settings {
  const text = { type: 'string' } as const
  const { values } = parseArgs({
    options: {
      broker: text,
      site: text,
      seed: text,
      scale: text,
      start: text,
      days: text,
      truth: text,
      laboratory: text,
      'utc-offset': text,
    },
  })
  const { broker, site, start } = values
  if (broker === undefined || site === undefined)
    throw new Error('--broker mqtt://HOST:PORT and --site NAME are needed')
  const startMs = start === undefined ? Date.now() : Date.parse(start)
  if (Number.isNaN(startMs)) throw new Error(`--start ${start} is not a moment; write it like 2026-03-01T00:00:00Z`)
  return {
    broker,
    site,
    startMs,
    seed: number('seed', values.seed ?? '1'),
    scale: number('scale', values.scale ?? '1'),
    endMs: startMs + DAY_MS * number('days', values.days ?? 'Infinity'),
    utcOffsetMin: number('utc-offset', values['utc-offset'] ?? '0'),
    truthFile: values.truth,
    laboratoryDir: values.laboratory,
  }
}

function number(name: string, text: string): number {
  const value = Number(text)
  if (Number.isNaN(value)) throw new Error(`--${name} ${text} is not a number`)
  return value
}
