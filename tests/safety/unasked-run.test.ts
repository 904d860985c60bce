import { describe, expect, it } from 'vitest'
import type { Happening } from '../../src/safety/happening.ts'
import { type Bench, HOUR, MINUTE, readyBench, SECOND } from './bench.ts'

const hourUl = (bench: Bench) => 80_000 - bench.headroom('nitrate').hourUl
const settled = (told: readonly Happening[]) => told.filter((happening) => happening.kind === 'settled')
const trips = (bench: Bench) => bench.state.trips.map((trip) => `${trip.trip} ${trip.subject}`)

describe('a pump that runs by itself', () => {
  it('is counted once though a shot of another pump is on its way', () => {
    const bench = readyBench()
    bench.mustWish('calcium', 1000)
    bench.run('pump-3', 3000)
    bench.beat()
    bench.atMs += SECOND
    expect(bench.beat()).toEqual([])
    expect(hourUl(bench)).toBe(1500)
  })

  it('trips, counts and stays tripped until a person resets it', () => {
    const bench = readyBench()
    bench.run('pump-3', 3000)
    expect(bench.beat()).toMatchObject([
      { kind: 'settled', stock: 'nitrate', delivered: { lowUl: 1500, highUl: 1500 } },
      { kind: 'tripped', trip: 'pump-ran-alone' },
      { kind: 'lease', allowed: false },
    ])
    expect(hourUl(bench)).toBe(1500)
    bench.pass(HOUR)
    expect(bench.refusals('nitrate')).toEqual(['not-tripped'])
    bench.start(2)
    bench.status()
    bench.pass(30 * MINUTE)
    expect(bench.refusals('nitrate')).toEqual(['not-tripped'])
    bench.instruct({ instruction: 'reset', trip: 'pump-ran-alone' })
    expect(bench.refusals('nitrate')).toEqual([])
  })

  it('is told once for each pump', () => {
    const bench = readyBench()
    bench.run('pump-3', 3000)
    bench.beat()
    bench.atMs += SECOND
    bench.run('pump-3', 3000)
    expect(bench.beat().map((told) => told.kind)).toEqual(['settled'])
    bench.atMs += SECOND
    bench.run('pump-2', 3000)
    expect(bench.beat().map((told) => told.kind)).toEqual(['settled', 'tripped'])
  })

  it('is found though it ran under a command that was never sent', () => {
    const bench = readyBench()
    const shot = bench.mustWish('nitrate', 10_000)
    bench.atMs += SECOND
    bench.run(shot.pump, 1000)
    bench.beat()
    bench.edge({ edge: 'command-not-sent', commandId: shot.id })
    bench.atMs += SECOND
    bench.beat()
    expect(trips(bench)).toEqual(['pump-ran-alone bench/pump-3'])
    expect(hourUl(bench)).toBe(500)
  })

  it('is found though it went on after it had reported the shot as done', () => {
    const bench = readyBench()
    const shot = bench.dose('nitrate', 10_000)
    bench.atMs += SECOND
    bench.run(shot.pump, 1)
    bench.beat()
    expect(trips(bench)).toEqual(['pump-ran-alone bench/pump-3'])
  })

  it('counts doubt without tripping: nobody knows whether it ran', () => {
    const bench = readyBench()
    const pump = bench.pumps['pump-3']
    if (pump !== undefined) pump.doubtMs = 2000
    expect(settled(bench.beat())).toMatchObject([{ delivered: { lowUl: 0, highUl: 1000 } }])
    expect(hourUl(bench)).toBe(1000)
    expect(trips(bench)).toEqual([])
  })

  it('trips too where the pump belongs to no stock', () => {
    const bench = readyBench()
    bench.pumps['pump-9'] = { totalRunMs: 0, doubtMs: 0 }
    bench.beat()
    bench.run('pump-9', 1)
    expect(bench.beat().map((told) => told.kind)).toEqual(['tripped', 'lease'])
  })

  it('is no alarm at first sight: a totaliser is taken as it comes', () => {
    const bench = readyBench()
    bench.pumps['pump-9'] = { totalRunMs: 1_000_000, doubtMs: 50 }
    expect(bench.beat()).toEqual([])
  })
})

describe('a pump that runs longer than asked', () => {
  it.each([
    [500, []],
    [501, ['pump-overran bench/pump-3']],
  ])('by %i ms', (overMs, expected) => {
    const bench = readyBench()
    const shot = bench.mustWish('nitrate', 10_000)
    bench.run(shot.pump, 20_000 + overMs)
    bench.report(shot, 'done', 20_000 + overMs)
    expect(trips(bench)).toEqual(expected)
    expect(hourUl(bench)).toBe(10_000 + Math.ceil(overMs / 2))
  })

  it('trips while it still runs, and the lease is withdrawn', () => {
    const bench = readyBench()
    const shot = bench.mustWish('nitrate', 10_000)
    const pump = bench.pumps[shot.pump]
    if (pump !== undefined) pump.runningId = shot.id
    bench.atMs += 21_000
    bench.run(shot.pump, 20_501)
    expect(bench.beat()).toMatchObject([
      { kind: 'tripped', trip: 'pump-overran' },
      { kind: 'lease', allowed: false },
    ])
  })
})
