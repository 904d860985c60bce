import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { rebuildBook } from '../../src/safety/rebuild.ts'
import { rebuildTotals } from '../../src/safety/rebuild-totals.ts'
import { initialSafetyState } from '../../src/safety/state.ts'
import { windowSums } from '../../src/safety/sums.ts'
import { relatch } from '../../src/safety/trip.ts'
import { type Bench, DAY, HOUR, LIMITS, MINUTE, readyBench, SECOND } from './bench.ts'
import { moves, play, TIGHT } from './campaign.ts'

/**
 * The hour and the day summed again from the records, by no code of safety’s: a command counts its full volume until a
 * record says less, and stays in a window until the window has passed since it may have ended.
 */
function naiveSumUl(records: Bench['records'], stock: string, atMs: number, windowMs: number): number {
  let sumUl = 0
  for (const row of records) {
    if (row.kind !== 'judged' || row.verdict !== 'permit' || row.stock !== stock) continue
    const latestMs = row.atMs + 60 * SECOND + row.runMs
    let ul = row.volumeUl
    let endMs = latestMs
    for (const later of records) {
      if (later.kind !== 'settled' || later.commandId !== row.commandId || later.outcome === 'unknown') continue
      ul = later.delivered.highUl
      endMs = Math.min(latestMs, later.atMs)
    }
    if (endMs > atMs - windowMs) sumUl += ul
  }
  return sumUl
}

describe('the book', () => {
  it('agrees at every wish with sums made in another way, and refuses exactly by them', () => {
    fc.assert(
      fc.property(moves, (list) => {
        play(list, (bench, { stock, volumeUl }) => {
          const hourUl = naiveSumUl(bench.records, stock, bench.atMs, HOUR)
          const dayUl = naiveSumUl(bench.records, stock, bench.atMs, DAY)
          expect(bench.headroom(stock)).toMatchObject({ hourUl: 15_000 - hourUl, dayUl: 60_000 - dayUl })
          const refused = bench.refusals(stock, volumeUl)
          expect(refused.includes('hour-bounded')).toBe(hourUl + volumeUl > 15_000)
          expect(refused.includes('day-bounded')).toBe(dayUl + volumeUl > 60_000)
        })
      }),
      { numRuns: 60 },
    )
  })

  it('never lets more than the caps out of a bottle, whatever becomes of the shots', () => {
    fc.assert(
      fc.property(moves, (list) => {
        const { truth } = play(list)
        for (const last of truth) {
          const within = (windowMs: number) =>
            truth
              .filter((run) => run.stock === last.stock && run.endMs <= last.endMs && run.endMs > last.endMs - windowMs)
              .reduce((sum, run) => sum + run.ul, 0)
          expect(within(HOUR)).toBeLessThanOrEqual(15_000)
          expect(within(DAY)).toBeLessThanOrEqual(60_000)
        }
      }),
      { numRuns: 60 },
    )
  })

  it('is the same when it is rebuilt from the records of judged and settled shots', () => {
    fc.assert(
      fc.property(moves, (list) => {
        const { bench } = play(list)
        bench.start(bench.term + 1)
        bench.tick()
        expect(rebuildBook(TIGHT, bench.records, bench.atMs)).toEqual(bench.state.book)
      }),
      { numRuns: 60 },
    )
  })

  it('takes a command that no record settles as unknown and counts it in full', () => {
    const bench = readyBench()
    bench.mustWish('nitrate', 10_000)
    const book = rebuildBook(bench.limits, bench.records, bench.atMs)
    expect(book.commands).toMatchObject([{ volumeUl: 10_000, status: 'unknown', sent: true }])
  })

  it('drops what left the day and keeps when each stock last ran', () => {
    const bench = readyBench()
    bench.dose('nitrate', 10_000)
    const endedMs = bench.atMs
    bench.pass(DAY - 1)
    expect(bench.state.book.stocks['nitrate']?.rows).toHaveLength(1)
    bench.pass(1)
    expect(bench.state.book.stocks['nitrate']).toEqual({ rows: [], lastEndMs: endedMs })
  })

  it('counts a shot from when it may have ended, not from when it was wished', () => {
    const bench = readyBench()
    bench.mustWish('nitrate', 40_000)
    bench.atMs += 10 * MINUTE
    bench.tick()
    // unknown: it may have started up to a minute after the verdict and run for 80 s
    bench.atMs += HOUR - 10 * MINUTE
    expect(bench.headroom('nitrate').hourUl).toBe(40_000)
    bench.atMs += 140 * SECOND - 1
    expect(bench.headroom('nitrate').hourUl).toBe(40_000)
    bench.atMs += 1
    expect(bench.headroom('nitrate').hourUl).toBe(80_000)
  })
})

describe('a window', () => {
  const sums = (bench: Bench) => windowSums(bench.limits, bench.state.book, 'nitrate', bench.atMs)

  it('has lost a settled shot exactly one window after its end, pruned or not', () => {
    const bench = readyBench()
    bench.dose('nitrate', 10_000)
    const endedMs = bench.atMs
    const at = (ms: number) => {
      bench.atMs = endedMs + ms
      return sums(bench)
    }
    expect(at(HOUR - 1)).toEqual({ hourUl: 10_000, dayUl: 10_000 })
    expect(at(HOUR)).toEqual({ hourUl: 0, dayUl: 10_000 })
    expect(at(DAY - 1)).toEqual({ hourUl: 0, dayUl: 10_000 })
    expect(at(DAY)).toEqual({ hourUl: 0, dayUl: 0 })
  })

  it('has lost an unknown shot exactly one window after it may have ended', () => {
    const bench = readyBench()
    const shot = bench.mustWish('nitrate', 10_000)
    const latestMs = bench.atMs + MINUTE + shot.runMs
    bench.atMs = latestMs + DAY - 1
    bench.tick()
    expect(sums(bench)).toEqual({ hourUl: 0, dayUl: 10_000 })
    bench.atMs += 1
    expect(sums(bench)).toEqual({ hourUl: 0, dayUl: 0 })
  })

  it('counts a shot that was reported late from the last moment at which it may have ended', () => {
    const bench = readyBench()
    const shot = bench.mustWish('nitrate', 10_000)
    const latestMs = bench.atMs + MINUTE + shot.runMs
    bench.run(shot.pump, shot.runMs)
    bench.atMs += 30 * MINUTE
    bench.report(shot, 'done', shot.runMs)
    bench.atMs = latestMs + HOUR - 1
    expect(sums(bench).hourUl).toBe(10_000)
    bench.atMs += 1
    expect(sums(bench).hourUl).toBe(0)
  })

  it('counts a shot that overran from the moment of the news, since nothing bounds its end', () => {
    const bench = readyBench()
    const shot = bench.mustWish('nitrate', 10_000)
    bench.run(shot.pump, shot.runMs + 2)
    bench.atMs += 30 * MINUTE
    bench.report(shot, 'done', shot.runMs + 2)
    bench.atMs += HOUR - 1
    expect(sums(bench).hourUl).toBe(10_001)
  })
})

describe('the wait for room under a cap', () => {
  const HOURLY = { ...LIMITS, stocks: LIMITS.stocks.map((entry) => ({ ...entry, hourMaxUl: 40_000 })) }
  const nextChanceMs = (bench: Bench, volumeUl: number) => {
    const { verdict } = bench.ask('nitrate', volumeUl)
    const why = verdict.kind === 'refuse' ? verdict.why.find((row) => row.interlock === 'hour-bounded') : undefined
    return why?.notBeforeMs
  }

  it('ends when as many shots have left as it takes, to the microlitre', () => {
    const bench = readyBench(HOURLY)
    bench.dose('nitrate', 20_000)
    const firstMs = bench.atMs
    bench.pass(10 * MINUTE)
    bench.dose('nitrate', 10_000)
    const secondMs = bench.atMs
    bench.pass(10 * MINUTE)
    expect(nextChanceMs(bench, 30_000)).toBe(firstMs + HOUR)
    expect(nextChanceMs(bench, 30_001)).toBe(secondMs + HOUR)
    expect(nextChanceMs(bench, 40_000)).toBe(secondMs + HOUR)
    expect(nextChanceMs(bench, 40_001)).toBeUndefined()
  })

  it('does not count what has left the hour, and counts what is still on its way', () => {
    const bench = readyBench(HOURLY)
    bench.dose('nitrate', 40_000)
    bench.pass(HOUR)
    const shot = bench.mustWish('nitrate', 40_000)
    expect(nextChanceMs(bench, 1)).toBe(bench.atMs + MINUTE + shot.runMs + HOUR)
  })
})

describe('totalisers rebuilt from records', () => {
  const wake = (bench: Bench) => {
    bench.start(2)
    bench.status()
    return bench.beat()
  }
  const ranAlone = expect.objectContaining({ kind: 'tripped', trip: 'pump-ran-alone' })

  it('find a pump that ran while no daemon was there', () => {
    const bench = readyBench()
    bench.dose('nitrate', 10_000)
    bench.die()
    bench.run('pump-3', 1000)
    expect(wake(bench)).toContainEqual(ranAlone)
  })

  it('do not count again what ran alone before and was counted then', () => {
    const bench = readyBench()
    bench.dose('nitrate', 10_000)
    bench.run('pump-3', 1000)
    bench.pass(MINUTE)
    bench.die()
    expect(wake(bench)).not.toContainEqual(ranAlone)
    expect(bench.headroom('nitrate').hourUl).toBe(80_000 - 10_500)
  })

  it('settle what was on its way when the daemon died', () => {
    const bench = readyBench()
    const shot = bench.mustWish('nitrate', 10_000)
    bench.die()
    bench.run(shot.pump, 20_000)
    bench.atMs += 2 * MINUTE
    expect(wake(bench)).toContainEqual(
      expect.objectContaining({ commandId: shot.id, outcome: 'done', delivered: { lowUl: 10_000, highUl: 10_000 } }),
    )
    expect(bench.state.trips).toEqual([])
  })

  it('bound what a node lost in a reboot while the daemon was dead, and count its doubt once', () => {
    const bench = readyBench()
    const shot = bench.mustWish('nitrate', 10_000)
    bench.die()
    bench.run(shot.pump, 4000)
    bench.reboot('boot-2')
    const pump = bench.pumps[shot.pump]
    if (pump !== undefined) pump.doubtMs = 16_000
    expect(wake(bench)).toContainEqual(expect.objectContaining({ delivered: { lowUl: 2000, highUl: 10_000 } }))
    bench.die()
    bench.start(3)
    bench.status()
    bench.beat()
    expect(bench.headroom('nitrate').hourUl).toBe(70_000)
  })

  it('pass over rows of a node that no limit names, and refused wishes', () => {
    const bench = readyBench()
    bench.dose('nitrate', 10_000)
    expect(bench.wish('nitrate', 10_000)).toBeNull()
    const [judged] = bench.records
    if (judged?.kind !== 'judged') throw new Error('the first record is a verdict')
    bench.records.push({ ...judged, node: 'shed', commandId: 'c-shed' })
    const state = rebuildTotals(bench.limits, initialSafetyState(bench.limits), bench.records)
    expect(Object.keys(state.nodes)).toEqual(['bench'])
    expect(state.nodes['bench']?.pumps['pump-3']).toMatchObject({ totalRunMs: 21_000, doubtMs: null })
  })
})

describe('a trip from its record', () => {
  it('is latched until it is reset, and the same trip is not told twice', () => {
    const bench = readyBench()
    bench.state = relatch(bench.state, { trip: 'pump-ran-alone', why: 'pump-3 ran', atMs: bench.atMs })
    bench.run('pump-3', 1000)
    expect(bench.beat().map((told) => told.kind)).toEqual(['settled', 'lease'])
    bench.instruct({ instruction: 'reset', trip: 'pump-ran-alone' })
    expect(bench.state.trips).toEqual([])
  })
})
