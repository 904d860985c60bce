import { Socket } from 'node:net'
import mqtt, { type IClientOptions, type IPublishPacket, type MqttClient } from 'mqtt'
import { type Decoded, decodeNodeMessage } from '../contract/decode.ts'
import type { CommandMessage, LeaseMessage, NodeMessage } from '../contract/message.ts'
import { daemonSubscriptions, formatTopic, isNodeTopic, parseTopic, type Topic } from '../contract/topic.ts'
import { createBackoff } from './backoff.ts'
import { type Cancel, type Clock, createRealClock } from './clock.ts'
import type { NodeLink, NodeLinkHandlers } from './node-link.ts'

export interface MqttLinkOptions {
  /** mqtt://host:port or mqtts://host:port */
  readonly url: string
  /** `<prefix>/<site>`, where nodes live */
  readonly base: string
  /** where whoever starts the link has no name; the same at every start, so that the broker keeps reports for it */
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
/** A broker that does not answer must not keep the daemon from ending. */
const CLOSE_MAX_MS = 2000
const ONLINE = '{"online":true}'
const OFFLINE = '{"online":false}'
const UNSUPPORTED_VERSION_CODES: readonly number[] = [1, 132]

/** Nodes over a broker. */
export function createMqttLink(options: MqttLinkOptions): MqttLink {
  return new BrokerLink(options)
}

/**
 * Every connection is a new client with an empty store, because a client that lives through a reconnect sends again
 * what it had in flight, however old, and says that it succeeded (measured with mqtt.js 5.16).
 */
class BrokerLink implements MqttLink {
  readonly #options: MqttLinkOptions
  readonly #clock: Clock
  readonly #backoff = createBackoff(RETRY_FIRST_MS, RETRY_MOST_MS)
  readonly #states = new Map([['daemon', ONLINE]])
  #handlers: NodeLinkHandlers | undefined
  #client: MqttClient | undefined
  #cancelRetry: Cancel = () => {}
  #version: 4 | 5 = 5
  #up: boolean | undefined

  constructor(options: MqttLinkOptions) {
    this.#options = options
    this.#clock = options.clock ?? createRealClock()
  }

  start(handlers: NodeLinkHandlers): void {
    this.#handlers = handlers
    this.#connect()
  }

  async sendCommand(node: string, pump: string, command: CommandMessage): Promise<'sent' | 'not-sent'> {
    const client = this.#ready()
    if (client === undefined) return 'not-sent'
    const topic = formatTopic(this.#options.base, { kind: 'command', node, pump })
    return publishCommand(client, this.#clock, topic, command)
  }

  sendLease(node: string, lease: LeaseMessage): void {
    const topic = formatTopic(this.#options.base, { kind: 'lease', node })
    const qos = lease.untilUptimeMs === 0 ? 1 : 0
    this.#ready()?.publish(topic, JSON.stringify(lease), { qos, retain: false }, () => {})
  }

  publishState(suffix: string, json: string): void {
    this.#states.set(suffix, json)
    const client = this.#ready()
    if (client !== undefined) this.#publishRetained(client, suffix, json)
  }

  protocolVersion(): 4 | 5 {
    return this.#version
  }

  async close(): Promise<void> {
    this.#cancelRetry()
    const client = this.#client
    this.#client = undefined
    if (client === undefined) return
    if (client.connected) this.#publishRetained(client, 'daemon', OFFLINE)
    await new Promise<void>((resolve) => {
      const cancel = this.#clock.setTimer(CLOSE_MAX_MS, () => {
        client.stream.destroy()
        resolve()
      })
      client.end(!client.connected, () => {
        cancel()
        resolve()
      })
    })
    this.#tell(false)
  }

  #connect(): void {
    const clientId = this.#handlers?.controller ?? this.#options.clientId
    const attempt = mqtt.connect(this.#options.url, clientOptions({ ...this.#options, clientId }, this.#version))
    this.#client = attempt
    let retryAtOnce = false
    attempt.on('connect', () => {
      // Small packets would else wait some 40 ms for the answer to the one before (Nagle against delayed ACK).
      if (attempt.stream instanceof Socket) attempt.stream.setNoDelay(true)
      void this.#cameUp(attempt)
    })
    attempt.on('message', (topic, payload, packet) => this.#receive(topic, payload, packet))
    attempt.on('error', (error) => {
      if (attempt !== this.#client) return
      retryAtOnce = this.#version === 5 && refusesVersion(error)
      if (retryAtOnce) this.#version = 4
      this.#note('warn', retryAtOnce ? 'no MQTT 5 here; going on with 3.1.1' : error.message || 'no connection')
    })
    attempt.on('close', () => {
      if (attempt !== this.#client) return
      this.#client = undefined
      attempt.end(true)
      this.#tell(false)
      this.#cancelRetry = this.#clock.setTimer(retryAtOnce ? 1 : this.#backoff.nextMs(), () => this.#connect())
    })
    attempt.connect()
  }

  /** Packets keep their order, so what is sent after the subscription is answered under it. */
  async #cameUp(attempt: MqttClient): Promise<void> {
    const topics = daemonSubscriptions(this.#options.base).map((topic) => [topic, subscription(topic)] as const)
    const subscribed = attempt.subscribeAsync(Object.fromEntries(topics))
    this.#note('info', `connected, MQTT ${this.#version === 5 ? '5' : '3.1.1'}`)
    this.#tell(true)
    try {
      await subscribed
    } catch (error) {
      if (attempt !== this.#client || !attempt.connected) return
      const { base } = this.#options
      this.#note('warn', `${(error as Error).message}. Let this user read ${base}/# and write ${base}/#.`)
      attempt.stream.destroy()
      return
    }
    this.#backoff.reset()
    for (const [suffix, json] of this.#states) this.#publishRetained(attempt, suffix, json)
  }

  #receive(topic: string, payload: Buffer, packet: IPublishPacket): void {
    const parsed = parseTopic(this.#options.base, topic)
    if (parsed?.node === STATE_SEGMENT) return
    const decoded = readMessage(parsed, payload, packet.retain)
    if (decoded.ok) this.#handlers?.onMessage(decoded.value.node, decoded.value.message)
    else this.#handlers?.onRefused(topic, decoded.error)
  }

  #publishRetained(client: MqttClient, suffix: string, json: string): void {
    client.publish(`${this.#options.base}/${STATE_SEGMENT}/${suffix}`, json, { qos: 1, retain: true }, () => {})
  }

  #ready(): MqttClient | undefined {
    return this.#up === true && this.#client?.connected === true ? this.#client : undefined
  }

  #tell(up: boolean): void {
    if (up === this.#up) return
    this.#up = up
    this.#handlers?.onLink(up)
  }

  #note(level: 'info' | 'warn', text: string): void {
    this.#options.onNote?.(level, `${this.#options.url}: ${text}`)
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
      payload: Buffer.from(OFFLINE),
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
