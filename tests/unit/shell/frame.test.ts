import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { crc16, createFrameReader, encodeFrame, type Frame, LINE_MAX_BYTES } from '../../../src/shell/frame.ts'

function read(...chunks: readonly (string | Uint8Array)[]) {
  const frames: Frame[] = []
  const refused: string[] = []
  const reader = createFrameReader(
    (frame) => frames.push(frame),
    (why) => refused.push(why),
  )
  for (const chunk of chunks) reader.push(Buffer.from(chunk))
  return { frames, refused }
}

describe('the checksum', () => {
  it('has the check value of CRC-16/CCITT-FALSE', () => {
    // 0x29B1 for "123456789": catalogue of parametrised CRC algorithms (reveng), entry CRC-16/IBM-3740 alias CCITT-FALSE
    expect(crc16(Buffer.from('123456789'))).toBe(0x29b1)
    expect(crc16(Buffer.alloc(0))).toBe(0xffff)
  })
})

describe('frames', () => {
  it('look as documented', () => {
    // the digits by a second implementation: crc_hqx of Python’s binascii, started at 0xFFFF
    expect(encodeFrame('lease', { untilUptimeMs: 0 })).toBe('{"topic":"lease","payload":{"untilUptimeMs":0}}*6365\n')
  })

  it('come back as they went, however the bytes are cut', () => {
    const payload = fc.dictionary(fc.string(), fc.oneof(fc.string({ unit: 'grapheme' }), fc.integer(), fc.boolean()))
    fc.assert(
      fc.property(fc.array(payload, { maxLength: 5 }), fc.array(fc.nat(40), { maxLength: 40 }), (payloads, cuts) => {
        const bytes = Buffer.from(payloads.map((item) => encodeFrame('scan', item)).join(''))
        const chunks: Buffer[] = []
        let from = 0
        for (const cut of [...cuts, bytes.length]) {
          chunks.push(bytes.subarray(from, from + cut))
          from += cut
        }
        const { frames, refused } = read(...chunks)
        expect(refused).toEqual([])
        expect(frames).toEqual(payloads.map((item) => ({ topic: 'scan', payload: JSON.parse(JSON.stringify(item)) })))
      }),
    )
  })

  it('with any single byte changed never pass as another message', () => {
    const line = Buffer.from(encodeFrame('pump/pump-1/command', { id: 'shot-1', runMs: 4000 }))
    for (let at = 0; at < line.length - 1; at++) {
      for (const change of [0x01, 0x20, 0x80]) {
        const spoilt = Buffer.from(line)
        spoilt[at]! ^= change
        const { frames } = read(spoilt)
        // a checksum in lower case is the same checksum
        for (const frame of frames) expect(frame.payload).toEqual({ id: 'shot-1', runMs: 4000 })
      }
    }
  })

  it('after a damaged, a cut and an endless line are read again from the next newline on', () => {
    const good = encodeFrame('scan', { n: 1 })
    const { frames, refused } = read(
      good.slice(5),
      'boot v1.2 ok\r\n\r\n',
      good.replace('1', '2'),
      'x'.repeat(LINE_MAX_BYTES + 1),
      'y',
      '\n',
      good,
    )
    expect(frames).toEqual([{ topic: 'scan', payload: { n: 1 } }])
    expect(refused).toEqual([
      expect.stringMatching(/^checksum wrong/),
      expect.stringMatching(/^no frame: "boot v1.2 ok"/),
      expect.stringMatching(/^checksum wrong/),
      `a line of more than ${LINE_MAX_BYTES} bytes`,
    ])
  })

  it('may end with CR LF, and a true checksum over no message is told', () => {
    const text = '{"subject":"scan"}'
    const crc = crc16(Buffer.from(text)).toString(16)
    const { frames, refused } = read(encodeFrame('scan', 1).replace('\n', '\r\n'), `${text}*${crc}\n`)
    expect(frames).toEqual([{ topic: 'scan', payload: 1 }])
    expect(refused).toEqual([expect.stringMatching(/^no topic and payload/)])
  })
})
