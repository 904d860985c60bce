import { describe, expect, it } from 'vitest'
import type { Happening } from '../../src/safety/happening.ts'
import { type Bench, MINUTE, readyBench, SECOND } from './bench.ts'

const hourUl = (bench: Bench) => 80_000 - bench.headroom('nitrate').hourUl
const settled = (told: readonly Happening[]) => told.filter((happening) => happening.kind === 'settled')
const trips = (bench: Bench) => bench.state.trips.map((trip) => `${trip.trip} ${trip.subject}`)

describe('a reported shot', () => {
  it('settles exactly where the run and the totaliser agree', () => {
    const bench = readyBench()
    const shot = bench.mustWish('nitrate', 10_000)
    bench.run(shot.pump, 20_000)
    expect(bench.report(shot, 'done', 20_000)).toEqual([
      {
        kind: 'settled',
        commandId: shot.id,
        stock: 'nitrate',
        outcome: 'done',
        delivered: { lowUl: 10_000, highUl: 10_000 },
        totalRunMs: 21_000,
      },
    ])
    expect(hourUl(bench)).toBe(10_000)
  })

  it('is an interval where the two disagree, and the high end counts', () => {
    const bench = readyBench()
    const shot = bench.mustWish('nitrate', 10_000)
    bench.run(shot.pump, 20_000)
    expect(settled(bench.report(shot, 'stopped', 7000))).toMatchObject([
      { outcome: 'stopped', delivered: { lowUl: 3500, highUl: 10_000 } },
    ])
    expect(hourUl(bench)).toBe(10_000)
  })

  it('counts what ran of a stopped shot, rounded up', () => {
    const bench = readyBench()
    const shot = bench.mustWish('nitrate', 10_000)
    bench.run(shot.pump, 6001)
    expect(settled(bench.report(shot, 'stopped', 6001))).toMatchObject([{ delivered: { lowUl: 3000, highUl: 3001 } }])
    expect(hourUl(bench)).toBe(3001)
  })

  it('counts nothing where it was refused, and its gap does not run', () => {
    const bench = readyBench()
    const shot = bench.mustWish('nitrate', 10_000)
    expect(settled(bench.report(shot, 'refused', 0))).toMatchObject([
      { outcome: 'refused', delivered: { lowUl: 0, highUl: 0 } },
    ])
    expect(hourUl(bench)).toBe(0)
    expect(bench.refusals('nitrate')).toEqual([])
  })

  it('is not believed to be refused while its pump’s totaliser grew', () => {
    const bench = readyBench()
    const shot = bench.mustWish('nitrate', 10_000)
    bench.run(shot.pump, 4000)
    expect(settled(bench.report(shot, 'refused', 0))).toMatchObject([
      { outcome: 'stopped', delivered: { lowUl: 0, highUl: 2000 } },
    ])
  })

  it('changes nothing when only accepted or running, when twice, of another boot, pump or name', () => {
    const bench = readyBench()
    const shot = bench.mustWish('nitrate', 10_000)
    const open = bench.state
    bench.report(shot, 'accepted', 0)
    bench.report(shot, 'running', 5000)
    bench.report(shot, 'done', 20_000, { boot: 'boot-0' })
    bench.report(shot, 'done', 20_000, { id: 'c-other' })
    bench.report({ ...shot, pump: 'pump-1' } as typeof shot, 'done', 20_000)
    expect(bench.state).toBe(open)
    bench.run(shot.pump, 20_000)
    bench.report(shot, 'done', 20_000)
    const closed = bench.state
    expect(bench.report(shot, 'done', 20_000)).toEqual([])
    expect(bench.report(shot, 'stopped', 1)).toEqual([])
    expect(bench.state).toBe(closed)
  })
})

describe('a shot that was not sent', () => {
  it('counts nothing if no client ever had it', () => {
    const bench = readyBench()
    const shot = bench.mustWish('nitrate', 10_000)
    expect(settled(bench.edge({ edge: 'command-not-sent', commandId: shot.id }))).toMatchObject([
      { outcome: 'not-sent', delivered: { lowUl: 0, highUl: 0 } },
    ])
    expect(hourUl(bench)).toBe(0)
  })

  it('still counts in full once a client had it', () => {
    const bench = readyBench()
    const shot = bench.mustWish('nitrate', 10_000)
    bench.edge({ edge: 'command-sent', commandId: shot.id })
    expect(bench.edge({ edge: 'command-not-sent', commandId: shot.id })).toEqual([])
    expect(hourUl(bench)).toBe(10_000)
  })
})

describe('a shot of which nobody knows', () => {
  /** No word of the node until two minutes and a millisecond after the shot should have ended. */
  function silent(volumeUl = 10_000) {
    const bench = readyBench()
    const shot = bench.mustWish('nitrate', volumeUl)
    bench.edge({ edge: 'command-sent', commandId: shot.id })
    bench.atMs += 2 * MINUTE + shot.runMs
    expect(bench.tick()).toEqual([])
    bench.atMs += 1
    const told = bench.tick()
    return { bench, shot, told }
  }

  it('is unknown when its start window, its run and the grace are over, and counts in full', () => {
    const { bench, shot, told } = silent()
    expect(told).toEqual([
      {
        kind: 'settled',
        commandId: shot.id,
        stock: 'nitrate',
        outcome: 'unknown',
        delivered: { lowUl: 0, highUl: 10_000 },
      },
    ])
    expect(hourUl(bench)).toBe(10_000)
    expect(bench.refusals('nitrate')).toContain('pump-settled')
    expect(bench.tick()).toEqual([])
  })

  it('is settled by the totaliser of the same boot', () => {
    const { bench, shot } = silent()
    bench.run(shot.pump, 12_000)
    expect(settled(bench.beat())).toMatchObject([
      { commandId: shot.id, outcome: 'stopped', delivered: { lowUl: 6000, highUl: 6000 }, totalRunMs: 13_000 },
    ])
    expect(hourUl(bench)).toBe(6000)
    expect(trips(bench)).toEqual([])
  })

  it('is done where the totaliser grew by all of its run', () => {
    const { bench, shot } = silent()
    bench.run(shot.pump, 20_000)
    expect(settled(bench.beat())).toMatchObject([{ outcome: 'done', delivered: { lowUl: 10_000, highUl: 10_000 } }])
  })

  it('is settled as never run where the totaliser did not move', () => {
    const { bench } = silent()
    expect(settled(bench.beat())).toMatchObject([{ delivered: { lowUl: 0, highUl: 0 } }])
    expect(hourUl(bench)).toBe(0)
  })

  it('is settled by a report that comes late', () => {
    const { bench, shot } = silent()
    bench.run(shot.pump, 20_000)
    expect(settled(bench.report(shot, 'done', 20_000))).toMatchObject([
      { outcome: 'done', delivered: { lowUl: 10_000, highUl: 10_000 } },
    ])
    expect(settled(bench.beat())).toEqual([])
  })

  it('is not settled while its pump still runs', () => {
    const { bench, shot } = silent()
    const pump = bench.pumps[shot.pump]
    if (pump !== undefined) pump.runningId = shot.id
    bench.run(shot.pump, 12_000)
    expect(settled(bench.beat())).toEqual([])
    expect(hourUl(bench)).toBe(10_000)
  })

  it('is bounded by totaliser and doubt where its node rebooted in mid-shot', () => {
    const { bench, shot } = silent()
    bench.reboot('boot-2')
    bench.run(shot.pump, 4000)
    const pump = bench.pumps[shot.pump]
    if (pump !== undefined) pump.doubtMs = 16_000
    expect(settled(bench.beat())).toMatchObject([{ outcome: 'stopped', delivered: { lowUl: 2000, highUl: 10_000 } }])
    expect(hourUl(bench)).toBe(10_000)
    bench.atMs += 5 * SECOND
    expect(bench.beat()).toEqual([])
  })

  it('counts in full for good where the totaliser fell, which trips', () => {
    const { bench, shot } = silent()
    bench.reboot('boot-2')
    bench.run(shot.pump, -500)
    expect(settled(bench.beat())).toMatchObject([{ outcome: 'stopped', delivered: { lowUl: 0, highUl: 10_000 } }])
    expect(trips(bench)).toEqual(['totaliser-fell bench/pump-3'])
    expect(bench.refusals('nitrate')).not.toContain('pump-settled')
  })

  it('is unknown at once when the daemon starts anew', () => {
    const bench = readyBench()
    const shot = bench.mustWish('nitrate', 10_000)
    expect(bench.start(2)).toEqual([
      {
        kind: 'settled',
        commandId: shot.id,
        stock: 'nitrate',
        outcome: 'unknown',
        delivered: { lowUl: 0, highUl: 10_000 },
      },
    ])
    expect(hourUl(bench)).toBe(10_000)
    expect(bench.start(3)).toEqual([])
  })
})

describe('a heartbeat while a shot is on its way', () => {
  it('settles nothing before the shot can no longer start', () => {
    const bench = readyBench()
    bench.mustWish('nitrate', 10_000)
    bench.atMs += 59_999
    expect(settled(bench.beat())).toEqual([])
    bench.atMs += 1
    expect(settled(bench.beat())).toHaveLength(1)
  })

  it('does not take an older totaliser for a fall', () => {
    const bench = readyBench()
    const shot = bench.mustWish('nitrate', 10_000)
    bench.atMs += 20_000
    bench.run(shot.pump, 20_000)
    bench.report(shot, 'done', 20_000)
    bench.run(shot.pump, -20_000)
    bench.atMs -= 5000
    bench.beat()
    expect(trips(bench)).toEqual([])
    expect(hourUl(bench)).toBe(10_000)
  })
})

describe('a shot of a pump with doubt from before', () => {
  it('is charged with the doubt that came since, not with all of it', () => {
    const bench = readyBench()
    const pump = bench.pumps['pump-3']
    if (pump === undefined) throw new Error('the bench has lost a pump')
    pump.doubtMs = 5000
    bench.pass(6 * MINUTE)
    const countedUl = hourUl(bench)
    bench.mustWish('nitrate', 10_000)
    bench.reboot('boot-2')
    pump.doubtMs += 20_000
    bench.atMs += MINUTE
    expect(settled(bench.beat())).toMatchObject([{ delivered: { lowUl: 0, highUl: 10_000 } }])
    expect(hourUl(bench)).toBe(countedUl + 10_000)
  })
})

describe('a report', () => {
  it('with a totaliser that fell trips, and its shot counts in full', () => {
    const bench = readyBench()
    const shot = bench.mustWish('nitrate', 10_000)
    bench.report(shot, 'done', 20_000, { totalRunMs: 999 })
    expect(trips(bench)).toEqual(['totaliser-fell bench/pump-3'])
    expect(hourUl(bench)).toBe(10_000)
  })

  it('frees its pump though the last heartbeat said that it ran', () => {
    const bench = readyBench()
    const shot = bench.mustWish('nitrate', 1000)
    const pump = bench.pumps[shot.pump]
    if (pump === undefined) throw new Error('the bench has lost a pump')
    pump.runningId = shot.id
    bench.beat()
    expect(bench.refusals('calcium')).toContain('pumps-idle')
    delete pump.runningId
    bench.atMs += 2000
    bench.run(shot.pump, 2000)
    bench.report(shot, 'done', 2000)
    expect(bench.refusals('calcium')).toEqual([])
  })

  it('of one pump does not free another that runs', () => {
    const bench = readyBench()
    const shot = bench.mustWish('nitrate', 1000)
    const pump = bench.pumps[shot.pump]
    if (pump === undefined) throw new Error('the bench has lost a pump')
    pump.runningId = 'c-other'
    bench.beat()
    bench.run(shot.pump, 2000)
    bench.report(shot, 'done', 2000)
    expect(bench.refusals('calcium')).toContain('pumps-idle')
  })

  it('that comes after a newer heartbeat settles, and leaves what ran beyond it to be found', () => {
    const bench = readyBench()
    const shot = bench.mustWish('nitrate', 1000)
    bench.atMs += 10 * SECOND
    const uptimeMs = bench.uptimeMs - 5000
    bench.run(shot.pump, 2300)
    bench.beat()
    bench.report(shot, 'done', 2000, { uptimeMs, totalRunMs: 3000 })
    expect(trips(bench)).toEqual([])
    bench.atMs += SECOND
    bench.beat()
    expect(trips(bench)).toEqual(['pump-ran-alone bench/pump-3'])
    expect(hourUl(bench)).toBe(1150)
  })

  it('of the boot before settles its shot and leaves the new boot’s clock alone', () => {
    const bench = readyBench()
    const shot = bench.mustWish('nitrate', 1000)
    const old = { boot: bench.boot, uptimeMs: bench.uptimeMs + 2000 }
    bench.run(shot.pump, 2000)
    bench.atMs += 3000
    bench.reboot('boot-2')
    bench.status()
    expect(settled(bench.report(shot, 'done', 2000, old))).toMatchObject([{ delivered: { lowUl: 1000 } }])
    bench.atMs += SECOND
    expect(bench.beat()).toEqual([])
    expect(bench.refusals('nitrate')).toEqual(['gap-kept'])
  })
})
