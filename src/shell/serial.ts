import { SerialPort } from 'serialport'
import { decodeNodeMessage } from '../contract/decode.ts'
import type { CommandMessage, LeaseMessage } from '../contract/message.ts'
import { formatTopic, isNodeTopic, parseTopic } from '../contract/topic.ts'
import { createBackoff } from './backoff.ts'
import { type Cancel, type Clock, createRealClock } from './clock.ts'
import { createFrameReader, encodeFrame, type Frame, type FrameReader } from './frame.ts'
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

/** One node over a serial line with the contract’s messages as checked lines, see frame.ts. */
export function createSerialLink(options: SerialLinkOptions): NodeLink {
  return new SerialLink(options)
}

/**
 * A port that goes is opened again when it comes back. The line stands in for the broker: when it goes, it says the
 * node’s will.
 */
class SerialLink implements NodeLink {
  readonly #options: SerialLinkOptions
  readonly #clock: Clock
  readonly #backoff = createBackoff(RETRY_FIRST_MS, RETRY_MOST_MS)
  readonly #reader: FrameReader
  #handlers: NodeLinkHandlers | undefined
  #port: SerialPort | undefined
  #cancelRetry: Cancel = () => {}
  #boot: string | undefined
  #up: boolean | undefined

  constructor(options: SerialLinkOptions) {
    this.#options = options
    this.#clock = options.clock ?? createRealClock()
    this.#reader = createFrameReader(
      (frame) => this.#receive(frame),
      (why) => this.#handlers?.onRefused(options.path, why),
    )
  }

  start(handlers: NodeLinkHandlers): void {
    this.#handlers = handlers
    this.#open()
  }

  async sendCommand(node: string, pump: string, command: CommandMessage): Promise<'sent' | 'not-sent'> {
    const port = this.#portOf(node)
    if (port === undefined) return 'not-sent'
    await write(port, this.#clock, encodeFrame(lineTopic({ kind: 'command', node, pump }), command))
    return 'sent'
  }

  sendLease(node: string, lease: LeaseMessage): void {
    const port = this.#portOf(node)
    if (port !== undefined) void write(port, this.#clock, encodeFrame(lineTopic({ kind: 'lease', node }), lease))
  }

  async close(): Promise<void> {
    this.#cancelRetry()
    const port = this.#port
    this.#port = undefined
    if (port?.isOpen === true) await new Promise<void>((resolve) => port.close(() => resolve()))
    this.#tell(false)
  }

  #open(): void {
    const { path, baudRate = BAUD_RATE, node } = this.#options
    const attempt = new SerialPort({ path, baudRate, autoOpen: false })
    this.#port = attempt
    attempt.on('data', (chunk: Buffer) => this.#reader.push(chunk))
    attempt.on('error', (error) => this.#note('warn', error.message))
    attempt.on('close', () => this.#gone(attempt, 'unplugged'))
    attempt.open((error) => {
      if (attempt !== this.#port) return attempt.close()
      if (error) return this.#gone(attempt, error.message)
      this.#reader.reset()
      this.#backoff.reset()
      // ends whatever half line the node has from before
      attempt.write('\n')
      this.#note('info', `open, node ${node}`)
      this.#tell(true)
    })
  }

  #gone(attempt: SerialPort, why: string): void {
    if (attempt !== this.#port) return
    this.#port = undefined
    if (this.#up !== false) this.#note('warn', `${why}; trying again until it is there`)
    this.#tell(false)
    this.#cancelRetry = this.#clock.setTimer(this.#backoff.nextMs(), () => this.#open())
  }

  #receive(frame: Frame): void {
    const { node, path } = this.#options
    const topic = parseTopic(BASE, `${BASE}/${node}/${frame.topic}`)
    const ours = topic !== undefined && isNodeTopic(topic)
    const decoded = ours ? decodeNodeMessage(topic, JSON.stringify(frame.payload)) : NOT_OURS
    if (decoded.ok) {
      this.#boot = decoded.value.message.boot
      this.#handlers?.onMessage(node, decoded.value)
    } else this.#handlers?.onRefused(`${path} ${frame.topic}`, decoded.error)
  }

  #portOf(node: string): SerialPort | undefined {
    return node === this.#options.node && this.#port?.isOpen === true ? this.#port : undefined
  }

  #tell(up: boolean): void {
    if (up === this.#up) return
    this.#up = up
    if (!up && this.#boot !== undefined) {
      const will = { contract: 1, online: false, boot: this.#boot } as const
      this.#handlers?.onMessage(this.#options.node, { kind: 'status', message: will })
    }
    this.#handlers?.onLink(up)
  }

  #note(level: 'info' | 'warn', text: string): void {
    this.#options.onNote?.(level, `${this.#options.path}: ${text}`)
  }
}

const NOT_OURS = { ok: false, error: 'no topic that a node writes' } as const

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
