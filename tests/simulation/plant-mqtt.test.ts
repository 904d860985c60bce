import { spawn } from 'node:child_process'
import { mkdtempSync, readFileSync } from 'node:fs'
import { createServer, type Server } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { Aedes } from 'aedes'
import mqtt, { type MqttClient } from 'mqtt'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { type MqttPlant, type MqttPlantOptions, startMqttPlant } from '../../simulator/mqtt-plant.ts'
import { decodeNodeMessage } from '../../src/contract/decode.ts'
import type { NodeMessage } from '../../src/contract/message.ts'
import { isNodeTopic, parseTopic } from '../../src/contract/topic.ts'
import { scenarioOf } from './plant-driver.ts'

const BASE = 'tarnward/v1/light'
const SCALE = 60

let broker: Aedes
let server: Server
let brokerUrl: string
let daemon: MqttClient
let heard: { topic: string; retained: boolean; message: NodeMessage }[]
const plants: MqttPlant[] = []

beforeEach(async () => {
  heard = []
  broker = await Aedes.createBroker()
  server = createServer(broker.handle)
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
  const address = server.address()
  brokerUrl = `mqtt://127.0.0.1:${typeof address === 'object' ? address?.port : 0}`
  daemon = await mqtt.connectAsync(brokerUrl, { protocolVersion: 4 })
  daemon.on('message', (topic, payload, { retain }) => {
    const parsed = parseTopic(BASE, topic)
    if (!parsed || !isNodeTopic(parsed)) return
    const decoded = decodeNodeMessage(parsed, payload)
    if (!decoded.ok) throw new Error(`the plant broke the contract on ${topic}: ${decoded.error}`)
    heard.push({ topic, retained: retain, message: decoded.value })
  })
  await daemon.subscribeAsync(`${BASE}/#`, { qos: 1 })
})

afterEach(async () => {
  await Promise.all(plants.splice(0).map((plant) => plant.stop()))
  await daemon.endAsync(true)
  await new Promise<void>((resolve) => broker.close(() => resolve()))
  await new Promise<void>((resolve) => server.close(() => resolve()))
})

const start = (over: Partial<MqttPlantOptions> = {}) => {
  const plant = startMqttPlant({
    brokerUrl,
    site: 'light',
    scenario: scenarioOf('light'),
    seed: 5,
    scale: SCALE,
    ...over,
  })
  plants.push(plant)
  return plant
}
const until = async <T>(what: string, find: () => T | undefined): Promise<T> => {
  for (const endMs = performance.now() + 15_000; performance.now() < endMs; ) {
    const found = find()
    if (found !== undefined && found !== false) return found
    await new Promise((resolve) => setTimeout(resolve, 20))
  }
  throw new Error(`${what} did not come; heard ${JSON.stringify(heard.slice(-3))}`)
}
const heartbeat = (boot?: string) => {
  const beats = heard.flatMap(({ message }) => (message.kind === 'heartbeat' ? [message.message] : []))
  return beats.filter((beat) => boot === undefined || beat.boot === boot).at(-1)
}
const report = (state: string) =>
  heard
    .flatMap(({ message }) => (message.kind === 'report' && message.message.state === state ? [message.message] : []))
    .at(-1)
const statuses = () => heard.flatMap(({ message }) => (message.kind === 'status' ? [message.message] : []))

const grant = async () => {
  const beat = await until('a heartbeat', () => heartbeat())
  const lease = { controller: 'test', term: 1, boot: beat.boot, untilUptimeMs: beat.uptimeMs + 3_600_000 }
  await daemon.publishAsync(`${BASE}/bench/lease`, JSON.stringify(lease), { qos: 0 })
  return beat
}
const ask = async (id: string, runMs: number, retain = false) => {
  const beat = await until('a heartbeat', () => heartbeat())
  const command = {
    id,
    controller: 'test',
    term: 1,
    boot: beat.boot,
    runMs,
    startBeforeUptimeMs: beat.uptimeMs + 600_000,
  }
  await daemon.publishAsync(`${BASE}/bench/pump/pump-3/command`, JSON.stringify(command), { qos: 1, retain })
}

describe('the plant over a broker', () => {
  it('announces itself, beats, scans, and runs a shot that it reports as the pump truly ran', async () => {
    const plant = start()
    await until('a status', () => statuses().find(({ online }) => online))
    await grant()
    await ask('shot-1', 30_000)
    const done = await until('a report', () => report('done'))
    expect(done).toMatchObject({ id: 'shot-1', ranMs: 30_000, totalRunMs: 30_000 })
    await until('a scan', () => heard.find(({ message }) => message.kind === 'scan'))
    expect(plant.world.truth().pumps['pump-3']).toMatchObject({ ranMs: 30_000, runs: 1 })
  })

  it('keeps its status retained, and the broker speaks its will when it dies in mid-shot', async () => {
    const plant = start()
    await grant()
    await ask('shot-1', 200_000)
    await until('an acceptance', () => report('accepted'))
    const before = heartbeat()!.boot
    plant.world.reboot(plant.nowMs(), 'bench', 30_000)
    await until('the will', () => statuses().find(({ online, boot }) => !online && boot === before))
    const back = await until('a new boot', () => statuses().find(({ online, boot }) => online && boot !== before))
    const beat = await until('a heartbeat', () => heartbeat(back.boot))
    expect(beat.pumps.find(({ id }) => id === 'pump-3')!.doubtMs).toBe(200_000)
    const late = await mqtt.connectAsync(brokerUrl, { protocolVersion: 4 })
    const retained = new Promise<string>((resolve) => late.on('message', (_topic, payload) => resolve(String(payload))))
    await late.subscribeAsync(`${BASE}/bench/status`)
    expect(JSON.parse(await retained)).toMatchObject({ online: true, boot: back.boot })
    await late.endAsync(true)
  })

  it('never starts a pump from a retained command', async () => {
    const first = start()
    await grant()
    await first.stop()
    await ask('shot-old', 30_000, true)
    heard = []
    const second = start({ seed: 6 })
    await grant()
    await ask('shot-new', 30_000)
    await until('a report', () => report('done'))
    expect(second.world.truth().pumps['pump-3']).toMatchObject({ runs: 1, ranMs: 30_000 })
  })

  it('goes on from its state file after a kill: the same totals, another boot, doubt for the shot it was in', async () => {
    const stateFile = join(mkdtempSync(join(tmpdir(), 'plant-')), 'state.jsonl')
    const first = start({ stateFile })
    await grant()
    await ask('shot-1', 30_000)
    await until('a report', () => report('done'))
    await ask('shot-2', 240_000)
    await until('an acceptance', () => (report('accepted')?.id === 'shot-2' ? true : undefined))
    const before = heartbeat()!.boot
    await first.stop()
    heard = []
    const second = start({ stateFile })
    const beat = await until('a heartbeat', () => (heartbeat()?.boot === before ? undefined : heartbeat()))
    expect(beat.pumps.find(({ id }) => id === 'pump-3')).toMatchObject({ totalRunMs: 30_000, doubtMs: 240_000 })
    expect(second.world.truth().pumps['pump-3']!.runs).toBe(2)
  })
})

describe('the plant as a process', () => {
  it('says on SIGTERM what its pumps truly did, and writes the same to its log', async () => {
    const main = fileURLToPath(new URL('../../simulator/main.ts', import.meta.url))
    const scenario = fileURLToPath(new URL('../../config/scenarios/light.yaml', import.meta.url))
    const pumpLog = join(mkdtempSync(join(tmpdir(), 'plant-')), 'pumps.json')
    const args = ['--import', 'tsx', main, '--broker', brokerUrl, '--site', 'light', '--scenario', scenario]
    const child = spawn(process.execPath, [...args, '--scale', String(SCALE), '--pump-log', pumpLog], {
      stdio: ['ignore', 'pipe', 'inherit'],
    })
    let out = ''
    child.stdout.on('data', (chunk) => {
      out += String(chunk)
    })
    try {
      await grant()
      await ask('shot-1', 30_000)
      await until('a report', () => report('done'))
    } finally {
      child.kill('SIGTERM')
    }
    const code = await new Promise((resolve) => child.on('exit', resolve))
    expect(code).toBe(0)
    expect(JSON.parse(out).pumps['pump-3']).toMatchObject({ ranMs: 30_000, runs: 1 })
    expect(JSON.parse(readFileSync(pumpLog, 'utf8')).pumps['pump-3']).toMatchObject({ ranMs: 30_000, runs: 1 })
  })
})
