import type { z } from 'zod'
import {
  commandSchema,
  type DaemonMessage,
  heartbeatSchema,
  leaseSchema,
  type NodeMessage,
  reportSchema,
  scanSchema,
  statusSchema,
} from './message.ts'
import type { DaemonTopic, NodeTopic } from './topic.ts'

export type Decoded<T> = { readonly ok: true; readonly value: T } | { readonly ok: false; readonly error: string }

/** Longest payload that is looked at; a status of 64 pumps and probes stays well below. */
const PAYLOAD_MAX_BYTES = 16_384

/**
 * A node’s payload as a message, or a sentence that says what is wrong with it.
 * Unknown fields are ignored (the version may gain some); unknown units and kinds are refused.
 */
export function decodeNodeMessage(topic: NodeTopic, payload: string | Uint8Array): Decoded<NodeMessage> {
  switch (topic.kind) {
    case 'status':
      return decodeWith(statusSchema, payload, (message) => ({ kind: 'status', message }))
    case 'heartbeat':
      return decodeWith(heartbeatSchema, payload, (message) => ({ kind: 'heartbeat', message }))
    case 'scan':
      return decodeWith(scanSchema, payload, (message) => ({ kind: 'scan', message }))
    case 'report':
      return decodeWith(reportSchema, payload, (message) => ({ kind: 'report', pump: topic.pump, message }))
  }
}

/** The daemon’s payload as a node reads it. */
export function decodeDaemonMessage(topic: DaemonTopic, payload: string | Uint8Array): Decoded<DaemonMessage> {
  switch (topic.kind) {
    case 'command':
      return decodeWith(commandSchema, payload, (message) => ({ kind: 'command', pump: topic.pump, message }))
    case 'lease':
      return decodeWith(leaseSchema, payload, (message) => ({ kind: 'lease', message }))
  }
}

function decodeWith<S extends z.ZodType, T>(
  schema: S,
  payload: string | Uint8Array,
  wrap: (message: z.infer<S>) => T,
): Decoded<T> {
  const text = typeof payload === 'string' ? payload : new TextDecoder().decode(payload)
  if (text.length > PAYLOAD_MAX_BYTES)
    return { ok: false, error: `payload of ${text.length} bytes, at most ${PAYLOAD_MAX_BYTES}` }
  let json: unknown
  try {
    json = JSON.parse(text)
  } catch {
    return { ok: false, error: `not JSON: ${JSON.stringify(text.slice(0, 40))}` }
  }
  const parsed = schema.safeParse(json)
  if (parsed.success) return { ok: true, value: wrap(parsed.data) }
  const issue = parsed.error.issues[0]
  return { ok: false, error: `${issue?.path.join('.') || 'payload'}: ${issue?.message ?? 'not understood'}` }
}
