/**
 * The device contract on a serial line. One message is one line of text:
 *
 *     {"topic":"scan","payload":{…}}*1A2B⏎
 *
 * `topic` is the contract’s topic below the node (`status`, `pump/<id>/report`, `lease`, …). After the last `*` stand
 * four hexadecimal digits: CRC-16/CCITT-FALSE (polynomial 0x1021, start 0xFFFF, nothing reflected, nothing added) over
 * the UTF-8 bytes before it. Lines end with LF; a CR before it is let pass. A line that is damaged or too long is
 * dropped, and the next newline begins afresh.
 *
 * A line retains nothing and a node does not notice a cable that was pulled, so a node says its `status` again with
 * every sixth heartbeat; without it a daemon that starts later would never know the node’s pumps.
 */

/** Longest line with its newline; the contract’s largest payload is 16,384 bytes. */
export const LINE_MAX_BYTES = 17_000

export interface Frame {
  readonly topic: string
  readonly payload: unknown
}

export interface FrameReader {
  push(chunk: Uint8Array): void
  /** forgets a half-read line, for a port that was opened again */
  reset(): void
}

/** A message as a line with its newline. */
export function encodeFrame(topic: string, payload: unknown): string {
  const text = JSON.stringify({ topic, payload })
  return `${text}*${crcText(Buffer.from(text))}\n`
}

/** CRC-16/CCITT-FALSE: check value 0x29B1 for "123456789" (catalogue of parametrised CRC algorithms, reveng). */
export function crc16(bytes: Uint8Array): number {
  let crc = 0xffff
  for (const byte of bytes) {
    crc ^= byte << 8
    for (let bit = 0; bit < 8; bit++) crc = (crc & 0x8000 ? (crc << 1) ^ 0x1021 : crc << 1) & 0xffff
  }
  return crc
}

/** Cuts a stream of bytes into frames; what is no frame goes to `onRefused` with the reason and its first characters. */
export function createFrameReader(onFrame: (frame: Frame) => void, onRefused: (why: string) => void): FrameReader {
  let parts: Buffer[] = []
  let heldBytes = 0
  let tooLong = false

  function hold(part: Buffer): void {
    heldBytes += part.length
    if (heldBytes > LINE_MAX_BYTES) {
      tooLong = true
      parts = []
    } else parts.push(part)
  }

  function endLine(): void {
    const line = Buffer.concat(parts)
    const read = tooLong ? `a line of more than ${LINE_MAX_BYTES} bytes` : readLine(line)
    reset()
    if (typeof read === 'string') onRefused(read)
    else if (read !== undefined) onFrame(read)
  }

  function reset(): void {
    parts = []
    heldBytes = 0
    tooLong = false
  }

  return {
    reset,
    push: (chunk) => {
      let rest = Buffer.from(chunk)
      for (let end = rest.indexOf(NEWLINE); end >= 0; end = rest.indexOf(NEWLINE)) {
        hold(rest.subarray(0, end))
        endLine()
        rest = rest.subarray(end + 1)
      }
      hold(rest)
    },
  }
}

const NEWLINE = 0x0a
const STAR = 0x2a
const CRC_CHARS = 4

/** A frame, or what is wrong with the line; nothing for an empty one, which lines often begin with. */
function readLine(raw: Buffer): Frame | string | undefined {
  const line = raw.at(-1) === 0x0d ? raw.subarray(0, -1) : raw
  if (line.length === 0) return undefined
  const shown = JSON.stringify(line.subarray(0, 40).toString('latin1'))
  const star = line.length - CRC_CHARS - 1
  if (star < 0 || line[star] !== STAR) return `no frame: ${shown}`
  const body = line.subarray(0, star)
  if (
    crcText(body) !==
    line
      .subarray(star + 1)
      .toString('latin1')
      .toUpperCase()
  )
    return `checksum wrong: ${shown}`
  try {
    const json: unknown = JSON.parse(body.toString())
    if (
      typeof json === 'object' &&
      json !== null &&
      'topic' in json &&
      typeof json.topic === 'string' &&
      'payload' in json
    ) {
      return { topic: json.topic, payload: json.payload }
    }
  } catch {
    // told below: the checksum is right, so the sender meant it
  }
  return `no topic and payload: ${shown}`
}

function crcText(bytes: Uint8Array): string {
  return crc16(bytes).toString(16).toUpperCase().padStart(CRC_CHARS, '0')
}
