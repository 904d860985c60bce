// One node's own connection to a broker: its will, its retained status, its subscriptions.

import mqtt, { type MqttClient } from 'mqtt'
import { decodeDaemonMessage } from '../src/contract/decode.ts'
import type { DaemonMessage, NodeMessage, StatusMessage } from '../src/contract/message.ts'
import { formatTopic, isNodeTopic, nodeSubscriptions, parseTopic } from '../src/contract/topic.ts'
import type { NodeLink } from './live-plant.ts'
import { topicOf } from './world.ts'

export interface NodeLinkOptions {
  readonly brokerUrl: string
  /** `<prefix>/<site>` */
  readonly base: string
  readonly node: string
  readonly username?: string
  readonly password?: string
  readonly onMessage: (message: DaemonMessage) => void
}

/** A link that is down until the node's first status names its boot. */
export function createNodeLink(options: NodeLinkOptions): NodeLink {
  let client: MqttClient | undefined
  let status: StatusMessage | undefined
  const topic = (message: NodeMessage) => formatTopic(options.base, topicOf({ atMs: 0, node: options.node, message }))
  const breakOff = () => {
    // Without a farewell, so that the broker speaks the will.
    client?.stream?.destroy()
    client?.end(true)
    client = undefined
    status = undefined
  }
  const publish = (message: NodeMessage) => {
    // Readings and heartbeats that nobody can hear now are worth nothing later; reports wait for the broker.
    if (message.kind !== 'report' && !client?.connected) return
    const durable = message.kind === 'report' || message.kind === 'status'
    client?.publish(topic(message), JSON.stringify(message.message), {
      qos: durable ? 1 : 0,
      retain: message.kind === 'status',
    })
  }
  const open = (online: StatusMessage) => {
    breakOff()
    status = online
    client = connect(options, online.boot)
    client.on('connect', () => {
      client?.subscribe(nodeSubscriptions(options.base, options.node), { qos: 1 })
      if (status) publish({ kind: 'status', message: status })
    })
  }
  return {
    send(message) {
      if (message.kind !== 'status') publish(message)
      else if (!message.message.online) breakOff()
      else if (message.message.boot !== status?.boot) open(message.message)
      else publish(message)
    },
    connected: () => client?.connected === true,
    close: async () => {
      await client?.endAsync(true)
      client = undefined
    },
  }
}

function connect(options: NodeLinkOptions, boot: string): MqttClient {
  const { brokerUrl, base, node, username, password } = options
  const will = { contract: 1, online: false, boot }
  const client = mqtt.connect(brokerUrl, {
    protocolVersion: 4,
    clientId: `${node}-${boot}`.slice(0, 60),
    clean: true,
    reconnectPeriod: 500,
    queueQoSZero: false,
    ...(username === undefined ? {} : { username }),
    ...(password === undefined ? {} : { password }),
    will: {
      topic: formatTopic(base, { kind: 'status', node }),
      payload: Buffer.from(JSON.stringify(will)),
      qos: 1,
      retain: true,
    },
  })
  client.on('error', () => {}) // mqtt.js tries again by itself; an unheard error would end the process
  client.on('message', (text, payload, packet) => {
    const parsed = parseTopic(base, text)
    if (packet.retain || !parsed || isNodeTopic(parsed)) return
    const decoded = decodeDaemonMessage(parsed, payload)
    if (decoded.ok) options.onMessage(decoded.value)
  })
  return client
}
