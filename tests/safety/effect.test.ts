import { describe, expect, it } from 'vitest'
import { withEffect, withUnverified } from '../../src/safety/effect-state.ts'
import { type Bench, MINUTE } from './bench.ts'
import { effectBench, effectLimits, seenShot } from './effect-bench.ts'

const effectOf = (bench: Bench, stock = 'nitrate') => bench.state.effects[stock]
const trips = (bench: Bench) => bench.state.trips.map(({ trip }) => trip)
/** Two shots of 40 mL that each moved conductivity by so much where 0.02 was declared. */
const twice = (riseDsPerM: number, bench = effectBench()) => {
  seenShot(bench, [1.8, 1.8 + riseDsPerM])
  if (trips(bench).length === 0) seenShot(bench, [1.8 + riseDsPerM, 1.8 + 2 * riseDsPerM])
  return bench
}

describe('the effect of a shot on raw conductivity', () => {
  it('verifies what went out once it is seen as declared', () => {
    const bench = effectBench()
    seenShot(bench, [1.8, 1.82])
    expect(effectOf(bench)).toMatchObject({ unverifiedUl: 0, information: 0, agreement: 0, contrast: null })
    expect(bench.happenings).toContainEqual(expect.objectContaining({ kind: 'effect-judged', decision: 'as-declared' }))
  })

  it.each([
    ['effect-none', 0, 'empty'],
    ['effect-too-little', 0.008, 'right bottle'],
    ['effect-too-much', 0.06, 'right bottle'],
    ['effect-opposite', -0.02, 'conductivity probe'],
  ])('trips as %s, with what was expected and seen and what to look at', (trip, riseDsPerM, look) => {
    const bench = twice(riseDsPerM)
    expect(trips(bench)).toEqual([trip])
    const why = bench.state.trips[0]?.why ?? ''
    expect(why).toContain('nitrate')
    expect(why).toContain('0.02 mS/cm')
    expect(why).toContain(look)
    expect(bench.refusals('calcium')).toContain('not-tripped')
  })

  it('does not trip for one contrast alone: a probe that was touched looks the same', () => {
    const bench = effectBench()
    seenShot(bench, [1.8, 1.78])
    expect(trips(bench)).toEqual([])
    expect(effectOf(bench)).toMatchObject({ unverifiedUl: 40_000, against: 1 })
  })

  it.each([0.8, 1.2])('is as declared at %d of the declared response', (share) => {
    const bench = twice(0.02 * share)
    expect(trips(bench)).toEqual([])
    expect(effectOf(bench)?.unverifiedUl).toBe(0)
  })

  it('does not take water that left as vapour for an effect', () => {
    const bench = effectBench()
    bench.pass(20 * MINUTE, { 'ec-1': 1.8, 'level-1': 222 })
    bench.dose('nitrate', 40_000)
    bench.pass(25 * MINUTE, { 'ec-1': 1.8, 'level-1': 222 })
    // 1 % less water alone makes 0.018 mS/cm more, as much as nine tenths of the shot
    bench.pass(17 * MINUTE, { 'ec-1': (1.8 * 222) / 220, 'level-1': 220 })
    expect(effectOf(bench)).toMatchObject({ unverifiedUl: 40_000, against: 1 })
  })

  it('counts a shot of unknown outcome at its high end, and an interval as doubt', () => {
    const bench = effectBench()
    const shot = bench.mustWish('nitrate', 40_000)
    bench.edge({ edge: 'command-sent', commandId: shot.id })
    bench.atMs += shot.runMs
    bench.run('pump-3', shot.runMs)
    bench.report(shot, 'stopped', shot.runMs / 2)
    expect(effectOf(bench)).toMatchObject({ unverifiedUl: 40_000, contrast: { lowUl: 20_000, highUl: 40_000 } })
    bench.pass(25 * MINUTE, { 'ec-1': 1.8 })
    bench.pass(17 * MINUTE, { 'ec-1': 1.82 })
    // 0.015 ± 0.005 expected: not enough to verify
    expect(effectOf(bench)?.unverifiedUl).toBe(40_000)
    expect(effectOf(bench)?.information).toBeGreaterThan(0)
    expect(effectOf(bench)?.information).toBeLessThan(9)
  })

  it('trips unseen where the cap is full and the readings before and after are bad', () => {
    const bench = effectBench()
    for (let shot = 0; shot < 2; shot++) {
      bench.dose('nitrate', 40_000)
      for (let minute = 0; minute < 42; minute++) {
        bench.atMs += MINUTE
        bench.beat()
        bench.scan({ 'ec-1': 1.8 }, 'uncertain')
        bench.tick()
      }
      expect(effectOf(bench)?.information).toBe(0)
      bench.pass(12 * MINUTE, { 'ec-1': 1.8 })
    }
    bench.dose('nitrate', 19_000)
    expect(trips(bench)).toEqual(['effect-unseen'])
  })

  it.each([Number.NaN, Number.POSITIVE_INFINITY, 9])('does not average a reading of %d', (value) => {
    const bench = effectBench()
    const before = bench.state.effectBins
    bench.atMs += MINUTE
    bench.scan({ 'ec-1': value })
    expect(bench.state.effectBins).toBe(before)
  })

  it('does not average readings while the level is not known', () => {
    const bench = effectBench()
    const before = bench.state.effectBins
    bench.atMs += MINUTE
    bench.scan({ 'level-1': Number.NaN })
    expect(bench.state.effectBins).toBe(before)
  })

  it('keeps on measuring over a restart with its readings, and verifies nothing where they are lost', () => {
    const kept = effectBench()
    kept.dose('nitrate', 40_000)
    kept.pass(25 * MINUTE, { 'ec-1': 1.8 })
    kept.start(2)
    kept.status()
    const lost = effectBench()
    lost.dose('nitrate', 40_000)
    lost.pass(25 * MINUTE, { 'ec-1': 1.8 })
    lost.state = { ...lost.state, effectBins: [] }
    for (const bench of [kept, lost]) bench.pass(17 * MINUTE, { 'ec-1': 1.82 })
    expect(effectOf(kept)?.unverifiedUl).toBe(0)
    expect(effectOf(lost)).toMatchObject({ unverifiedUl: 40_000, information: 0, contrast: null })
    expect(trips(lost)).toEqual([])
  })

  it('sees a dose of one node on the probe of another', () => {
    const limits = effectLimits()
    const far = { ...limits, stocks: limits.stocks.map((entry) => ({ ...entry, node: 'cellar' })) }
    const bench = effectBench(far)
    const settlement = { atMs: bench.atMs, commandId: 'c', stock: 'nitrate', delivered: { lowUl: 4e4, highUl: 4e4 } }
    const { atMs } = bench
    const contrast = { commandId: 'c', fromMs: atMs, endMs: atMs, lowUl: 4e4, highUl: 4e4, coversUl: 4e4 }
    bench.state = withEffect(withUnverified(bench.state, settlement), 'nitrate', { contrast })
    bench.pass(25 * MINUTE, { 'ec-1': 1.8 })
    bench.pass(17 * MINUTE, { 'ec-1': 1.82 })
    expect(effectOf(bench)?.unverifiedUl).toBe(0)
  })

  it('begins anew once a person reset the trip or filled the bottle', () => {
    const bench = twice(0)
    bench.instruct({ instruction: 'reset', trip: 'effect-none' })
    expect(trips(bench)).toEqual([])
    expect(effectOf(bench)).toMatchObject({ unverifiedUl: 0, information: 0, against: 0 })
    bench.pass(2 * MINUTE)
    bench.dose('nitrate', 5000)
    expect(effectOf(bench)?.unverifiedUl).toBe(5000)
    bench.refill('nitrate', 1000)
    expect(effectOf(bench)?.unverifiedUl).toBe(0)
  })

  it('tells the planner to gather a shot that shows once a tenth of the cap is unverified', () => {
    const bench = effectBench()
    expect(bench.headroom('nitrate')).toMatchObject({ shotMinUl: 0, gapMs: 5 * MINUTE, dayUl: 100_000 })
    bench.dose('nitrate', 9999)
    bench.pass(5 * MINUTE)
    expect(bench.headroom('nitrate')).toMatchObject({ shotMinUl: 0 })
    bench.dose('nitrate', 1)
    bench.pass(5 * MINUTE)
    expect(bench.headroom('nitrate')).toMatchObject({ shotMinUl: 40_000, gapMs: 40 * MINUTE, dayUl: 90_000 })
    expect(bench.headroom('phosphate')).toMatchObject({ shotMinUl: 0 })
  })

  it('never lets more than the cap go out unverified, whatever is asked for', () => {
    const bench = effectBench(effectLimits({ driftSdDsPerM: 0.02 }))
    for (let shot = 0; shot < 12 && trips(bench).length === 0; shot++) {
      const { shotUl } = bench.headroom('nitrate')
      if (shotUl > 0) bench.dose('nitrate', Math.min(shotUl, 17_000))
      expect(effectOf(bench)?.unverifiedUl).toBeLessThanOrEqual(100_000)
      bench.pass(65 * MINUTE)
    }
    expect(trips(bench)).toEqual(['effect-unseen'])
  })
})
