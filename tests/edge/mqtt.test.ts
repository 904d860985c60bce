import { setTimeout as wait } from 'node:timers/promises'
import mqtt, { type MqttClient } from 'mqtt'
import { afterEach, describe, expect, it } from 'vitest'
import { nodeSubscriptions } from '../../src/contract/topic.ts'
import { startBroker } from '../../src/shell/broker.ts'
import { createMqttLink, type MqttLinkOptions } from '../../src/shell/mqtt.ts'
import { commandFor, createProbe, HEARTBEAT, SCAN, STATUS, until } from './link-probe.ts'
import { createMosquitto, findMosquitto, type Mosquitto } from './mosquitto.ts'

const BASE = 'tarnward/v1/quarry-lane'
const NODE = `${BASE}/bench`
const MOSQUITTO = findMosquitto()
const cleanups: (() => unknown)[] = []
afterEach(async () => {
  for (const cleanup of cleanups.splice(0).reverse()) await cleanup()
})

interface Arrived {
  readonly topic: string
  readonly text: string
  readonly retain: boolean
  readonly qos: number
}

/** A pump node’s side, by the library alone. */
async function connectNode(url: string, protocolVersion: 4 | 5, more: mqtt.IClientOptions = {}) {
  const client = await mqtt.connectAsync(url, {
    protocolVersion,
    clientId: 'bench',
    clean: false,
    reconnectPeriod: 100,
    ...more,
  })
  const arrived: Arrived[] = []
  client.on('message', (topic, payload, packet) =>
    arrived.push({ topic, text: payload.toString(), retain: packet.retain, qos: packet.qos }),
  )
  client.on('error', () => {})
  await client.subscribeAsync([...nodeSubscriptions(BASE, 'bench'), `${BASE}/state/#`], { qos: 1 })
  cleanups.push(() => client.end(true))
  return { client, arrived }
}

function startLink(url: string, more: Partial<MqttLinkOptions> = {}) {
  const probe = createProbe()
  const notes: string[] = []
  const link = createMqttLink({
    url,
    base: BASE,
    clientId: 'daemon',
    onNote: (_level, text) => notes.push(text),
    ...more,
  })
  link.start(probe.handlers)
  cleanups.push(() => link.close())
  return { ...probe, link, notes }
}

const say = (client: MqttClient, suffix: string, message: unknown, options: mqtt.IClientPublishOptions = {}) =>
  client.publishAsync(`${NODE}/${suffix}`, JSON.stringify(message), { qos: 1, ...options })

const commandsIn = (arrived: readonly Arrived[]) => arrived.filter((item) => item.topic.endsWith('/command'))

/** What every broker must give us, so that no rule hangs on one of them. */
function describeLink(name: string, expectedVersion: 4 | 5, urlOf: () => Promise<string>, skip: boolean): void {
  describe.skipIf(skip)(`nodes over ${name}`, () => {
    async function connected() {
      const url = await urlOf()
      const daemon = startLink(url)
      await until('link up', () => daemon.links.at(-1) === true)
      const node = await connectNode(url, expectedVersion)
      return { url, daemon, node }
    }

    it('are heard, and what is no message of the contract is refused by name', async () => {
      const { daemon, node } = await connected()
      expect(daemon.link.protocolVersion()).toBe(expectedVersion)
      await say(node.client, 'status', STATUS, { retain: true })
      await say(node.client, 'scan', SCAN, { qos: 0 })
      await say(node.client, 'heartbeat', HEARTBEAT, { qos: 0 })
      await say(node.client, 'scan', { ...SCAN, readings: [{ id: 'ec-1', value: 1.7, unit: 'ppm' }] })
      await until('three messages', () => daemon.messages.length >= 3 && daemon.refused.length >= 1)
      expect(daemon.messages.map((item) => [item.node, item.message.kind])).toEqual([
        ['bench', 'status'],
        ['bench', 'scan'],
        ['bench', 'heartbeat'],
      ])
      expect(daemon.refused).toEqual([{ topic: `${NODE}/scan`, why: expect.stringContaining('unit') }])
    })

    it('get a command once and unretained, a lease at QoS 0 and its withdrawal at QoS 1', async () => {
      const { daemon, node } = await connected()
      expect(await daemon.link.sendCommand('bench', 'pump-1', commandFor('shot-1'))).toBe('sent')
      daemon.link.sendLease('bench', { controller: 'daemon-1', term: 1, boot: 'b1', untilUptimeMs: 20_000 })
      daemon.link.sendLease('bench', { controller: 'daemon-1', term: 1, boot: 'b1', untilUptimeMs: 0 })
      const ours = () => node.arrived.filter((item) => item.topic.startsWith(NODE))
      await until('three messages', () => ours().length >= 3)
      expect(ours().map(({ topic, retain, qos }) => [topic.slice(NODE.length + 1), retain, qos])).toEqual([
        ['pump/pump-1/command', false, 1],
        ['lease', false, 0],
        ['lease', false, 1],
      ])
      expect(JSON.parse(ours()[0]!.text)).toEqual(commandFor('shot-1'))
    })

    it('that left a retained scan or report behind are not heard from it, but from their retained status', async () => {
      const url = await urlOf()
      const node = await connectNode(url, expectedVersion)
      await say(node.client, 'scan', SCAN, { retain: true })
      await say(node.client, 'heartbeat', HEARTBEAT, { retain: true })
      await say(node.client, 'status', STATUS, { retain: true })
      const daemon = startLink(url)
      await until('the status', () => daemon.messages.length > 0)
      await say(node.client, 'scan', { ...SCAN, uptimeMs: 6000 })
      await until('a live scan', () => daemon.messages.length > 1)
      expect(daemon.messages.map((item) => [item.message.kind, item.message.message])).toEqual([
        ['status', STATUS],
        ['scan', { ...SCAN, uptimeMs: 6000 }],
      ])
      // version 5 lets us ask for no retained ones at all, 3.1.1 hands them out
      const handedOut = expectedVersion === 5 ? [] : [`${NODE}/heartbeat`, `${NODE}/scan`]
      expect(daemon.refused.map((refusal) => refusal.topic).sort()).toEqual(handedOut)
      for (const refusal of daemon.refused) expect(refusal.why).toMatch(/retained/)
    })

    it('see the daemon’s outputs retained, and that it went', async () => {
      const { url, daemon } = await connected()
      daemon.link.publishState('bench-summary', '{"conductivityMsPerCm":1.71}')
      await until('published', () => daemon.link.protocolVersion() > 0)
      await wait(50)
      const late = await connectNode(url, expectedVersion, { clientId: 'dashboard' })
      await until('retained outputs', () => late.arrived.length >= 2)
      expect(late.arrived.map(({ topic, text }) => [topic.slice(BASE.length + 1), text]).sort()).toEqual([
        ['state/bench-summary', '{"conductivityMsPerCm":1.71}'],
        ['state/daemon', '{"online":true}'],
      ])
      await daemon.link.close()
      await until('offline', () => late.arrived.at(-1)?.text === '{"online":false}')
      expect(daemon.refused).toEqual([])
      expect(daemon.messages).toEqual([])
    })
  })
}

async function runningMosquitto(): Promise<Mosquitto> {
  const broker = await createMosquitto(MOSQUITTO!)
  await broker.start()
  cleanups.push(() => broker.kill('SIGKILL'))
  return broker
}

async function runningEmbedded(): Promise<string> {
  const broker = await startBroker({ base: BASE, port: 0 })
  cleanups.push(() => broker.close())
  return broker.url
}

if (MOSQUITTO === undefined)
  console.warn('mosquitto is not installed: the tests of a real broker are skipped (apt-get install mosquitto)')
describeLink('mosquitto', 5, async () => (await runningMosquitto()).url, MOSQUITTO === undefined)
describeLink('the embedded broker', 4, runningEmbedded, false)

describe.skipIf(MOSQUITTO === undefined)('when a real broker goes', () => {
  it('a daemon that starts first keeps trying and comes up with it', async () => {
    const broker = await createMosquitto(MOSQUITTO!)
    cleanups.push(() => broker.kill('SIGKILL'))
    const daemon = startLink(broker.url)
    await until('told that it is down', () => daemon.links.length === 1)
    expect(await daemon.link.sendCommand('bench', 'pump-1', commandFor('shot-1'))).toBe('not-sent')
    await broker.start()
    await until('link up', () => daemon.links.at(-1) === true)
    expect(daemon.links).toEqual([false, true])
  })

  it('no command given meanwhile is ever delivered, and the next one is', async () => {
    const broker = await runningMosquitto()
    const daemon = startLink(broker.url)
    const node = await connectNode(broker.url, 5)
    await until('link up', () => daemon.links.at(-1) === true)
    expect(await daemon.link.sendCommand('bench', 'pump-1', commandFor('before'))).toBe('sent')
    await until('the first command', () => commandsIn(node.arrived).length === 1)

    await broker.kill()
    await until('link down', () => daemon.links.at(-1) === false)
    expect(await daemon.link.sendCommand('bench', 'pump-1', commandFor('meanwhile'))).toBe('not-sent')
    daemon.link.sendLease('bench', { controller: 'daemon-1', term: 1, boot: 'b1', untilUptimeMs: 20_000 })
    daemon.link.publishState('summary', '{"n":2}')

    await broker.start()
    await until('link up again', () => daemon.links.at(-1) === true && node.client.connected)
    await node.client.subscribeAsync(nodeSubscriptions(BASE, 'bench'), { qos: 1 })
    expect(await daemon.link.sendCommand('bench', 'pump-1', commandFor('after'))).toBe('sent')
    await until('the next command', () => commandsIn(node.arrived).some((item) => item.text.includes('after')))
    await say(node.client, 'scan', SCAN)
    await until('heard again', () => daemon.messages.length > 0)
    await wait(200)
    expect(commandsIn(node.arrived).map((item) => JSON.parse(item.text).id)).toEqual(['before', 'after'])
    expect(node.arrived.filter((item) => item.topic === `${NODE}/lease`)).toEqual([])
    expect(node.arrived.some((item) => item.text === '{"n":2}')).toBe(true)
    expect(daemon.links).toEqual([true, false, true])
  })

  it('a command whose acknowledgement never came counts as sent and is not sent again by us', async () => {
    const broker = await runningMosquitto()
    const daemon = startLink(broker.url)
    await until('link up', () => daemon.links.at(-1) === true)
    broker.freeze()
    const outcome = daemon.link.sendCommand('bench', 'pump-1', commandFor('in-doubt'))
    await wait(100)
    await broker.kill('SIGKILL')
    expect(await outcome).toBe('sent')
    await broker.start()
    const node = await connectNode(broker.url, 5)
    await until('link up again', () => daemon.links.length === 3)
    await wait(300)
    expect(commandsIn(node.arrived)).toEqual([])
  })

  it('the daemon ends all the same when the broker hangs with a withdrawal on its way', async () => {
    const broker = await runningMosquitto()
    const daemon = startLink(broker.url)
    await until('link up', () => daemon.links.at(-1) === true)
    broker.freeze()
    daemon.link.sendLease('bench', { controller: 'daemon-1', term: 1, boot: 'b1', untilUptimeMs: 0 })
    const ended = daemon.link.close().then(() => 'ended')
    expect(await Promise.race([ended, wait(4000, 'still waiting')])).toBe('ended')
  })

  it('a report made while the daemon was away reaches the next one', async () => {
    const broker = await runningMosquitto()
    const first = startLink(broker.url)
    await until('link up', () => first.links.at(-1) === true)
    await first.link.close()
    const node = await connectNode(broker.url, 5)
    const report = { id: 'shot-1', boot: 'b1', uptimeMs: 9000, state: 'done', ranMs: 4000, totalRunMs: 4000 }
    await say(node.client, 'pump/pump-1/report', report)
    await say(node.client, 'status', STATUS, { retain: true })
    const second = startLink(broker.url)
    await until('report and status', () => second.messages.length >= 2)
    expect(second.messages.map((item) => item.message.kind).sort()).toEqual(
      ['report', 'status', 'status'].slice(0, second.messages.length),
    )
    expect(second.messages.find((item) => item.message.kind === 'report')?.message).toMatchObject({
      pump: 'pump-1',
      message: report,
    })
  })
})

describe('the embedded broker', () => {
  const users = [
    { username: 'daemon', password: 'north' },
    { username: 'bench', password: 'south', node: 'bench' },
  ]

  it('does not listen beyond this machine without users', async () => {
    await expect(startBroker({ base: BASE, port: 0, host: '0.0.0.0' })).rejects.toThrow(/Set broker\.users/)
  })

  it('lets nobody in without the right password', async () => {
    const broker = await startBroker({ base: BASE, port: 0, users })
    cleanups.push(() => broker.close())
    for (const credentials of [{}, { username: 'daemon', password: 'south' }]) {
      await expect(
        mqtt.connectAsync(broker.url, { protocolVersion: 4, reconnectPeriod: 0, ...credentials }),
      ).rejects.toThrow(/Bad username or password/)
    }
  })

  it('says which right is missing where the daemon’s own user may not read, and keeps trying', async () => {
    const broker = await startBroker({ base: BASE, port: 0, users })
    cleanups.push(() => broker.close())
    const daemon = startLink(broker.url, { credentials: { username: 'bench', password: 'south' } })
    await until(
      'told twice',
      () => daemon.notes.filter((text) => text.includes(`Let this user read ${BASE}/#`)).length >= 2,
    )
    await until('down', () => daemon.links.at(-1) === false)
  })

  it('lets a node write and read what is its own and nothing else', async () => {
    const broker = await startBroker({ base: BASE, port: 0, users })
    cleanups.push(() => broker.close())
    const daemon = startLink(broker.url, { credentials: { username: 'daemon', password: 'north' } })
    await until('link up', () => daemon.links.at(-1) === true)
    const login = { protocolVersion: 4, username: 'bench', password: 'south', reconnectPeriod: 0 } as const
    const node: MqttClient = await mqtt.connectAsync(broker.url, login)
    node.on('error', () => {})
    cleanups.push(() => node.end(true))
    await node.publishAsync(`${NODE}/scan`, JSON.stringify(SCAN))
    await until('own scan', () => daemon.messages.length === 1)
    const other = node.subscribeAsync(`${BASE}/loft/pump/+/command`).then(
      (grants) => grants.every((grant) => grant.qos === 128),
      () => true,
    )
    expect(await other).toBe(true)
    node.publish(`${NODE}/pump/pump-1/command`, JSON.stringify(commandFor('forged')), { qos: 1 })
    await until('put out', () => !node.connected)
    expect(daemon.messages).toHaveLength(1)
  })
})
