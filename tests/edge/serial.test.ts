import { join } from 'node:path'
import { afterEach, describe, expect, it } from 'vitest'
import { encodeFrame } from '../../src/shell/frame.ts'
import { createSerialLink } from '../../src/shell/serial.ts'
import { scratchFolder } from '../unit/ledger/scratch.ts'
import { commandFor, createProbe, HEARTBEAT, SCAN, STATUS, until } from './link-probe.ts'
import { plugIn } from './pty.ts'

const cleanups: (() => unknown)[] = []
afterEach(async () => {
  for (const cleanup of cleanups.splice(0).reverse()) await cleanup()
})

function startLine() {
  const path = join(scratchFolder(), 'bench-node')
  const plug = () => {
    const cable = plugIn(path)
    cleanups.push(() => cable.unplug())
    return cable
  }
  const probe = createProbe()
  const link = createSerialLink({ node: 'bench', path })
  cleanups.push(() => link.close())
  return { ...probe, link, plug, start: () => link.start(probe.handlers) }
}

describe('a node on a serial line', () => {
  it('is heard, also after noise, a damaged line and a line of its boot loader', async () => {
    const line = startLine()
    const cable = line.plug()
    line.start()
    await until('open', () => line.links.at(-1) === true)
    cable.write(new Uint8Array([0xff, 0x00, 0x80]))
    cable.write('\nstarting up\r\n')
    cable.write(encodeFrame('status', STATUS))
    cable.write(encodeFrame('scan', SCAN).replace('1.71', '9.71'))
    cable.write(encodeFrame('scan', SCAN).slice(0, 30))
    cable.write(encodeFrame('scan', SCAN).slice(30))
    cable.write(encodeFrame('heartbeat', HEARTBEAT))
    cable.write(encodeFrame('lease', { untilUptimeMs: 1 }))
    await until('three messages', () => line.messages.length === 3 && line.refused.length === 4)
    expect(line.messages.map((item) => [item.node, item.message.kind, item.message.message])).toEqual([
      ['bench', 'status', STATUS],
      ['bench', 'scan', SCAN],
      ['bench', 'heartbeat', HEARTBEAT],
    ])
    expect(line.refused.map((item) => item.why)).toEqual([
      expect.stringMatching(/^no frame/),
      expect.stringMatching(/^no frame/),
      expect.stringMatching(/^checksum wrong/),
      'no topic that a node writes',
    ])
  })

  it('gets commands and leases as frames, and nothing that is meant for another node', async () => {
    const line = startLine()
    const cable = line.plug()
    line.start()
    await until('open', () => line.links.at(-1) === true)
    const lease = { controller: 'daemon-1', term: 1, boot: 'b1', untilUptimeMs: 0 }
    expect(await line.link.sendCommand('loft', 'pump-1', commandFor('shot-0'))).toBe('not-sent')
    expect(await line.link.sendCommand('bench', 'pump-1', commandFor('shot-1'))).toBe('sent')
    line.link.sendLease('bench', lease)
    const expected = `\n${encodeFrame('pump/pump-1/command', commandFor('shot-1'))}${encodeFrame('lease', lease)}`
    await until('both frames', () => cable.text().length >= expected.length)
    expect(cable.text()).toBe(expected)
  })

  it('that is unplugged is said to be offline by its boot, gets no command, and is met again behind the same path', async () => {
    const line = startLine()
    const cable = line.plug()
    line.start()
    await until('open', () => line.links.at(-1) === true)
    cable.write(encodeFrame('status', STATUS))
    await until('status', () => line.messages.length === 1)
    cable.unplug()
    await until('gone', () => line.links.at(-1) === false)
    expect(line.messages.at(-1)).toEqual({
      node: 'bench',
      message: { kind: 'status', message: { contract: 1, online: false, boot: 'b1' } },
    })
    expect(await line.link.sendCommand('bench', 'pump-1', commandFor('meanwhile'))).toBe('not-sent')

    const again = line.plug()
    await until('open again', () => line.links.at(-1) === true)
    expect(await line.link.sendCommand('bench', 'pump-1', commandFor('after'))).toBe('sent')
    again.write(encodeFrame('scan', SCAN))
    await until('scan', () => line.messages.at(-1)?.message.kind === 'scan')
    await until('command', () => again.text().includes('after'))
    expect(again.text()).not.toContain('meanwhile')
    expect(line.links).toEqual([true, false, true])
  })

  it('whose cable is not there yet is waited for', async () => {
    const line = startLine()
    line.start()
    await until('told', () => line.links.length === 1)
    expect(line.links).toEqual([false])
    line.plug()
    await until('open', () => line.links.at(-1) === true)
  })
})
