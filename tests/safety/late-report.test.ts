import { describe, expect, it } from 'vitest'
import type { Happening } from '../../src/safety/happening.ts'
import { withPump } from '../../src/safety/state.ts'
import { type Bench, readyBench, SECOND } from './bench.ts'

const settled = (told: readonly Happening[]) => told.filter((happening) => happening.kind === 'settled')
const trips = (bench: Bench) => bench.state.trips.map(({ trip }) => trip)
const pumpOf = (bench: Bench) => bench.state.nodes['bench']!.pumps['pump-3']!

describe('a report that comes after a newer heartbeat', () => {
  /** A shot of 20 s; ten seconds on, a heartbeat tells that it runs, and a report of five seconds before comes in. */
  function late(ranMs: number, totalRunMs: number) {
    const bench = readyBench()
    const shot = bench.mustWish('nitrate', 10_000)
    bench.pumps['pump-3']!.runningId = shot.id
    bench.run('pump-3', 10_000)
    bench.atMs += 10 * SECOND
    bench.beat()
    const uptimeMs = bench.uptimeMs - 5 * SECOND
    return { bench, told: bench.report(shot, 'stopped', ranMs, { uptimeMs, totalRunMs }) }
  }

  it('is held against the count from before its command, not against what was heard since', () => {
    const { bench, told } = late(5000, 6000)
    expect(settled(told)).toMatchObject([{ outcome: 'stopped', delivered: { lowUl: 2500, highUl: 2500 } }])
    expect(trips(bench)).toEqual([])
  })

  it('trips where it is below that', () => {
    const { bench, told } = late(5000, 999)
    expect(settled(told)).toMatchObject([{ outcome: 'stopped', delivered: { lowUl: 0, highUl: 10_000 } }])
    expect(trips(bench)).toEqual(['totaliser-fell'])
  })

  it('leaves what was heard last as it was', () => {
    const { bench } = late(5000, 6000)
    const uptimeMs = bench.uptimeMs
    expect(pumpOf(bench)).toMatchObject({ uptimeMs, totalRunMs: 6000, heard: { totalRunMs: 11_000 } })
  })
})

describe('a report that comes in time', () => {
  it('trips where its count is below what was heard since the command, though above what it was before', () => {
    const bench = readyBench()
    const shot = bench.mustWish('nitrate', 10_000)
    bench.run('pump-3', 10_000)
    bench.pumps['pump-3']!.runningId = shot.id
    bench.atMs += 10 * SECOND
    bench.beat()
    bench.atMs += SECOND
    bench.report(shot, 'stopped', 9999, { totalRunMs: 10_999 })
    expect(trips(bench)).toEqual(['totaliser-fell'])
  })

  it('of the very moment of the last heartbeat is one', () => {
    const bench = readyBench()
    const shot = bench.mustWish('nitrate', 10_000)
    bench.run('pump-3', 10_000)
    bench.pumps['pump-3']!.runningId = shot.id
    bench.atMs += 10 * SECOND
    bench.beat()
    bench.report(shot, 'stopped', 9999, { totalRunMs: 10_999 })
    expect(trips(bench)).toEqual(['totaliser-fell'])
  })

  it('leaves the doubt that was heard during the run: less of it later is a fall', () => {
    const bench = readyBench()
    const shot = bench.mustWish('nitrate', 10_000)
    const memory = bench.pumps['pump-3']!
    Object.assign(memory, { runningId: shot.id, doubtMs: 3000 })
    bench.run('pump-3', 10_000)
    bench.atMs += 10 * SECOND
    bench.beat()
    delete memory.runningId
    bench.atMs += SECOND
    bench.report(shot, 'stopped', 10_000)
    expect(trips(bench)).toEqual([])
    memory.doubtMs = 2999
    bench.atMs += SECOND
    bench.beat()
    expect(trips(bench)).toEqual(['totaliser-fell'])
  })

  it('settles in a state that kept nothing of what was heard', () => {
    const bench = readyBench()
    const shot = bench.mustWish('nitrate', 10_000)
    const { heard: _none, ...before } = pumpOf(bench)
    bench.state = withPump(bench.state, 'bench', 'pump-3', { ...before, heard: null })
    bench.run('pump-3', shot.runMs)
    expect(settled(bench.report(shot, 'done', shot.runMs))).toMatchObject([{ delivered: { lowUl: 10_000 } }])
    const heard = { boot: 'boot-1', totalRunMs: 21_000, doubtMs: 0 }
    expect(pumpOf(bench)).toMatchObject({ boot: 'boot-1', uptimeMs: bench.uptimeMs, totalRunMs: 21_000, heard })
  })

  it('after a crash settles, and nothing counts as heard', () => {
    const bench = readyBench()
    const shot = bench.mustWish('nitrate', 10_000)
    bench.die()
    bench.start(2)
    bench.run('pump-3', shot.runMs)
    expect(settled(bench.report(shot, 'done', shot.runMs))).toMatchObject([{ delivered: { lowUl: 10_000 } }])
    expect(pumpOf(bench)).toMatchObject({ boot: null, uptimeMs: 0, totalRunMs: 21_000, heard: null })
  })
})

describe('a pump that says the same again', () => {
  it('keeps its moment while it rests, and moves on while a command of it is open', () => {
    const bench = readyBench()
    const before = pumpOf(bench)
    bench.atMs += SECOND
    bench.beat()
    expect(pumpOf(bench)).toBe(before)
    bench.mustWish('nitrate', 1000)
    bench.atMs += SECOND
    bench.beat()
    expect(pumpOf(bench)).toMatchObject({ uptimeMs: bench.uptimeMs, totalRunMs: 1000 })
    expect(bench.uptimeMs).toBeGreaterThan(before.uptimeMs)
  })

  it.each([
    ['its count', { totalRunMs: 1001 }],
    ['its doubt', { doubtMs: 1 }],
    ['what it runs', { runningId: 'somebody' }],
  ])('is heard anew where %s alone is another', (_name, change) => {
    const bench = readyBench()
    Object.assign(bench.pumps['pump-3']!, change)
    bench.atMs += SECOND
    bench.beat()
    expect(pumpOf(bench)).toMatchObject({ uptimeMs: bench.uptimeMs, ...change })
  })

  it('is heard anew where the node alone is another, after a start of its own', () => {
    const bench = readyBench()
    bench.reboot('boot-2')
    bench.atMs += SECOND
    bench.beat()
    expect(pumpOf(bench)).toMatchObject({ uptimeMs: bench.uptimeMs, boot: 'boot-2', heard: { boot: 'boot-2' } })
  })

  it('counts a run once that a command explained until it was called unsent', () => {
    const bench = readyBench()
    const shot = bench.mustWish('nitrate', 10_000)
    bench.run(shot.pump, 5000)
    bench.atMs += SECOND
    bench.beat()
    bench.edge({ edge: 'command-not-sent', commandId: shot.id })
    for (let beat = 0; beat < 3; beat++) {
      bench.atMs += SECOND
      bench.beat()
    }
    const rows = bench.state.book.stocks['nitrate']?.rows.map(({ highUl }) => highUl)
    expect(rows).toEqual([2500])
    expect(pumpOf(bench)).toMatchObject({ totalRunMs: 6000, heard: { totalRunMs: 6000 } })
  })

  it('fell once, however often it says so: what it said last is what the next word is held against', () => {
    const bench = readyBench()
    const shot = bench.mustWish('nitrate', 10_000)
    bench.edge({ edge: 'command-sent', commandId: shot.id })
    bench.run(shot.pump, 5000)
    bench.atMs += SECOND
    bench.beat()
    bench.run(shot.pump, -5000)
    bench.atMs += SECOND
    bench.beat()
    expect(bench.state.trips.map(({ trip }) => trip)).toEqual(['totaliser-fell'])
    expect(pumpOf(bench)).toMatchObject({ totalRunMs: 1000, heard: { totalRunMs: 1000 } })
  })
})

describe('a command that is unknown', () => {
  it('is never called unsent again: it may have arrived', () => {
    const bench = readyBench()
    const shot = bench.mustWish('nitrate', 10_000)
    bench.start(2)
    expect(bench.edge({ edge: 'command-not-sent', commandId: shot.id })).toEqual([])
    expect(bench.headroom('nitrate').hourUl).toBe(70_000)
  })
})

describe('a run that nobody asked for', () => {
  it('takes nothing of a command that is open, such as what it was for', () => {
    const entry = { calibration: { runMaxUl: 5000, dayMaxUl: 9000 } }
    const bench = readyBench()
    const stocks = bench.limits.stocks.map((stock) => (stock.stock === 'calcium' ? { ...stock, ...entry } : stock))
    bench.limits = { ...bench.limits, stocks }
    bench.instruct({ instruction: 'mode', mode: 'observe' })
    bench.purpose = 'calibration'
    bench.mustWish('calcium', 1000)
    bench.run('pump-3', 2000)
    bench.atMs += SECOND
    const [told] = settled(bench.beat())
    expect(told).toMatchObject({ stock: 'nitrate', outcome: 'done', delivered: { lowUl: 1000, highUl: 1000 } })
    expect(told).not.toHaveProperty('purpose')
    expect(bench.state.book.stocks['nitrate']?.rows[0]).not.toHaveProperty('purpose')
  })
})

describe('a pump at rest whose totals are known from records, and of which nothing was heard', () => {
  it('is heard at its next heartbeat', () => {
    const bench = readyBench()
    bench.state = withPump(bench.state, 'bench', 'pump-3', { heard: null })
    bench.atMs += SECOND
    bench.beat()
    expect(pumpOf(bench).heard).toMatchObject({ totalRunMs: bench.pumps['pump-3']!.totalRunMs })
    expect(trips(bench)).toEqual([])
  })
})
