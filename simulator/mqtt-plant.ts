// The plant over a real broker, in wall time or faster.

import { TOPIC_PREFIX } from '../src/contract/topic.ts'
import { type LivePlant, type LivePlantOptions, startLivePlant } from './live-plant.ts'
import { createNodeLink } from './node-link.ts'

export interface MqttPlantOptions extends LivePlantOptions {
  readonly brokerUrl: string
  readonly site: string
  readonly prefix?: string
  readonly username?: string
  readonly password?: string
}

export type MqttPlant = LivePlant

/**
 * Starts a plant against a broker and keeps it going until `stop`. Each node has a connection and a will of its own,
 * speaks at the contract's periods of plant time, and obeys commands and leases that arrive over the wire.
 */
export function startMqttPlant(options: MqttPlantOptions): MqttPlant {
  const wire = wireOf(options)
  return startLivePlant(options, (node, onMessage) => createNodeLink({ ...wire, node, onMessage }))
}

function wireOf({ brokerUrl, username, password, prefix = TOPIC_PREFIX, site }: MqttPlantOptions) {
  return {
    brokerUrl,
    base: `${prefix}/${site}`,
    ...(username === undefined ? {} : { username }),
    ...(password === undefined ? {} : { password }),
  }
}
