import { describe, expect, it } from 'vitest'
import { withStock } from './arrangement.ts'
import { DAY, MINUTE, readyBench } from './bench.ts'

const REFILL = { bottleUl: 50_000, sinceRefillMaxUl: 40_000, firstShotUl: 1000 }

describe('a bottle', () => {
  it('is not drawn from by a shot that did not run', () => {
    const bench = readyBench()
    bench.report(bench.mustWish('nitrate', 1000), 'refused', 0)
    expect(bench.state.bottles).toEqual({})
  })

  it('keeps what went out of it for a day, to the millisecond', () => {
    const bench = readyBench()
    bench.dose('nitrate', 1000)
    const firstMs = bench.atMs
    const rows = () => bench.state.bottles['nitrate']?.lately
    const dose = () => {
      const shot = bench.mustWish('nitrate', 1000)
      bench.run(shot.pump, shot.runMs)
      bench.report(shot, 'done', shot.runMs)
    }
    expect(rows()).toEqual([{ atMs: firstMs, highUl: 1000 }])
    bench.pass(firstMs + DAY - 1 - bench.atMs)
    dose()
    expect(rows()).toHaveLength(2)
    bench.pass(10 * MINUTE)
    dose()
    expect(rows()?.map((row) => row.atMs - firstMs)).toEqual([DAY - 1, DAY - 1 + 10 * MINUTE])
  })

  it('has lost a row exactly a day after it', () => {
    const bench = readyBench()
    bench.dose('nitrate', 1000)
    const firstMs = bench.atMs
    bench.pass(DAY)
    const shot = bench.mustWish('nitrate', 1000)
    bench.run(shot.pump, shot.runMs)
    bench.report(shot, 'done', shot.runMs)
    expect(bench.state.bottles['nitrate']?.lately).toEqual([{ atMs: firstMs + DAY, highUl: 1000 }])
  })

  it('that is not checked bounds nothing, and its figures are none', () => {
    const bench = readyBench(withStock('nitrate', { refill: { notChecked: 'a barrel' } }))
    expect(bench.headroom('nitrate')).toMatchObject({ shotUl: 40_000, blockedBy: [] })
    const { figures } = bench.ask('nitrate', 1000).verdict
    expect(figures).toMatchObject({ bottleChecked: false, bottleUl: null, sinceRefillUl: null, seriesUl: null })
  })
})

describe('a refill', () => {
  /** The figures after it, of a bottle from which 2 mL went out an hour ago. */
  function after(volumeMl: number, agoMs: number, withShot = true) {
    const bench = readyBench(withStock('nitrate', { refill: REFILL }))
    if (withShot) bench.dose('nitrate', 1000)
    if (withShot) bench.pass(30 * MINUTE)
    if (withShot) bench.dose('nitrate', 2000)
    const doneMs = bench.atMs
    bench.refill('nitrate', volumeMl, doneMs - agoMs)
    return bench.ask('nitrate', 1).verdict.figures
  }
  const OLD = { bottleUl: 50_000, sinceRefillUl: 3000, seriesUl: 4000 }

  it('of a bottle that was never drawn from counts from nothing', () => {
    expect(after(20, 0, false)).toMatchObject({ bottleUl: 20_000, sinceRefillUl: 0, seriesUl: 1000 })
  })

  it.each([0, -1, 0.000_999, Number.NaN, Number.POSITIVE_INFINITY])('of %s mL is none', (volumeMl) => {
    expect(after(volumeMl, 0)).toMatchObject(OLD)
  })

  it('counts from a microlitre on', () => {
    expect(after(0.001, 0)).toMatchObject({ bottleUl: 1, sinceRefillUl: 0, seriesUl: 1000 })
  })

  it.each([-1, DAY, DAY + 1, Number.NaN])('done %s ms ago is none', (agoMs) => {
    expect(after(20, agoMs)).toMatchObject(OLD)
  })

  it.each([
    [0, 0],
    [1, 2000],
    [31 * MINUTE, 3000],
    [DAY - 1, 3000],
  ])('done %s ms ago has given what was settled after it: %s µL', (agoMs, sinceRefillUl) => {
    expect(after(20, agoMs)).toMatchObject({ bottleUl: 20_000, sinceRefillUl, seriesUl: 1000 })
  })
})
