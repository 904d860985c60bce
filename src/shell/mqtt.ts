import mqtt, { type IClientOptions, type IPublishPacket, type MqttClient } from 'mqtt'
import { type Decoded, decodeNodeMessage } from '../contract/decode.ts'
import type { CommandMessage, NodeMessage } from '../contract/message.ts'
import { daemonSubscriptions, formatTopic, isNodeTopic, parseTopic, type Topic } from '../contract/topic.ts'
import { createBackoff } from './backoff.ts'
import { type Cancel, type Clock, createRealClock } from './clock.ts'
import type { NodeLink, NodeLinkHandlers } from './node-link.ts'

export interface MqttLinkOptions {
  /** mqtt://host:port or mqtts://host:port */
  readonly url: string
  /** `<prefix>/<site>`, where nodes live */
  readonly base: string
  /** the same at every start, so that the broker keeps reports for it meanwhile */
  readonly clientId: string
  readonly credentials?: { readonly username: string; readonly password: string }
  /** certificate authority of the broker, PEM, where the machine’s own list does not have it */
  readonly authorityPem?: string
  /** lines for the log: which broker, which version, why not */
  readonly onNote?: (level: 'info' | 'warn', text: string) => void
  readonly clock?: Clock
}

export interface MqttLink extends NodeLink {
  /** a retained output below `<base>/state/`; the newest of each suffix is sent when the link comes up */
  publishState(suffix: string, json: string): void
  /** 5, or 4 after the broker has refused 5 */
  protocolVersion(): 4 | 5
}

/** Below the base no node may have this name: the daemon’s own outputs stand there. */
export const STATE_SEGMENT = 'state'
const RETRY_FIRST_MS = 1000
const RETRY_MOST_MS = 30_000
const KEEPALIVE_S = 15
const CONNECT_TIMEOUT_MS = 5000
/** The broker keeps what nodes report for so long while the daemon is away. */
const SESSION_EXPIRY_S = 3600
/** Where version 5 lets the broker drop a late command; the deadline inside it is what counts. */
const COMMAND_EXPIRY_S = 30
/** A broker that is up answers in milliseconds; after this the command counts as sent. */
const ACKNOWLEDGE_MS = 5000
const UNSUPPORTED_VERSION_CODES: readonly number[] = [1, 132]

/**
 * Nodes over a broker. Every connection is a new client with an empty store, because a client that lives through a
 * reconnect sends again what it had in flight, however old, and says that it succeeded (measured with mqtt.js 5.16).
 */
export function createMqttLink(options: MqttLinkOptions): MqttLink {
  const clock = options.clock ?? createRealClock()
  const note = options.onNote ?? (() => {})
  const backoff = createBackoff(RETRY_FIRST_MS, RETRY_MOST_MS)
  const states = new Map<string, string>()
  let handlers: NodeLinkHandlers | undefined
  let client: MqttClient | undefined
  let cancelRetry: Cancel = () => {}
  let version: 4 | 5 = 5
  let up: boolean | undefined
  let closed = false

  function tell(now: boolean): void {
    if (now === up) return
    up = now
    handlers?.onLink(now)
  }

  function connect(): void {
    const attempt = mqtt.connect(options.url, clientOptions(options, version))
    client = attempt
    let retryAtOnce = false
    attempt.on('connect', () => void cameUp(attempt))
    attempt.on('message', receive)
    attempt.on('error', (error) => {
      if (attempt !== client) return
      retryAtOnce = version === 5 && refusesVersion(error)
      if (retryAtOnce) version = 4
      const why = retryAtOnce
        ? 'the broker does not speak MQTT 5; going on with 3.1.1'
        : error.message || 'no connection'
      note('warn', `${options.url}: ${why}`)
    })
    attempt.on('close', () => {
      if (attempt !== client) return
      client = undefined
      attempt.end(true)
      tell(false)
      cancelRetry = clock.setTimer(retryAtOnce ? 1 : backoff.nextMs(), connect)
    })
    attempt.connect()
  }

  /** Packets keep their order, so what is sent after the subscription is answered under it. */
  async function cameUp(attempt: MqttClient): Promise<void> {
    const topics = daemonSubscriptions(options.base).map((topic) => [topic, subscription(topic)] as const)
    const subscribed = attempt.subscribeAsync(Object.fromEntries(topics))
    note('info', `${options.url}: connected, MQTT ${version === 5 ? '5' : '3.1.1'}`)
    for (const [suffix, json] of [['daemon', '{"online":true}'] as const, ...states])
      publishRetained(attempt, suffix, json)
    tell(true)
    try {
      await subscribed
      backoff.reset()
    } catch (error) {
      if (attempt !== client || !attempt.connected) return
      note('warn', `${options.url}: ${(error as Error).message}. Let this user read ${options.base}/#.`)
      attempt.end(true)
    }
  }

  function receive(topic: string, payload: Buffer, packet: IPublishPacket): void {
    const parsed = parseTopic(options.base, topic)
    if (parsed?.node === STATE_SEGMENT) return
    const decoded = readMessage(parsed, payload, packet.retain)
    if (decoded.ok) handlers?.onMessage(decoded.value.node, decoded.value.message)
    else handlers?.onRefused(topic, decoded.error)
  }

  function publishRetained(to: MqttClient, suffix: string, json: string): void {
    to.publish(`${options.base}/${STATE_SEGMENT}/${suffix}`, json, { qos: 0, retain: true }, () => {})
  }

  const ready = () => (up === true && client?.connected === true && !closed ? client : undefined)

  return {
    start: (given) => {
      handlers = given
      connect()
    },
    sendCommand: async (node, pump, command) => {
      const to = ready()
      if (to === undefined) return 'not-sent'
      return publishCommand(to, clock, formatTopic(options.base, { kind: 'command', node, pump }), command)
    },
    sendLease: (node, lease) => {
      const qos = lease.untilUptimeMs === 0 ? 1 : 0
      ready()?.publish(
        formatTopic(options.base, { kind: 'lease', node }),
        JSON.stringify(lease),
        { qos, retain: false },
        () => {},
      )
    },
    publishState: (suffix, json) => {
      states.set(suffix, json)
      const to = ready()
      if (to !== undefined) publishRetained(to, suffix, json)
    },
    protocolVersion: () => version,
    close: async () => {
      closed = true
      cancelRetry()
      const last = client
      client = undefined
      if (last === undefined) return
      if (last.connected)
        await last
          .publishAsync(`${options.base}/${STATE_SEGMENT}/daemon`, '{"online":false}', { retain: true })
          .catch(() => {})
      await last.endAsync(!last.connected).catch(() => {})
      tell(false)
    },
  }
}

function clientOptions(options: MqttLinkOptions, version: 4 | 5): IClientOptions {
  return {
    clientId: options.clientId,
    protocolVersion: version,
    clean: false,
    keepalive: KEEPALIVE_S,
    connectTimeout: CONNECT_TIMEOUT_MS,
    manualConnect: true,
    reconnectPeriod: 0,
    resubscribe: false,
    queueQoSZero: false,
    will: {
      topic: `${options.base}/${STATE_SEGMENT}/daemon`,
      payload: Buffer.from('{"online":false}'),
      qos: 1,
      retain: true,
    },
    ...(version === 5 ? { properties: { sessionExpiryInterval: SESSION_EXPIRY_S } } : {}),
    ...(options.credentials ?? {}),
    ...(options.authorityPem === undefined ? {} : { ca: options.authorityPem }),
  }
}

type NodePost = { readonly node: string; readonly message: NodeMessage }

/** A retained value of a probe or a pump would be taken for a new one; a status is meant to be retained. */
function readMessage(topic: Topic | undefined, payload: Buffer, retained: boolean): Decoded<NodePost> {
  if (topic === undefined || !isNodeTopic(topic)) return { ok: false, error: 'no topic that a node writes' }
  if (retained && topic.kind !== 'status') return { ok: false, error: 'retained: its age is unknown' }
  const decoded = decodeNodeMessage(topic, payload)
  return decoded.ok ? { ok: true, value: { node: topic.node, message: decoded.value } } : decoded
}

/**
 * Version 5 only, ignored by version 4: a status is wanted at every connection (a daemon that starts anew meets its old
 * session), a retained anything else never.
 */
function subscription(topic: string) {
  return { qos: 1, nl: true, rh: topic.endsWith('/status') ? 0 : 2 } as const
}

function publishCommand(
  to: MqttClient,
  clock: Clock,
  topic: string,
  command: CommandMessage,
): Promise<'sent' | 'not-sent'> {
  return new Promise((resolve) => {
    const cancel = clock.setTimer(ACKNOWLEDGE_MS, () => finish('sent'))
    const inDoubt = () => finish('sent')
    function finish(outcome: 'sent' | 'not-sent'): void {
      cancel()
      to.off('close', inDoubt)
      resolve(outcome)
    }
    to.on('close', inDoubt)
    const properties =
      to.options.protocolVersion === 5 ? { properties: { messageExpiryInterval: COMMAND_EXPIRY_S } } : {}
    to.publish(topic, JSON.stringify(command), { qos: 1, retain: false, ...properties }, (error) =>
      finish(refusedByBroker(error) ? 'not-sent' : 'sent'),
    )
  })
}

/** A negative acknowledgement (128 and up) is the only sure sign that a command which left us went nowhere. */
function refusedByBroker(error: unknown): boolean {
  return codeOf(error) >= 128
}

function refusesVersion(error: unknown): boolean {
  return UNSUPPORTED_VERSION_CODES.includes(codeOf(error))
}

function codeOf(error: unknown): number {
  if (typeof error !== 'object' || error === null || !('code' in error) || typeof error.code !== 'number') return -1
  return error.code
}
