/** A figure of the limits that is missing or no number refuses, in the very row that would be judged by it. */

import { describe, expect, it } from 'vitest'
import type { AcidLimits, Limits, StockLimits } from '../../src/safety/limits.ts'
import { withStock } from './arrangement.ts'
import { LIMITS, MINUTE, readyBench } from './bench.ts'
import { effectLimits } from './effect-bench.ts'

const MISSING = undefined as unknown as number

function refusals(limits: Limits, stock = 'nitrate'): readonly string[] {
  return readyBench(limits).refusals(stock, 1000)
}

describe('the response of a stock to the conductivity probe', () => {
  it.each([
    ['is missing', MISSING],
    ['is no number', Number.NaN],
    ['has no end', Number.POSITIVE_INFINITY],
    ['is 0, so that no shot would ever be seen', 0],
  ])('that %s proves nothing and bounds nothing', (_what, dsPerMPerMlPerL) => {
    const limits = effectLimits({}, { dsPerMPerMlPerL })
    expect(refusals(limits)).toEqual(['unproven-bounded', 'effect-proven'])
  })

  it('may be any of these where the stock has a reason for not being tested', () => {
    expect(refusals(effectLimits({}, { dsPerMPerMlPerL: 0, untold: 'too small to be seen' }))).toEqual([])
  })
})

describe('the grace that a report is given', () => {
  it.each([
    ['is missing', MISSING],
    ['is no number', Number.NaN],
    ['has no end', Number.POSITIVE_INFINITY],
    ['is negative', -1],
  ])('that %s leaves every stock without complete limits', (_what, reportGraceMs) => {
    expect(refusals({ ...LIMITS, reportGraceMs })).toEqual(['limits-complete'])
  })

  it('of nothing is a grace', () => {
    expect(refusals({ ...LIMITS, reportGraceMs: 0 })).toEqual([])
  })

  it('that is no number is over as soon as the clock ticks, so that a person hears of the shot', () => {
    const bench = readyBench()
    const shot = bench.mustWish('nitrate', 1000)
    bench.limits = { ...LIMITS, reportGraceMs: Number.NaN }
    bench.tick()
    expect(bench.state.book.commands).toMatchObject([{ commandId: shot.id, status: 'unknown' }])
  })
})

describe('a wait for a stock that the limits do not list', () => {
  const waitingFor = (from: string, ms: number) => withStock('nitrate', { apart: [{ from, ms }] })

  it.each([MISSING, Number.NaN])('refuses where it is %s', (ms) => {
    expect(refusals(waitingFor('silicate', ms))).toEqual(['limits-complete', 'stocks-apart'])
  })

  it('holds where that stock never ran', () => {
    expect(refusals(waitingFor('silicate', 20 * MINUTE))).toEqual([])
  })

  it('is kept for one that ran before it was taken out of the limits, to the millisecond', () => {
    const bench = readyBench(waitingFor('calcium', 20 * MINUTE))
    bench.dose('calcium', 1000)
    const { limits } = bench
    bench.limits = { ...limits, stocks: limits.stocks.filter(({ stock }) => stock !== 'calcium') }
    bench.pass(20 * MINUTE - 1)
    expect(bench.refusals('nitrate', 1000)).toEqual(['stocks-apart'])
    bench.pass(1)
    expect(bench.refusals('nitrate', 1000)).toEqual([])
  })
})

describe('a make-up meter', () => {
  const acidOnly = LIMITS.stocks.find(({ stock }) => stock === 'acid') as StockLimits
  const metered = (maxLPerMin: number): Limits => ({
    ...LIMITS,
    stocks: [acidOnly],
    meter: { id: 'meter-1', node: 'bench', maxLPerMin },
    acid: {
      ...(LIMITS.acid as AcidLimits),
      buffering: { sourceMeqPerL: 2.5, trimMeqPerHour: 4, trimMeqPerDay: 40, reservoirMeqPerL: 0.02 },
    },
  })

  it.each([
    ['nobody says', MISSING],
    ['is no number', Number.NaN],
    ['is negative', -4],
  ])('of which the most that its valve brings %s lets no acid in, not even the trim', (_what, maxLPerMin) => {
    expect(refusals(metered(maxLPerMin), 'acid')).toEqual(['acid-hour-buffered', 'acid-day-buffered'])
  })

  it('whose valve brings nothing leaves the trim', () => {
    expect(refusals(metered(0), 'acid')).toEqual([])
  })
})
