/** The device contract and the daemon’s own topics as an AsyncAPI 3.0 document, made from the schemas that are enforced. */

import { z } from 'zod'
import {
  CONTRACT_VERSION,
  commandSchema,
  heartbeatSchema,
  leaseSchema,
  reportSchema,
  scanSchema,
  statusSchema,
} from '../contract/message.ts'
import { TOPIC_PREFIX } from '../contract/topic.ts'
import { alarmStateSchema, alarmSummarySchema } from '../shell/notice-message.ts'

interface Topic {
  readonly address: string
  /** what the daemon does with it */
  readonly action: 'send' | 'receive'
  readonly qos: 0 | 1
  readonly isRetained: boolean
  readonly summary: string
  readonly schema: z.ZodType
}

const availabilitySchema = z.strictObject({ online: z.boolean() })

const TOPICS: Readonly<Record<string, Topic>> = {
  status: {
    ...{ address: '{site}/{node}/status', action: 'receive', qos: 1, isRetained: true, schema: statusSchema },
    summary: 'A node is there, or gone: also its will, so a late will of an old boot is known by its boot.',
  },
  heartbeat: {
    ...{ address: '{site}/{node}/heartbeat', action: 'receive', qos: 0, isRetained: false, schema: heartbeatSchema },
    summary: 'Every few seconds: the node’s clock and its pumps’ totalisers.',
  },
  scan: {
    ...{ address: '{site}/{node}/scan', action: 'receive', qos: 0, isRetained: false, schema: scanSchema },
    summary: 'All probe values of one moment. A retained one is dropped.',
  },
  report: {
    ...{ address: '{site}/{node}/pump/{pump}/report', action: 'receive', qos: 1, isRetained: false },
    schema: reportSchema,
    summary: 'What became of a command.',
  },
  command: {
    ...{ address: '{site}/{node}/pump/{pump}/command', action: 'send', qos: 1, isRetained: false },
    schema: commandSchema,
    summary: 'One shot: starts on this boot, before this moment of the node’s clock, under a living lease, or never.',
  },
  lease: {
    ...{ address: '{site}/{node}/lease', action: 'send', qos: 1, isRetained: false, schema: leaseSchema },
    summary: 'Permission to run pumps; 0 stops every pump now (QoS 1 then, else 0).',
  },
  availability: {
    ...{ address: '{site}/state/daemon', action: 'send', qos: 1, isRetained: true, schema: availabilitySchema },
    summary: 'Whether the daemon is there; its will says that it is not. Watch this from outside.',
  },
  alarm: {
    ...{ address: '{site}/state/alarm/{alarm}', action: 'send', qos: 1, isRetained: true, schema: alarmStateSchema },
    summary: 'One alarm that is not normal; emptied when it is.',
  },
  alarms: {
    ...{ address: '{site}/state/alarms', action: 'send', qos: 1, isRetained: true, schema: alarmSummarySchema },
    summary: 'How many alarms stand, by priority, and the gravest.',
  },
}

const PARAMETERS: Readonly<Record<string, string>> = {
  site: 'name of the site, as in its file',
  node: 'name of the pump node',
  pump: 'name of the pump on its node',
  alarm: 'kind of the alarm, with what it is about after a colon, as in node-silent:bench',
}

/** The document; plain data, ready for JSON. */
export function asyncApiDocument(version: string): Readonly<Record<string, unknown>> {
  const entries = Object.entries(TOPICS)
  return {
    asyncapi: '3.0.0',
    info: {
      title: 'Tarnward device contract',
      version: `${CONTRACT_VERSION}.0.0`,
      description: `What pump nodes and the daemon (${version}) say to each other, and what the daemon shows. Addresses begin with the configured prefix, ${TOPIC_PREFIX} unless changed.`,
    },
    defaultContentType: 'application/json',
    channels: Object.fromEntries(entries.map(([name, topic]) => [name, channel(name, topic)])),
    operations: Object.fromEntries(entries.map(([name, topic]) => [`${topic.action}-${name}`, operation(name, topic)])),
    components: {
      messages: Object.fromEntries(
        entries.map(([name, { schema }]) => [name, { name, payload: z.toJSONSchema(schema, { target: 'draft-7' }) }]),
      ),
    },
  }
}

function channel(name: string, { address, summary }: Topic) {
  const used = Object.entries(PARAMETERS).filter(([parameter]) => address.includes(`{${parameter}}`))
  return {
    address: `${TOPIC_PREFIX}/${address}`,
    summary,
    parameters: Object.fromEntries(used.map(([parameter, description]) => [parameter, { description }])),
    messages: { [name]: { $ref: `#/components/messages/${name}` } },
  }
}

function operation(name: string, { action, summary, qos, isRetained }: Topic) {
  return {
    action,
    summary,
    channel: { $ref: `#/channels/${name}` },
    messages: [{ $ref: `#/channels/${name}/messages/${name}` }],
    bindings: { mqtt: { qos, retain: isRetained, bindingVersion: '0.2.0' } },
  }
}
