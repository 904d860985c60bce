import { SerialPort } from 'serialport'
import { decodeNodeMessage } from '../contract/decode.ts'
import { formatTopic, isNodeTopic, parseTopic } from '../contract/topic.ts'
import { createBackoff } from './backoff.ts'
import { type Cancel, type Clock, createRealClock } from './clock.ts'
import { createFrameReader, encodeFrame, type Frame } from './frame.ts'
import type { NodeLink, NodeLinkHandlers } from './node-link.ts'

export interface SerialLinkOptions {
  /** the name of the one node on this line */
  readonly node: string
  /** a path that stays the same over unplugging: /dev/serial/by-id/… rather than /dev/ttyUSB0 */
  readonly path: string
  readonly baudRate?: number
  readonly onNote?: (level: 'info' | 'warn', text: string) => void
  readonly clock?: Clock
}

/** Eight data bits, no parity, one stop bit; the speed most boards start with. */
const BAUD_RATE = 115_200
const RETRY_FIRST_MS = 500
const RETRY_MOST_MS = 5000
/** The longest line takes 1.5 s at 115,200 baud. */
const WRITE_MAX_MS = 5000
/** Topics on the line carry neither prefix nor node, so any base serves to read and write them. */
const BASE = 'line'

/**
 * One node over a serial line with the contract’s messages as checked lines (see frame.ts). A port that goes is
 * opened again when it comes back. The line stands in for the broker: when it goes, it says the node’s will.
 */
export function createSerialLink(options: SerialLinkOptions): NodeLink {
  const { node, path } = options
  const clock = options.clock ?? createRealClock()
  const note = options.onNote ?? (() => {})
  const backoff = createBackoff(RETRY_FIRST_MS, RETRY_MOST_MS)
  const reader = createFrameReader(receive, (why) => handlers?.onRefused(path, why))
  let handlers: NodeLinkHandlers | undefined
  let port: SerialPort | undefined
  let cancelRetry: Cancel = () => {}
  let boot: string | undefined
  let up: boolean | undefined
  let closed = false

  function tell(now: boolean): void {
    if (now === up) return
    up = now
    if (!now && boot !== undefined)
      handlers?.onMessage(node, { kind: 'status', message: { contract: 1, online: false, boot } })
    handlers?.onLink(now)
  }

  function open(): void {
    const attempt = new SerialPort({ path, baudRate: options.baudRate ?? BAUD_RATE, autoOpen: false })
    port = attempt
    attempt.on('data', (chunk: Buffer) => reader.push(chunk))
    attempt.on('error', (error) => note('warn', `${path}: ${error.message}`))
    attempt.on('close', () => gone(attempt, 'unplugged'))
    attempt.open((error) => {
      if (error) return gone(attempt, error.message)
      reader.reset()
      backoff.reset()
      // ends whatever half line the node has from before
      attempt.write('\n')
      note('info', `${path}: open, node ${node}`)
      tell(true)
    })
  }

  function gone(attempt: SerialPort, why: string): void {
    if (attempt !== port || closed) return
    port = undefined
    if (up !== false) note('warn', `${path}: ${why}; trying again until it is there`)
    tell(false)
    cancelRetry = clock.setTimer(backoff.nextMs(), open)
  }

  function receive(frame: Frame): void {
    const topic = parseTopic(BASE, `${BASE}/${node}/${frame.topic}`)
    const decoded =
      topic !== undefined && isNodeTopic(topic)
        ? decodeNodeMessage(topic, JSON.stringify(frame.payload))
        : { ok: false as const, error: 'no topic that a node writes' }
    if (!decoded.ok) {
      handlers?.onRefused(`${path} ${frame.topic}`, decoded.error)
      return
    }
    boot = decoded.value.message.boot
    handlers?.onMessage(node, decoded.value)
  }

  return {
    start: (given) => {
      handlers = given
      open()
    },
    sendCommand: async (to, pump, command) => {
      if (to !== node || port?.isOpen !== true || closed) return 'not-sent'
      await write(port, clock, encodeFrame(lineTopic({ kind: 'command', node, pump }), command))
      return 'sent'
    },
    sendLease: (to, lease) => {
      if (to === node && port?.isOpen === true && !closed)
        void write(port, clock, encodeFrame(lineTopic({ kind: 'lease', node }), lease))
    },
    close: async () => {
      closed = true
      cancelRetry()
      const last = port
      port = undefined
      if (last?.isOpen === true) await new Promise<void>((resolve) => last.close(() => resolve()))
      tell(false)
    },
  }
}

function lineTopic(topic: Parameters<typeof formatTopic>[1]): string {
  return formatTopic(BASE, topic).slice(`${BASE}/${topic.node}/`.length)
}

/**
 * Waits until the line has it, or until nobody can know how much got out: the line failed in the middle of it, or a
 * port that takes no more has kept it for too long.
 */
function write(port: SerialPort, clock: Clock, line: string): Promise<void> {
  return new Promise((resolve) => {
    const cancel = clock.setTimer(WRITE_MAX_MS, done)
    function done(): void {
      cancel()
      port.off('close', done)
      resolve()
    }
    port.once('close', done)
    port.write(line, (error) => (error ? done() : port.drain(done)))
  })
}
