import { describe, expect, it } from 'vitest'
import { headroom } from '../../src/safety/headroom.ts'
import type { AcidLimits, BaseLimits, Limits } from '../../src/safety/limits.ts'
import { withStock } from './arrangement.ts'
import { type Bench, DAY, HOUR, LIMITS, MINUTE, readyBench, SECOND } from './bench.ts'
import { effectLimits } from './effect-bench.ts'

const ACID = LIMITS.acid!
const BASE: BaseLimits = {
  ...{ meqPerMl: 1, reservoirMinL: 200, shotMaxMeqPerL: 0.02, phFreshMs: 180 * SECOND },
  ...{ phCeiling: 6.6, afterFlowMs: 30 * MINUTE, acidApartMs: HOUR },
}
const BUFFERED = {
  sourceMeqPerL: 2,
  trimMeqPerHour: 3,
  trimMeqPerDay: 20,
  reservoirMeqPerL: 0.5,
  unmeteredMeqPerHour: 1,
}
const REFILL = { bottleUl: 9_000_000, sinceRefillMaxUl: 9_000_000, firstShotUl: 9_000_000 }

const withAcid = (change: Partial<AcidLimits>): Limits => ({ ...LIMITS, acid: { ...ACID, ...change } })
const asBase = { ...withStock('nitrate', { base: true }), base: BASE }
const potassium = (dayMaxMgPerL: number): Limits => ({
  ...LIMITS,
  stocks: LIMITS.stocks.map((entry) => ({ ...entry, contentNgPerUl: entry.stock === 'nitrate' ? { K: 100 } : {} })),
  elements: { volumeL: 100, dayMaxMgPerL: { K: dayMaxMgPerL } },
})

/** The row that bounds a shot, the limits, the stock, and what is left: before any shot, and an hour after one of 1 mL. */
const BOUNDS: readonly (readonly [row: string, limits: Limits, stock: string, fresh: object, used: object])[] = [
  ['shot-bounded', LIMITS, 'nitrate', { shotUl: 40_000, shotMaxUl: 40_000 }, { shotUl: 40_000, shotMaxUl: 40_000 }],
  [
    'run-bounded',
    withStock('nitrate', { shotMaxUl: 70_000 }),
    'nitrate',
    { shotUl: 60_000, shotMaxUl: 60_000, hourUl: 80_000 },
    { shotUl: 60_000 },
  ],
  [
    'hour-bounded',
    withStock('nitrate', { hourMaxUl: 30_000 }),
    'nitrate',
    { shotUl: 30_000, hourUl: 30_000, hourMaxUl: 30_000, shotMaxUl: 40_000 },
    { shotUl: 29_000, hourUl: 29_000, hourMaxUl: 30_000, shotMaxUl: 40_000 },
  ],
  [
    'day-bounded',
    withStock('nitrate', { dayMaxUl: 30_000 }),
    'nitrate',
    { shotUl: 30_000, dayUl: 30_000, hourUl: 80_000, shotMaxUl: 40_000 },
    { shotUl: 29_000, dayUl: 29_000, hourMaxUl: 80_000 },
  ],
  [
    'stock-not-empty',
    withStock('nitrate', { refill: { ...REFILL, bottleUl: 30_000 } }),
    'nitrate',
    { shotUl: 30_000, shotMaxUl: 40_000 },
    { shotUl: 29_000, shotMaxUl: 40_000 },
  ],
  [
    'since-refill-bounded',
    withStock('nitrate', { refill: { ...REFILL, sinceRefillMaxUl: 30_000 } }),
    'nitrate',
    { shotUl: 30_000, shotMaxUl: 40_000 },
    { shotUl: 29_000, shotMaxUl: 40_000 },
  ],
  [
    'series-doubled',
    withStock('nitrate', { refill: { ...REFILL, firstShotUl: 1500 } }),
    'nitrate',
    { shotUl: 1500, shotMaxUl: 40_000 },
    { shotUl: 2000, shotMaxUl: 40_000 },
  ],
  [
    'unproven-bounded',
    effectLimits({ unverifiedMaxDsPerM: 0.01, showDsPerM: 0.004 }),
    'nitrate',
    { shotUl: 20_000, dayUl: 20_000, shotMinUl: 0, gapMs: 5 * MINUTE },
    { shotUl: 19_000, dayUl: 19_000, shotMinUl: 0 },
  ],
  [
    'acid-shot-bounded',
    withAcid({ shotMaxMeqPerL: 0.01 }),
    'acid',
    { shotUl: 2000, shotMaxUl: 2000, gapMs: 25 * MINUTE },
    { shotUl: 2000, shotMaxUl: 2000 },
  ],
  [
    'acid-hour-buffered',
    withAcid({ buffering: BUFFERED }),
    'acid',
    { shotUl: 4000, hourUl: 4000, hourMaxUl: 4000, shotMaxUl: 8000 },
    { shotUl: 3000, hourUl: 3000, hourMaxUl: 4000, shotMaxUl: 8000 },
  ],
  [
    'acid-day-buffered',
    withAcid({ buffering: { ...BUFFERED, trimMeqPerDay: 1, reservoirMeqPerL: 0.01, unmeteredMeqPerHour: 0.025 } }),
    'acid',
    // 1 of trim, 2 of 200 L, 0.6 of a day’s make-up water
    { shotUl: 3025, dayUl: 3600, hourUl: 3025 },
    { shotUl: 2025, dayUl: 2600, hourUl: 2025 },
  ],
  [
    'acid-rate-bounded',
    withAcid({ injection: { into: 'reservoir', rateMaxMeqPerL: 0.01, circulationLPerMin: 7 } }),
    'acid',
    { shotUl: 1750, shotMaxUl: 1750 },
    { shotUl: 1750, shotMaxUl: 1750 },
  ],
  [
    'base-shot-bounded',
    asBase,
    'nitrate',
    { shotUl: 4000, shotMaxUl: 4000, gapMs: 25 * MINUTE },
    { shotUl: 4000, shotMaxUl: 4000 },
  ],
  [
    'element-day-bounded',
    potassium(0.03),
    'nitrate',
    { shotUl: 30_000, dayUl: 30_000, hourUl: 80_000, shotMaxUl: 40_000 },
    { shotUl: 29_000, dayUl: 29_000 },
  ],
]

/** All waits over, and the level at 220 L to the last digit. */
function settled(limits: Limits, stock: string, usedUl: number): Bench {
  const bench = readyBench(limits)
  if (usedUl > 0) {
    bench.dose(stock, usedUl)
    bench.pass(50 * MINUTE)
  }
  bench.pass(MINUTE, { 'level-1': 220 })
  return bench
}

describe('what is left of each bound', () => {
  it.each(BOUNDS)('%s of a site that has not dosed', (row, limits, stock, fresh) => {
    const bench = settled(limits, stock, 0)
    const left = bench.headroom(stock)
    expect(left).toMatchObject({ ...fresh, blockedBy: [], blockedWhy: [], notBeforeMs: bench.atMs })
    expect(bench.refusals(stock, left.shotUl)).toEqual([])
    if (row !== 'acid-day-buffered') expect(bench.refusals(stock, left.shotUl + 1)).toEqual([row])
    else expect(bench.refusals(stock, left.dayUl + 1)).toContain(row)
  })

  it.each(BOUNDS)('%s after a shot of a millilitre', (row, limits, stock, _fresh, used) => {
    const bench = settled(limits, stock, 1000)
    const left = bench.headroom(stock)
    expect(left).toMatchObject({ ...used, blockedBy: [] })
    expect(bench.refusals(stock, left.shotUl)).toEqual([])
    if (row !== 'acid-day-buffered') expect(bench.refusals(stock, left.shotUl + 1)).toEqual([row])
    else expect(bench.refusals(stock, left.dayUl + 1)).toContain(row)
  })

  it.each([
    ['hour-bounded', withStock('nitrate', { hourMaxUl: 1000 }), { hourUl: 0, dayUl: 699_000 }],
    ['day-bounded', withStock('nitrate', { dayMaxUl: 1000 }), { hourUl: 79_000, dayUl: 0 }],
  ])('%s, used up, is a wait and names nothing that blocks', (_row, limits, left) => {
    const bench = settled(limits, 'nitrate', 1000)
    expect(bench.headroom('nitrate')).toMatchObject({ ...left, shotUl: 0, blockedBy: [], blockedWhy: [] })
    expect(bench.headroom('nitrate').notBeforeMs).toBeGreaterThan(bench.atMs)
  })

  it.each([
    ['stock-not-empty', withStock('nitrate', { refill: { ...REFILL, bottleUl: 1000 } }), 'refill it'],
    ['since-refill-bounded', withStock('nitrate', { refill: { ...REFILL, sinceRefillMaxUl: 1000 } }), 'look at'],
    ['series-doubled', withStock('nitrate', { refill: { ...REFILL, firstShotUl: 0 } }), 'at most'],
    ['unproven-bounded', effectLimits({ unverifiedMaxDsPerM: 0 }), 'not proven'],
    ['unproven-bounded', effectLimits({ unverifiedMaxDsPerM: Number.NaN }), 'do not say'],
    ['element-day-bounded', potassium(Number.NaN), 'K:'],
    ['shot-bounded', withStock('nitrate', { notFittedCapShare: 1, shotMaxUl: 0.5 }), 'at most'],
  ])('%s, with nothing left that waiting would bring, blocks and says why', (row, limits, says) => {
    const used = row === 'stock-not-empty' || row === 'since-refill-bounded' ? 1000 : 0
    const { shotUl, blockedBy, blockedWhy } = settled(limits, 'nitrate', used).headroom('nitrate')
    expect({ shotUl, blockedBy }).toEqual({ shotUl: 0, blockedBy: [row] })
    expect(blockedWhy).toHaveLength(1)
    expect(blockedWhy[0]).toContain(says)
  })
})

describe('what blocks a plan that nobody approved', () => {
  it('is told without the name of any plan', () => {
    const bench = readyBench({ ...LIMITS, mode: 'advise' })
    expect(bench.headroom('nitrate').blockedWhy).toEqual(['the mode is advise and nobody has approved a plan'])
  })
})

describe('the least volume that a pump can give', () => {
  it('is what a full hour is asked about: a fast pump gives no single microlitre', () => {
    const bench = readyBench(withStock('nitrate', { rateUlPerS: 4500, hourMaxUl: 40_000 }))
    bench.dose('nitrate', 40_000)
    const endedMs = bench.atMs
    bench.pass(10 * MINUTE)
    // 4 µL are left, for which the pump would run no millisecond; 5 are too much
    expect(bench.headroom('nitrate')).toMatchObject({
      hourUl: 4,
      shotUl: 0,
      blockedBy: [],
      notBeforeMs: endedMs + HOUR,
    })
  })

  it('is given where just that is left', () => {
    const bench = readyBench(withStock('nitrate', { rateUlPerS: 4000, hourMaxUl: 4 }))
    expect(bench.headroom('nitrate')).toMatchObject({ shotUl: 4, hourUl: 4, blockedBy: [] })
  })
})

describe('the largest shot ever', () => {
  const unheard = (limits: Limits) => {
    const bench = readyBench(limits)
    bench.start(2)
    return bench
  }

  it('of a stock whose node was not heard is its cap, its other bounds as before', () => {
    expect(unheard(LIMITS).headroom('nitrate')).toMatchObject({ shotMaxUl: 40_000, shotMinUl: 0 })
    expect(unheard(withAcid({ shotMaxMeqPerL: 0.01 })).headroom('acid')).toMatchObject({ shotMaxUl: 2000 })
  })

  it('of an acid counts the declared water and circulation while neither is read', () => {
    const injection = { into: 'reservoir', rateMaxMeqPerL: 0.01, circulationLPerMin: 7 } as const
    expect(unheard(withAcid({ injection })).headroom('acid')).toMatchObject({ shotUl: 0, shotMaxUl: 1750 })
    const low = readyBench(withAcid({ injection }))
    low.scan({ 'flow-1': 5, 'level-1': 150 })
    expect(low.headroom('acid')).toMatchObject({ shotMaxUl: 1250 })
    low.scan({ 'flow-1': Number.NaN, 'level-1': Number.NaN })
    expect(low.headroom('acid')).toMatchObject({ shotUl: 0, shotMaxUl: 1750 })
  })

  it('is none where the node lets the pump run no millisecond', () => {
    const bench = readyBench()
    const node = bench.state.nodes['bench']!
    const pumps = { ...node.pumps, 'pump-3': { ...node.pumps['pump-3']!, maxRunMs: 0 } }
    bench.state = { ...bench.state, nodes: { bench: { ...node, pumps } } }
    expect(bench.headroom('nitrate')).toMatchObject({ shotUl: 0, shotMaxUl: 0, hourUl: 80_000 })
  })
})

describe('a shot that is to be seen', () => {
  const used = (change: Parameters<typeof effectLimits>[0], usedUl: number, limits = effectLimits(change)) => {
    const bench = readyBench(limits)
    bench.state = {
      ...bench.state,
      effects: { nitrate: { unverifiedUl: usedUl, information: 0, agreement: 0, against: 0, contrast: null } },
    }
    bench.pass(MINUTE, { 'level-1': 220 })
    return bench.headroom('nitrate')
  }
  const APART = 40 * MINUTE

  it('is asked for from a tenth of the cap on, and then apart by mixing and the window', () => {
    expect(used({}, 9999)).toMatchObject({ shotMinUl: 0, gapMs: 5 * MINUTE })
    expect(used({}, 10_000)).toMatchObject({ shotMinUl: 40_000, gapMs: APART, shotUl: 40_000, dayUl: 90_000 })
  })

  it('is as large as shows, as the cap leaves, or as ever may be, whichever is least', () => {
    expect(used({ showDsPerM: 0.01 }, 10_000)).toMatchObject({ shotMinUl: 20_000 })
    expect(used({}, 70_000)).toMatchObject({ shotMinUl: 30_000, shotUl: 30_000 })
    expect(used({}, 100_000)).toMatchObject({ shotMinUl: 0, shotUl: 0, dayUl: 0, blockedBy: ['unproven-bounded'] })
    const short = withRun(effectLimits({}), 30_000)
    expect(used({}, 10_000, short)).toMatchObject({ shotMinUl: 30_000, shotMaxUl: 30_000 })
  })

  it('is not asked for where the site or the stock is not tested', () => {
    expect(used({}, 10_000, LIMITS)).toMatchObject({ shotMinUl: 0, gapMs: 5 * MINUTE, dayUl: 700_000 })
    const untold = effectLimits({}, { untold: 'too small to be seen' })
    expect(used({}, 10_000, untold)).toMatchObject({ shotMinUl: 0, gapMs: 5 * MINUTE, dayUl: 700_000 })
    const none = readyBench(withoutEffect(effectLimits()))
    expect(none.headroom('nitrate')).toMatchObject({ shotMinUl: 0, dayUl: 0, gapMs: 5 * MINUTE })
  })

  function withRun(limits: Limits, shotUl: number): Limits {
    // a slower pump, so that the node’s longest run is the bound
    const rateUlPerS = shotUl / 120
    return { ...limits, stocks: limits.stocks.map((e) => (e.stock === 'nitrate' ? { ...e, rateUlPerS } : e)) }
  }

  function withoutEffect({ effect: _none, ...limits }: Limits): Limits {
    return limits
  }
})

describe('a ration', () => {
  const site = (change: object = {}, rest: Partial<Limits> = {}): Limits => ({
    ...LIMITS,
    meter: { id: 'meter-1', node: 'bench', maxLPerMin: 5 },
    ration: {
      ...{ reason: 'a crop starves', covers: ['conductivity'], lastsMs: 3 * DAY },
      stocks: [{ stock: 'nitrate', ulPerL: 200, dayMaxUl: 1900, ...change }],
    },
    ...rest,
  })
  function bench(limits: Limits, litres: number): Bench {
    const ready = readyBench(limits)
    ready.instruct({ instruction: 'ration', decision: 'approve' })
    ready.meter(100)
    ready.pass(10 * MINUTE)
    ready.meter(100 + litres)
    ready.scan({ 'ec-1': Number.NaN })
    return ready
  }

  it.each([
    ['the make-up water', {}, {}, 8, 1600],
    ['its own cap for the day', {}, {}, 10, 1900],
    ['what any shot is bounded by', {}, withStock('nitrate', { shotMaxUl: 700 }), 10, 700],
    ['no figure, and so nothing', { ulPerL: Number.NaN }, {}, 10, 0],
    ['no cap, and so nothing', { dayMaxUl: Number.NaN }, {}, 10, 0],
  ])('goes up to %s', (_what, change, rest, litres, rationUl) => {
    const ready = bench(site(change, rest), litres)
    expect(ready.headroom('nitrate')).toMatchObject({ shotUl: 0, rationUl })
    ready.purpose = 'ration'
    if (rationUl > 0) expect(ready.refusals('nitrate', rationUl)).toEqual([])
    expect(ready.refusals('nitrate', rationUl + 1)).not.toEqual([])
  })

  it('counts what went in of the stock before, and none is told where nobody approved one', () => {
    const ready = readyBench(site())
    ready.dose('nitrate', 500)
    expect(ready.headroom('nitrate')).not.toHaveProperty('rationUl')
    ready.instruct({ instruction: 'ration', decision: 'approve' })
    ready.meter(100)
    ready.pass(10 * MINUTE)
    ready.meter(108)
    ready.scan({ 'ec-1': Number.NaN })
    expect(ready.headroom('nitrate')).toMatchObject({ rationUl: 1100 })
    ready.instruct({ instruction: 'hold' })
    expect(ready.headroom('nitrate')).toMatchObject({ rationUl: 0 })
  })

  it('in the advise mode is for the plan that was approved', () => {
    const ready = bench(site({}, { mode: 'advise' }), 8)
    expect(ready.headroom('nitrate')).toMatchObject({ rationUl: 0 })
    ready.instruct({ instruction: 'approve', planId: 'plan-1' })
    expect(ready.headroom('nitrate')).toMatchObject({ rationUl: 1600 })
  })

  it('is told with the one probe that is lost, where one is', () => {
    const lost = (ready: Bench) => headroom(ready.limits, ready.state, ready.atMs)
    expect(lost(bench(site(), 8))).toMatchObject({ lostProbe: 'ec-1' })
    expect(lost(readyBench(site()))).not.toHaveProperty('lostProbe')
  })
})
