import { Duplex } from 'node:stream'
import { afterEach, describe, expect, it } from 'vitest'
import type { LivePlant } from '../../simulator/live-plant.ts'
import { checksum, startSerialPlant } from '../../simulator/serial-plant.ts'
import { createFrameReader, encodeFrame, type Frame } from '../../src/shell/frame.ts'
import { scenarioOf } from './plant-driver.ts'

/** Two ends of one line. */
function line(): [Duplex, Duplex] {
  const ends: Duplex[] = [0, 1].map(
    (end) =>
      new Duplex({
        read() {},
        write(chunk, _encoding, done) {
          ends[1 - end]!.push(chunk)
          done()
        },
      }),
  )
  return [ends[0]!, ends[1]!]
}

let plant: LivePlant | undefined
afterEach(async () => {
  await plant?.stop()
})

const until = async <T>(find: () => T | undefined): Promise<T> => {
  for (const endMs = performance.now() + 10_000; performance.now() < endMs; ) {
    const found = find()
    if (found !== undefined) return found
    await new Promise((resolve) => setTimeout(resolve, 20))
  }
  throw new Error('nothing came over the line')
}

describe('the plant on a serial line', () => {
  it("speaks the daemon's own frames and runs a shot that comes as one; a damaged line starts nothing", async () => {
    const [mine, its] = line()
    const heard: Frame[] = []
    const refused: string[] = []
    const reader = createFrameReader(
      (frame) => heard.push(frame),
      (why) => refused.push(why),
    )
    mine.on('data', (chunk: Buffer) => reader.push(chunk))
    plant = startSerialPlant({ scenario: scenarioOf('light'), seed: 5, scale: 60, lines: { bench: its } })
    const beat = await until(() => heard.filter(({ topic }) => topic === 'heartbeat').at(-1))
    const { boot, uptimeMs } = beat.payload as { boot: string; uptimeMs: number }
    const controlled = { controller: 'test', term: 1, boot }
    mine.write(encodeFrame('lease', { ...controlled, untilUptimeMs: uptimeMs + 3_600_000 }))
    const shot = (id: string) =>
      encodeFrame('pump/pump-3/command', { id, ...controlled, runMs: 20_000, startBeforeUptimeMs: uptimeMs + 600_000 })
    mine.write(shot('shot-bad').replace('20000', '90000'))
    mine.write(shot('shot-1'))
    const done = await until(() =>
      heard.find(
        ({ topic, payload }) => topic === 'pump/pump-3/report' && (payload as { state: string }).state === 'done',
      ),
    )
    expect(done.payload).toMatchObject({ id: 'shot-1', ranMs: 20_000 })
    expect(plant.world.truth().pumps['pump-3']).toMatchObject({ runs: 1, ranMs: 20_000 })
    expect(refused).toEqual([])
  })

  it('has the checksum of the catalogue: 29B1 for 123456789', () => {
    expect(checksum('123456789')).toBe('29B1')
  })

  it('wants a line for every node', () => {
    expect(() => startSerialPlant({ scenario: scenarioOf('light'), seed: 1, lines: {} })).toThrow(
      /no serial line for node 'bench'/,
    )
  })
})
