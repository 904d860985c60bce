import { describe, expect, it } from 'vitest'
import { acidDayMaxUl, acidHourMaxUl, acidRateMaxUl } from '../../src/safety/acid-allowance.ts'
import { acidShotMaxUl, baseShotMaxUl } from '../../src/safety/acid-shot.ts'
import { type Facts, factsFor } from '../../src/safety/facts.ts'
import type { BufferingLimits, InjectionLimits, Limits } from '../../src/safety/limits.ts'
import { DAY, HOUR, LIMITS, MINUTE, readyBench, SECOND } from './bench.ts'

/** Acid of 2 meq/mL, so that a strength that is multiplied where it should divide shows. */
const ACID = { ...LIMITS.acid!, meqPerMl: 2 }
const BUFFERING: BufferingLimits = {
  ...{ sourceMeqPerL: 3, trimMeqPerHour: 1, trimMeqPerDay: 5, reservoirMeqPerL: 0.5, unmeteredMeqPerHour: 4 },
}
const LINE: InjectionLimits = { into: 'line', rateMaxMeqPerL: 5, circulationLPerMin: 7 }
const METER = { meter: { id: 'meter-1', node: 'bench', maxLPerMin: 5 } }
const NOT = [Number.NaN, -0.001, undefined as never]

function site(acid: Partial<Limits['acid'] & object>, more: Partial<Limits> = {}): Limits {
  return { ...LIMITS, ...more, acid: { ...ACID, ...acid } }
}

/** Water of 210 L, of which 200 count; 6 L/min; 10 L of make-up water in the hour and 100 L in the day. */
function facts(change: Partial<Facts> = {}): Facts {
  const { state, atMs } = readyBench()
  const well = factsFor(LIMITS, state, { stock: 'acid', atMs })
  const water = { levelFitted: true, levelLowestL: 210, flowFitted: true, flowLowestLPerMin: 6, rateUlPerS: 250 }
  return { ...well, ...water, makeUpHourL: 10, makeUpDayL: 100, ...change }
}

describe('the acid of an hour', () => {
  it('is the trim and what its metered make-up water takes up, or without a meter what is declared', () => {
    expect(acidHourMaxUl(facts(), site({ buffering: BUFFERING }, METER))).toBe(15_500)
    expect(acidHourMaxUl(facts(), site({ buffering: BUFFERING }))).toBe(2500)
    expect(acidHourMaxUl(facts(), site({}))).toBe(Number.POSITIVE_INFINITY)
    expect(acidHourMaxUl(facts(), { ...LIMITS, acid: undefined as never })).toBe(Number.POSITIVE_INFINITY)
  })

  it('is none where a figure of it is none, and asks for no other', () => {
    for (const value of NOT) {
      const of = (name: keyof BufferingLimits, more: Partial<Limits>) =>
        acidHourMaxUl(facts(), site({ buffering: { ...BUFFERING, [name]: value } }, more))
      expect(of('trimMeqPerHour', {})).toBeNaN()
      expect(of('sourceMeqPerL', METER)).toBeNaN()
      expect(of('unmeteredMeqPerHour', {})).toBeNaN()
      expect([of('sourceMeqPerL', {}), of('unmeteredMeqPerHour', METER), of('trimMeqPerDay', {})]).toEqual([
        ...[2500, 15_500, 2500],
      ])
    }
    const none = { ...BUFFERING, trimMeqPerHour: 0, sourceMeqPerL: 0, unmeteredMeqPerHour: 0 }
    expect(acidHourMaxUl(facts(), site({ buffering: none }))).toBe(0)
    expect(acidHourMaxUl(facts(), site({ buffering: none }, METER))).toBe(0)
  })
})

describe('the acid of a day', () => {
  it('is the trim, what the water in the reservoir takes up and what its make-up water does', () => {
    expect(acidDayMaxUl(facts(), site({ buffering: BUFFERING }, METER))).toBe((5 + 100 + 300) * 500)
    expect(acidDayMaxUl(facts(), site({ buffering: BUFFERING }))).toBe((5 + 100 + 96) * 500)
    expect(acidDayMaxUl(facts({ levelLowestL: 150 }), site({ buffering: BUFFERING }))).toBe((5 + 75 + 96) * 500)
    expect(acidDayMaxUl(facts({ levelLowestL: 150, levelFitted: false }), site({ buffering: BUFFERING }))).toBe(100_500)
    expect(acidDayMaxUl(facts(), site({}))).toBe(Number.POSITIVE_INFINITY)
    expect(acidDayMaxUl(facts(), { ...LIMITS, acid: undefined as never })).toBe(Number.POSITIVE_INFINITY)
  })

  it('is none where a figure of it is none', () => {
    for (const value of NOT) {
      for (const name of ['trimMeqPerDay', 'reservoirMeqPerL', 'unmeteredMeqPerHour'] as const)
        expect(acidDayMaxUl(facts(), site({ buffering: { ...BUFFERING, [name]: value } }))).toBeNaN()
      const unknown = site({ buffering: { ...BUFFERING, sourceMeqPerL: value } }, METER)
      expect(acidDayMaxUl(facts(), unknown)).toBeNaN()
    }
    const zero = { ...BUFFERING, trimMeqPerDay: 0, reservoirMeqPerL: 0, unmeteredMeqPerHour: 0 }
    expect(acidDayMaxUl(facts(), site({ buffering: zero }))).toBe(0)
  })
})

describe('acid into the line', () => {
  // 250 µL/s of 2 meq/mL is 30 meq/min; 5 meq/L of 6 L/min carries 30 away
  it.each<[string, Partial<Facts>, Partial<InjectionLimits>, Partial<Limits>, number]>([
    ['is free where the flow carries away what the pump brings', {}, {}, {}, Infinity],
    ['is none for a faster pump', { rateUlPerS: 250.001 }, {}, {}, 0],
    ['is none in less flow', { flowLowestLPerMin: 5.999 }, {}, {}, 0],
    ['counts on no more than is declared', { flowLowestLPerMin: 60 }, { circulationLPerMin: 5.999 }, {}, 0],
    ['counts on all that is declared', { flowLowestLPerMin: 60 }, { circulationLPerMin: 6 }, {}, Infinity],
    [
      'counts on what is declared where a switch tells of flow',
      { flowLowestLPerMin: 1 },
      {},
      { flowIsSwitch: true },
      Infinity,
    ],
    ['asks that switch for no litres', { flowLowestLPerMin: 60 }, { circulationLPerMin: 5 }, { flowIsSwitch: true }, 0],
    ['is never known without a flow probe', { flowFitted: false }, {}, {}, Number.NaN],
    ['is never known of a pump of no rate', { rateUlPerS: 0 }, {}, {}, Number.NaN],
    ['is never known of a pump that runs backwards', { rateUlPerS: -1 }, {}, {}, Number.NaN],
    ['is none where nothing may pass', {}, { rateMaxMeqPerL: 0 }, {}, 0],
    [
      'is no number, and so refuses a shot of nothing as well, where the flow is no number',
      { flowLowestLPerMin: Number.NaN },
      {},
      {},
      Number.NaN,
    ],
    ['is no number where what may pass is negative', {}, { rateMaxMeqPerL: -1 }, {}, Number.NaN],
  ])('%s', (_what, change, injection, more, maxUl) => {
    expect(acidRateMaxUl(facts(change), site({ injection: { ...LINE, ...injection } }, more))).toBe(maxUl)
  })
})

describe('acid into the reservoir', () => {
  const INTO: InjectionLimits = { into: 'reservoir', rateMaxMeqPerL: 0.05, circulationLPerMin: 7 }
  const rate = (change: Partial<Facts>, injection: Partial<InjectionLimits> = {}, more: Partial<Limits> = {}) =>
    acidRateMaxUl(facts(change), site({ injection: { ...INTO, ...injection } }, more))

  it('is what the circulation of a mixing time carries', () => {
    // 0.05 meq/L × 6 L/min × 25 min at 2 meq/mL
    expect(rate({})).toBe(3750)
    expect(rate({ flowLowestLPerMin: 60 })).toBe(4375)
    expect(rate({ flowFitted: false })).toBe(2187)
    expect(rate({ flowFitted: false }, {}, { notFittedCapShare: 1 })).toBe(4375)
    expect(rate({ flowLowestLPerMin: 1 }, {}, { flowIsSwitch: true })).toBe(4375)
    expect(rate({}, { rateMaxMeqPerL: 0 })).toBe(0)
    expect(rate({}, { circulationLPerMin: 0 })).toBe(0)
    expect(rate({}, {}, { mixingMs: 2 * 25 * MINUTE })).toBe(7500)
  })

  it('is none where a figure of it is none', () => {
    for (const value of NOT) {
      expect(rate({}, { rateMaxMeqPerL: value })).toBeNaN()
      expect(rate({}, { circulationLPerMin: value })).toBeNaN()
    }
    expect(rate({ flowFitted: false }, {}, { notFittedCapShare: 1.001 })).toBeNaN()
    expect(rate({ flowLowestLPerMin: Number.NaN })).toBeNaN()
  })

  it('is not bounded where nobody declared where the acid goes in', () => {
    expect(acidRateMaxUl(facts(), site({}))).toBe(Number.POSITIVE_INFINITY)
    expect(acidRateMaxUl(facts(), { ...LIMITS, acid: undefined as never })).toBe(Number.POSITIVE_INFINITY)
  })
})

describe('one shot of acid or base', () => {
  it('counts the declared least water, or the level where that is less, to the microlitre', () => {
    const base = { ...ACID, phCeiling: 6.6, acidApartMs: HOUR }
    const limits = { ...site({}), base }
    for (const maxUl of [acidShotMaxUl, baseShotMaxUl]) {
      expect(maxUl(facts(), limits)).toBe(4000)
      expect(maxUl(facts({ levelLowestL: 199.99 }), limits)).toBe(3999)
      expect(maxUl(facts({ levelLowestL: 100, levelFitted: false }), limits)).toBe(4000)
      expect(maxUl(facts({ levelLowestL: Number.NaN }), limits)).toBeNaN()
      expect(maxUl(facts(), { ...LIMITS, acid: undefined as never })).toBeNaN()
    }
  })
})

describe('what the book says of acid', () => {
  it('is told for an acid alone, in sums over every acid stock, each window by itself', () => {
    const stocks = LIMITS.stocks.map((entry) => (entry.stock === 'nitrate' ? { ...entry, acid: true } : entry))
    const bench = readyBench({ ...LIMITS, stocks })
    bench.dose('acid', 1000)
    bench.pass(HOUR)
    bench.dose('nitrate', 500)
    bench.pass(MINUTE)
    const sums = (stock: string) => bench.ask(stock, 1).verdict.figures
    for (const stock of ['acid', 'nitrate']) expect(sums(stock)).toMatchObject({ acidHourUl: 500, acidDayUl: 1500 })
    expect(sums('calcium')).toMatchObject({ acidHourUl: 0, acidDayUl: 0, sinceAcidMs: MINUTE })
    bench.pass(DAY - 2 * MINUTE)
    expect(sums('acid')).toMatchObject({ acidHourUl: 0, acidDayUl: 500 })
  })

  it('gives no wait for a stock that no limit names', () => {
    const bench = readyBench()
    const gone = factsFor(LIMITS, bench.state, { stock: 'gone', atMs: bench.atMs })
    expect([gone.waitForAcidMs(1, 1, 1), gone.waitForRoomMs(1, 1, 1)]).toEqual([null, null])
    const acid = factsFor(LIMITS, bench.state, { stock: 'acid', atMs: bench.atMs })
    expect(acid.waitForAcidMs(1, 1, SECOND)).toBe(0)
  })
})
