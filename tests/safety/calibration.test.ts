import { describe, expect, it } from 'vitest'
import { rebuildBook } from '../../src/safety/rebuild.ts'
import { type Bench, HOUR, MINUTE, readyBench } from './bench.ts'
import { asksForRun, withCalibration } from './interlock-cases-calibration.ts'

function ready(limits = withCalibration()): Bench {
  const bench = readyBench(limits)
  asksForRun(bench)
  return bench
}

describe('a pump run for a person', () => {
  it('is permitted though the probes are silent, since nothing of it is meant for the water', () => {
    const bench = ready()
    bench.atMs += HOUR
    bench.beat()
    expect(bench.refusals('nitrate', 20_000)).toEqual([])
    bench.purpose = undefined
    expect(bench.refusals('nitrate', 20_000)).toContain('probe-fresh')
  })

  it('counts in hour and day like a dose, so that the dose after it waits', () => {
    const bench = ready()
    const before = bench.headroom('nitrate')
    bench.dose('nitrate', 20_000)
    const after = bench.headroom('nitrate')
    expect(after.dayUl).toBe(before.dayUl - 20_000)
    expect(after.hourUl).toBe(before.hourUl - 20_000)
  })

  it('is stopped by a hold: its node had a lease for this run alone, and loses it', () => {
    const bench = ready()
    expect(bench.state.nodes['bench']?.lease.allowed).toBe(false)
    const shot = bench.mustWish('nitrate', 20_000)
    bench.edge({ edge: 'command-sent', commandId: shot.id })
    bench.beat()
    expect(bench.state.nodes['bench']?.lease.allowed).toBe(true)
    const told = bench.instruct({ instruction: 'hold' })
    expect(told).toMatchObject([{ kind: 'lease', node: 'bench', allowed: false }])
  })

  it('leaves its node without a lease once it is settled', () => {
    const bench = ready()
    bench.dose('nitrate', 20_000)
    bench.beat()
    expect(bench.state.nodes['bench']?.lease).toMatchObject({ allowed: false, why: 'the mode is observe' })
  })

  it('leaves its node without a lease once it is overdue, and counts in full', () => {
    const bench = ready()
    const shot = bench.mustWish('nitrate', 20_000)
    bench.edge({ edge: 'command-sent', commandId: shot.id })
    bench.beat()
    bench.atMs += 10 * MINUTE
    bench.tick()
    expect(bench.state.nodes['bench']?.lease.allowed).toBe(false)
    expect(bench.happenings.at(-2)).toMatchObject({ outcome: 'unknown', delivered: { highUl: 20_000 } })
  })

  it('proves nothing of a bottle that was filled anew, and the series begins with its first shot all the same', () => {
    const refill = { bottleUl: 1_000_000, sinceRefillMaxUl: 900_000, firstShotUl: 2000 }
    const limits = withCalibration()
    const stocks = limits.stocks.map((entry) => (entry.stock === 'nitrate' ? { ...entry, refill } : entry))
    const bench = readyBench({ ...limits, stocks })
    asksForRun(bench)
    bench.dose('nitrate', 20_000)
    bench.purpose = undefined
    bench.instruct({ instruction: 'mode', mode: 'automatic' })
    bench.pass(HOUR)
    expect(bench.refusals('nitrate', 2000)).toEqual([])
    expect(bench.refusals('nitrate', 2001)).toEqual(['series-doubled'])
  })

  it('is in the book of a restart as what it was', () => {
    const bench = ready()
    bench.dose('nitrate', 20_000)
    const book = rebuildBook(bench.limits, bench.records, bench.atMs)
    expect(book.stocks['nitrate']?.rows).toMatchObject([{ purpose: 'calibration', highUl: 20_000 }])
  })
})

describe('the day of runs for people', () => {
  const dayUl = (bench: Bench) => bench.ask('nitrate', 1000).verdict.figures['calibrationDayUl']

  it('counts what people had of this stock, open and settled, and no dose and no other stock', () => {
    const bench = readyBench(withCalibration())
    bench.dose('nitrate', 7000)
    bench.pass(HOUR)
    asksForRun(bench)
    expect(dayUl(bench)).toBe(0)
    bench.dose('nitrate', 20_000)
    expect(dayUl(bench)).toBe(20_000)
    bench.pass(10 * MINUTE)
    bench.mustWish('nitrate', 5000)
    expect(dayUl(bench)).toBe(25_000)
    expect(bench.ask('calcium', 1000).verdict.figures['calibrationDayUl']).toBe(0)
  })

  it('does not count a dose that is on its way', () => {
    const bench = readyBench(withCalibration())
    bench.mustWish('nitrate', 7000)
    asksForRun(bench)
    expect(dayUl(bench)).toBe(0)
  })

  it('is told as what it is wherever it is settled', () => {
    const bench = ready()
    const shot = bench.mustWish('nitrate', 20_000)
    bench.edge({ edge: 'command-sent', commandId: shot.id })
    bench.atMs += HOUR
    expect(bench.tick()[0]).toMatchObject({ kind: 'settled', outcome: 'unknown', purpose: 'calibration' })
    bench.run(shot.pump, shot.runMs)
    expect(bench.beat()[0]).toMatchObject({ kind: 'settled', outcome: 'done', purpose: 'calibration' })
    expect(bench.state.book.stocks['nitrate']?.rows).toMatchObject([{ highUl: 20_000, purpose: 'calibration' }])
  })
})

describe('a dose', () => {
  it('is never told or entered as a run for a person', () => {
    const bench = readyBench()
    bench.dose('nitrate', 7000)
    expect(bench.happenings.find(({ kind }) => kind === 'settled')).not.toHaveProperty('purpose')
    expect(bench.state.book.stocks['nitrate']?.rows[0]).not.toHaveProperty('purpose')
  })

  it('that was never sent is told without a count of its pump', () => {
    const bench = readyBench()
    const shot = bench.mustWish('nitrate', 7000)
    expect(bench.edge({ edge: 'command-not-sent', commandId: shot.id })[0]).not.toHaveProperty('totalRunMs')
  })
})
