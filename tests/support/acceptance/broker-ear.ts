/** Somebody who listens on the broker to everything that is said below a site. */

import mqtt from 'mqtt'
import { afterEach } from 'vitest'
import type { CommandMessage, ReportMessage } from '../../../src/contract/message.ts'
import { parseTopic, TOPIC_PREFIX } from '../../../src/contract/topic.ts'

export interface Heard {
  readonly wallMs: number
  readonly topic: string
  readonly retained: boolean
  readonly text: string
}

export interface BrokerEar {
  readonly heard: readonly Heard[]
  commands(): readonly (CommandMessage & { readonly pump: string; readonly wallMs: number })[]
  reports(): readonly (ReportMessage & { readonly pump: string; readonly wallMs: number })[]
  connected(): boolean
}

const ears: (() => Promise<void>)[] = []
afterEach(async () => {
  for (const close of ears.splice(0)) await close()
})

/** Listens from now on, and again after the broker was away. */
export async function listenOn(url: string, site: string): Promise<BrokerEar> {
  const base = `${TOPIC_PREFIX}/${site}`
  const heard: Heard[] = []
  const client = await mqtt.connectAsync(url, { protocolVersion: 5, reconnectPeriod: 100 })
  client.on('error', () => {}) // an unheard error would end the test run
  client.on('message', (topic, payload, { retain }) =>
    heard.push({ wallMs: Date.now(), topic, retained: retain, text: payload.toString() }),
  )
  client.on('connect', () => void client.subscribe(`${base}/#`, { qos: 1 }))
  await client.subscribeAsync(`${base}/#`, { qos: 1 })
  ears.push(() => client.endAsync(true))
  const parsed = <Message>(kind: 'command' | 'report') =>
    heard.flatMap(({ topic, text, wallMs }) => {
      const at = parseTopic(base, topic)
      return at?.kind === kind ? [{ ...(JSON.parse(text) as Message), pump: at.pump, wallMs }] : []
    })
  return {
    heard,
    commands: () => parsed<CommandMessage>('command'),
    reports: () => parsed<ReportMessage>('report'),
    connected: () => client.connected,
  }
}
