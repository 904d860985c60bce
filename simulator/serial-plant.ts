// The plant at the end of a serial line: the same messages, one line of text each, with a checksum.

import type { Duplex } from 'node:stream'
import { decodeDaemonMessage } from '../src/contract/decode.ts'
import type { DaemonMessage, NodeMessage } from '../src/contract/message.ts'
import { isNodeTopic, parseTopic } from '../src/contract/topic.ts'
import { type LivePlant, type LivePlantOptions, type NodeLink, startLivePlant } from './live-plant.ts'

export interface SerialPlantOptions extends LivePlantOptions {
  /** one open line (a serial port, a pseudo terminal, a pipe) for each node, by its id */
  readonly lines: Readonly<Record<string, Duplex>>
}

/** Starts a plant whose nodes hang on serial lines, and keeps it going until `stop`. */
export function startSerialPlant(options: SerialPlantOptions): LivePlant {
  return startLivePlant(options, (node, onMessage) => {
    const line = options.lines[node]
    if (!line) throw new Error(`no serial line for node '${node}': one for each node of the scenario is needed`)
    return createSerialLink(line, onMessage)
  })
}

/** Every how many heartbeats a node on a wire says its status again. */
const STATUS_EVERY_HEARTBEATS = 6

/**
 * No will on a wire: a node without power is simply still, so an offline status is never sent. Nothing retains a
 * status either, so it is said again and again: a daemon that starts later, or a cable plugged in again, must hear it.
 */
function createSerialLink(line: Duplex, onMessage: (message: DaemonMessage) => void): NodeLink {
  let held = ''
  let status: NodeMessage | undefined
  let heartbeats = 0
  const write = (message: NodeMessage) => {
    if (!line.destroyed) line.write(writeLine(message))
  }
  line.setEncoding('utf8')
  line.on('data', (chunk: string) => {
    const lines = (held + chunk).split('\n')
    held = lines.pop() ?? ''
    for (const text of lines) {
      const message = readLine(text)
      if (message) onMessage(message)
    }
  })
  return {
    send(message) {
      if (message.kind === 'status') {
        if (!message.message.online) return
        status = message
      }
      if (message.kind === 'heartbeat' && status && ++heartbeats % STATUS_EVERY_HEARTBEATS === 0) write(status)
      write(message)
    },
    connected: () => !line.destroyed,
    close: async () => {
      line.destroy()
    },
  }
}

/** `{"topic":…,"payload":…}*CRC`, as the contract writes it; undefined for a damaged line or one of another kind. */
function readLine(text: string): DaemonMessage | undefined {
  const found = /^(.*)\*([0-9A-Fa-f]{4})\r?$/.exec(text)
  if (!found || checksum(found[1]!) !== found[2]!.toUpperCase()) return undefined
  try {
    const frame = JSON.parse(found[1]!) as { topic?: unknown; payload?: unknown }
    const topic = parseTopic('line', `line/node/${String(frame.topic)}`)
    if (!topic || isNodeTopic(topic)) return undefined
    const decoded = decodeDaemonMessage(topic, JSON.stringify(frame.payload))
    return decoded.ok ? decoded.value : undefined
  } catch {
    return undefined
  }
}

function writeLine(message: NodeMessage): string {
  const topic = message.kind === 'report' ? `pump/${message.pump}/report` : message.kind
  const text = JSON.stringify({ topic, payload: message.message })
  return `${text}*${checksum(text)}\n`
}

/** CRC-16/CCITT-FALSE over the UTF-8 bytes (check value 29B1 for "123456789", reveng catalogue). */
export function checksum(text: string): string {
  let crc = 0xffff
  for (const byte of Buffer.from(text)) {
    crc ^= byte << 8
    for (let bit = 0; bit < 8; bit += 1) crc = ((crc & 0x8000 ? (crc << 1) ^ 0x1021 : crc << 1) & 0xffff) >>> 0
  }
  return crc.toString(16).toUpperCase().padStart(4, '0')
}
