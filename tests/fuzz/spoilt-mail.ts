/** What a node or a person sends, as it may arrive: spoilt in its words, on its way, or not at all. */

import { readFileSync } from 'node:fs'
import type { NodeMessage } from '../../src/contract/message.ts'
import type { NodeTopic } from '../../src/contract/topic.ts'
import { crc16, encodeFrame } from '../../src/shell/frame.ts'
import { type Chance, damage, spoil } from './mutate.ts'

const LABORATORY = readFileSync('config/example/laboratory-2026-03-16.csv', 'utf8')

/** Where a node says it. */
export function topicOf(valid: NodeMessage, node: string): NodeTopic {
  return valid.kind === 'report' ? { kind: 'report', node, pump: valid.pump } : { kind: valid.kind, node }
}

/** A line whose checksum is right for what it says, one that is damaged on its way, or bytes that are none of ours. */
export function frameOf(chance: Chance, valid: NodeMessage, text: string): string | Uint8Array {
  const topic = valid.kind === 'report' ? `pump/${valid.pump}/report` : valid.kind
  const way = chance()
  if (way < 0.1) return Uint8Array.from({ length: 40 }, () => Math.floor(chance() * 256))
  if (way < 0.4) return `${damage(chance, encodeFrame(topic, valid.message).trimEnd())}\n`
  const line = `{"topic":"${topic}","payload":${text.replaceAll('\n', ' ')}}`
  return `${line}*${crc16(Buffer.from(line)).toString(16).toUpperCase().padStart(4, '0')}\n`
}

/** What people say, spoilt; nothing that would change limits or mode, which is theirs to do. */
export function requestOf(chance: Chance, nowMs: number): { readonly path: string; readonly body: string } {
  const doneAtMs = nowMs - Math.floor(chance() * 3_600_000)
  const sampledAt = new Date(nowMs - 7_200_000).toISOString()
  const file = { fileName: 'report.csv', text: damage(chance, LABORATORY), sampledAt }
  const requests: readonly (readonly [string, object])[] = [
    ['/api/act', { act: { act: 'topped-up', doneAtMs, volumeL: 5 } }],
    ['/api/act', { act: { act: 'drained', doneAtMs, volumeL: 5 } }],
    ['/api/act', { act: { act: 'salt-added', doneAtMs, salt: 'potassium nitrate', massG: 5 } }],
    ['/api/act', { act: { act: 'noted', doneAtMs, text: 'leaves look well' } }],
    ['/api/act', { act: { act: 'bottle-weighed', doneAtMs, stock: 'nitrate', massG: 18_000 } }],
    ['/api/spot-reading', { quantity: 'K', value: 190 }],
    ['/api/laboratory', { ...file, accept: chance() < 0.5 }],
    ['/api/laboratory/preview', file],
    ['/api/commissioning/pump-rate', { stock: 'nitrate', runs: [{ runMs: 20_000, volumeMl: 10 }] }],
  ]
  const [path, body] = requests[Math.floor(chance() * requests.length)]!
  return { path, body: chance() < 0.3 ? JSON.stringify(body) : spoil(chance, body) }
}
