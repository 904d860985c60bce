import { describe, expect, it } from 'vitest'
import type { BaseLimits, Limits } from '../../src/safety/limits.ts'
import { type Bench, DAY, HOUR, LIMITS, MINUTE, readyBench, SECOND } from './bench.ts'

const BASE: BaseLimits = {
  ...{ meqPerMl: 2, reservoirMinL: 200, shotMaxMeqPerL: 0.02, phFreshMs: 180 * SECOND },
  ...{ phCeiling: 6.6, afterFlowMs: 30 * MINUTE, acidApartMs: HOUR },
}
/** A site that has nearly all there is: a meter, a ration, capped potassium, an acid and a base. */
const RICH: Limits = {
  ...LIMITS,
  stocks: LIMITS.stocks.map((entry) => ({
    ...entry,
    ...(entry.stock === 'phosphate' ? { base: true } : {}),
    ...(entry.stock === 'nitrate' ? { calibration: { runMaxUl: 5000, dayMaxUl: 9000 } } : {}),
    contentNgPerUl: entry.stock === 'acid' ? { K: 10 } : {},
  })),
  meter: { id: 'meter-1', node: 'bench', maxLPerMin: 5 },
  elements: { volumeL: 100, dayMaxMgPerL: { K: 5, P: 2 } },
  ration: {
    ...{ reason: 'a crop starves', covers: ['ph', 'estimator'], lastsMs: 3 * DAY },
    stocks: [{ stock: 'acid', ulPerL: 2, dayMaxUl: 500 }],
  },
  acid: {
    ...LIMITS.acid!,
    buffering: { sourceMeqPerL: 2, trimMeqPerHour: 3, trimMeqPerDay: 20, reservoirMeqPerL: 0.5 },
    injection: { into: 'reservoir', rateMaxMeqPerL: 0.05, circulationLPerMin: 7 },
  },
  base: BASE,
}

/** Two shots went out, 10 L came in, somebody approved a ration, and all was read ten seconds ago. */
function richBench(): Bench {
  const bench = readyBench(RICH)
  bench.dose('acid', 2000)
  bench.pass(20 * MINUTE)
  bench.dose('calcium', 5000)
  bench.meter(100)
  bench.pass(6 * MINUTE)
  bench.meter(110)
  bench.instruct({ instruction: 'ration', decision: 'approve' })
  const water = { 'ec-1': 1.8, 'ph-1': 6, 'temperature-1': 20, 'level-1': 210, 'flow-1': 8 }
  bench.scan(water)
  bench.atMs += 4 * SECOND
  bench.scan(water)
  bench.beat()
  bench.atMs += 10 * SECOND
  return bench
}

const figuresOf = (bench: Bench, stock: string, volumeUl = 1000) => bench.ask(stock, volumeUl).verdict.figures

const WATER = {
  ...{ levelFitted: true, levelLowestL: 210, levelHighestL: 210, flowFitted: true, flowLowestLPerMin: 8 },
  ...{ phLowest: 6, phHighest: 6, phOldestAgeMs: 10 * SECOND },
  ...Object.fromEntries(
    Object.entries({ 'ec-1': 1.8, 'ph-1': 6, 'temperature-1': 20, 'level-1': 210, 'flow-1': 8 }).flatMap(
      ([id, value]) => [
        [`${id}.value`, value],
        [`${id}.quality`, 'good'],
        [`${id}.ageMs`, 10 * SECOND],
        [`${id}.sameForMs`, 4 * SECOND],
      ],
    ),
  ),
}
const STANDING = {
  ...{ started: true, term: 1, mode: 'automatic', approvedPlanId: null, approvalAgeMs: null, heldBy: null },
  ...{ sanitising: null, switchHeld: null, linkUp: true, diskWritable: true, clockSane: true, commandIdNew: true },
  ...{ trips: '', missingSensors: '', lost: '', startWindowMs: MINUTE, mixingMs: 25 * MINUTE, openFromBefore: null },
  ...{ openFromBeforeNode: null, planId: 'plan-1', volumeUl: 1000, purpose: null },
}
const RATION = {
  ...{ rationBy: 'ines', rationAgeMs: 14 * SECOND, rationLastsMs: 3 * DAY, rationReason: 'a crop starves' },
  ...{ rationCovers: 'ph estimator', meterAgeMs: 14 * SECOND },
}
/** What nobody can know of a stock without an entry. */
const UNKNOWN = `
  approvalAgeMs heartbeatAgeMs nodeUptimeMs nodeTerm maxRunMs totalRunMs doubtMs runningPump rateUlPerS hourUl dayUl
  sinceShotMs gapMs bottleUl sinceRefillUl sinceRefillMaxUl seriesUl unverifiedUl unverifiedMaxUl showUl effectWaitMs
  openOfPump openOfNode sinceAcidMs sinceBaseMs acidHourUl acidDayUl makeUpHourL makeUpDayL meterL meterAtMs boot
  rationUlPerL rationDayMaxUl shotMaxUl hourMaxUl dayMaxUl runMs acidShotMaxUl acidHourMaxUl acidDayMaxUl acidRateMaxUl
  baseShotMaxUl`
  .trim()
  .split(/\s+/)

describe('the figures on record of a verdict', () => {
  it('are all that an acid shot is judged by, and nothing else', () => {
    const bench = richBench()
    const flowingForMs = bench.atMs - bench.state.readings['flow-1']!.flowingSinceMs!
    expect(flowingForMs).toBeGreaterThan(HOUR)
    expect(figuresOf(bench, 'acid')).toEqual({
      ...STANDING,
      ...WATER,
      ...RATION,
      flowingForMs,
      ...{ atMs: bench.atMs, stock: 'acid', limitsComplete: true },
      ...{ node: 'bench', pump: 'pump-4', nodeOnline: true, contractKnown: true, boot: 'boot-1' },
      ...{ heartbeatAgeMs: 10 * SECOND, nodeUptimeMs: bench.uptimeMs, nodeTerm: 1, maxRunMs: 120_000, doubtMs: 0 },
      ...{ totalRunMs: 7000, runningPump: null, rateUlPerS: 20_000 / 60, runMs: 3000 },
      ...{ hourUl: 2000, dayUl: 2000, shotMaxUl: 8000, hourMaxUl: 16_000, dayMaxUl: 250_000, gapMs: 10 * MINUTE },
      ...{ sinceShotMs: 26 * MINUTE + 24 * SECOND, openOfPump: null, openOfNode: null },
      ...{
        bottleChecked: true,
        bottleUl: 9_000_000,
        sinceRefillUl: 2000,
        sinceRefillMaxUl: 9_000_000,
        seriesUl: 9_000_000,
      },
      ...{ effectChecked: false, unverifiedUl: null, unverifiedMaxUl: null, showUl: null, effectWaitMs: null },
      ...{ isAcid: true, isBase: false, sinceAcidMs: 26 * MINUTE + 24 * SECOND, sinceBaseMs: null },
      ...{ acidHourUl: 2000, acidDayUl: 2000, makeUpHourL: 10, makeUpDayL: 10 },
      ...{ meterL: 110, meterAtMs: bench.atMs - 14 * SECOND, rationUlPerL: 2, rationDayMaxUl: 500 },
      // 3 of trim and 20 of water; 20 of trim, 20 of water and 100 of the reservoir; 0.05 × 7 L/min × 25 min
      ...{
        acidShotMaxUl: 8000,
        acidHourMaxUl: 23_000,
        acidDayMaxUl: 140_000,
        acidRateMaxUl: 8750,
        baseShotMaxUl: null,
      },
      ...{ 'K.dayNg': 20_000, 'K.dayMaxNg': 500_000_000, 'K.ngPerUl': 10 },
      'calcium.sinceMs': 6 * MINUTE + 14 * SECOND,
    })
  })

  it('tell of a base what bounds it, and of an acid’s bounds nothing', () => {
    const figures = figuresOf(richBench(), 'phosphate')
    const none = { acidShotMaxUl: null, acidHourMaxUl: null, acidDayMaxUl: null, acidRateMaxUl: null }
    expect(figures).toMatchObject({ ...none, isAcid: false, isBase: true, baseShotMaxUl: 2000, acidDayUl: 0 })
    expect(figuresOf(richBench(), 'calcium')).toMatchObject({ ...none, isBase: false, baseShotMaxUl: null })
  })

  it('tell of a stock that no limit names the water, what stands of the house, and null for all else', () => {
    const bench = richBench()
    const figures = figuresOf(bench, 'gone')
    expect(figures).toMatchObject({
      ...STANDING,
      ...WATER,
      ...RATION,
      ...Object.fromEntries(UNKNOWN.map((name) => [name, null])),
      ...{ atMs: bench.atMs, stock: 'gone', limitsComplete: false, node: '', pump: '', nodeOnline: false },
      ...{ contractKnown: false, bottleChecked: true, effectChecked: true, isAcid: false, isBase: false },
    })
    expect(Object.keys(figures).filter((name) => name.endsWith('.sinceMs') || name.endsWith('Ng'))).toEqual([])
  })

  it('tell of a run into a glass its own caps and what hangs in it, and of no dose', () => {
    const bench = richBench()
    expect(figuresOf(bench, 'nitrate')).not.toHaveProperty('calibrationRunMaxUl')
    expect(figuresOf(bench, 'nitrate')).not.toHaveProperty('withWater')
    bench.purpose = 'calibration'
    const glass = { calibrationRunMaxUl: 5000, calibrationDayMaxUl: 9000, calibrationDayUl: 0, purpose: 'calibration' }
    expect(figuresOf(bench, 'nitrate')).toMatchObject({ ...glass, withWater: null })
    for (const withWater of [true, false]) {
      bench.withWater = withWater
      expect(figuresOf(bench, 'nitrate')).toMatchObject({ ...glass, withWater })
    }
    expect(figuresOf(bench, 'acid')).toMatchObject({ calibrationRunMaxUl: null, calibrationDayMaxUl: null })
    expect(figuresOf(bench, 'gone')).toMatchObject({ calibrationRunMaxUl: null, calibrationDayUl: null })
  })

  it('are null for a figure that the limits lack', () => {
    const bench = richBench()
    bench.limits = { ...RICH, startWindowMs: undefined as never, mixingMs: undefined as never }
    expect(figuresOf(bench, 'nitrate')).toMatchObject({ startWindowMs: null, mixingMs: null })
  })

  it('name what tripped, what is lost and what is missing, each by its name', () => {
    const bench = richBench()
    bench.state = {
      ...bench.state,
      trips: ['pump-overran', 'unasked-run'].map((trip) => ({ trip, subject: '', why: '', atMs: 0 })),
    }
    bench.scan({ 'ec-1': Number.NaN, 'ph-1': Number.POSITIVE_INFINITY })
    expect(figuresOf(bench, 'nitrate')).toMatchObject({
      ...{ trips: 'pump-overran unasked-run', lost: 'ec-1 ph-1', 'ec-1.value': null, 'ph-1.value': null },
    })
    const bare = readyBench({ ...RICH, probes: RICH.probes.slice(1, 3) })
    expect(figuresOf(bare, 'nitrate')).toMatchObject({ missingSensors: 'conductivity level flow' })
  })
})
