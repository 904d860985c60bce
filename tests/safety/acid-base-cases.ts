/** Acid against what takes it up, base as its mirror, and elements over all stocks: each rule at its edge. */

import type { AcidLimits, BufferingLimits, InjectionLimits, Limits } from '../../src/safety/limits.ts'
import { wait } from './arrangement.ts'
import { type Bench, DAY, HOUR, LIMITS, MINUTE, SECOND } from './bench.ts'
import type { InterlockCase } from './interlock-case.ts'

type Rest = Partial<Omit<InterlockCase, 'interlock' | 'tells' | 'holds'>>

const nothing = () => {}
const holds = (interlock: string, tells: string, rest: Rest = {}): InterlockCase => ({
  ...{ interlock, tells, holds: true, arrange: nothing },
  ...rest,
})
const refuses = (interlock: string, tells: string, rest: Rest = {}): InterlockCase => ({
  ...holds(interlock, tells, rest),
  holds: false,
})

const BUFFERING: BufferingLimits = {
  ...{ sourceMeqPerL: 2.5, trimMeqPerHour: 2, trimMeqPerDay: 90, reservoirMeqPerL: 0.05 },
  unmeteredMeqPerHour: 3,
}

function acidWith(change: Partial<AcidLimits>, more: Partial<Limits> = {}): Limits {
  if (LIMITS.acid === undefined) throw new Error('the bench has no acid')
  return { ...LIMITS, ...more, acid: { ...LIMITS.acid, ...change } }
}

function buffered(change: Partial<BufferingLimits> = {}, more: Partial<Limits> = {}): Limits {
  return acidWith({ buffering: { ...BUFFERING, ...change } }, more)
}

const METER = { meter: { id: 'meter-1', node: 'bench', maxLPerMin: 4 } } as const
const METERED = buffered({ trimMeqPerHour: 0 }, METER)
/** Only the reservoir counts: 0.02 meq/L in 200 L is 4 meq. */
const RESERVOIR_ONLY = buffered({
  trimMeqPerHour: 99,
  trimMeqPerDay: 0,
  reservoirMeqPerL: 0.02,
  unmeteredMeqPerHour: 0,
})

/** 2 L of make-up water, seen by a counter that is read on both sides of it, and then some time. */
function topUp(litres: number, minutes: number, afterMs = 0) {
  return (bench: Bench) => {
    bench.meter(100)
    bench.pass(minutes * MINUTE)
    bench.meter(100 + litres)
    bench.pass(afterMs)
  }
}

const acid = (volumeUl: number, rest: Rest = {}): Rest => ({ stock: 'acid', volumeUl, limits: buffered(), ...rest })

const ACID_CASES: readonly InterlockCase[] = [
  holds('acid-hour-buffered', '5 meq where 2 and 3 are declared and no meter is fitted', acid(5000)),
  refuses('acid-hour-buffered', '5.001 meq where 2 and 3 are declared', acid(5001)),
  refuses('acid-hour-buffered', '4.001 mL more after 1 mL within the hour', {
    ...acid(4001, { arrange: (bench) => void bench.dose('acid', 1000) }),
  }),
  holds('acid-hour-buffered', '5 mL an hour after the last', {
    ...acid(5000, {
      arrange: (bench) => {
        bench.dose('acid', 5000)
        bench.pass(HOUR)
      },
    }),
  }),
  holds('acid-hour-buffered', '5 meq for 2 L of 2.5 meq/L on the meter', {
    ...acid(5000, { limits: METERED, arrange: topUp(2, 10) }),
  }),
  refuses('acid-hour-buffered', '5.001 meq for 2 L on the meter', {
    ...acid(5001, { limits: METERED, arrange: topUp(2, 10) }),
  }),
  refuses('acid-hour-buffered', 'any acid for water that came more than an hour ago', {
    ...acid(1, { limits: METERED, arrange: topUp(2, 10, HOUR) }),
  }),
  refuses('acid-hour-buffered', 'more than the valve can have brought, whatever the counter says', {
    ...acid(5001, { limits: { ...METERED, meter: { ...METER.meter, maxLPerMin: 0.2 } }, arrange: topUp(900, 10) }),
  }),
  refuses('acid-hour-buffered', 'any acid for a counter that fell', {
    ...acid(1, { limits: METERED, arrange: topUp(-2, 10) }),
  }),
  refuses('acid-hour-buffered', 'any acid for a counter that calls itself uncertain', {
    ...acid(1, {
      limits: METERED,
      arrange: (bench) => {
        bench.meter(100)
        bench.pass(10 * MINUTE)
        bench.meter(102, 'uncertain')
      },
    }),
  }),
  refuses('acid-hour-buffered', 'any acid where the meter is fitted and silent, whatever stands for a missing one', {
    ...acid(1, { limits: METERED }),
  }),
  refuses('acid-hour-buffered', 'any acid where the trim is no number', {
    ...acid(1, { limits: buffered({ trimMeqPerHour: Number.NaN }) }),
  }),
  refuses('acid-hour-buffered', 'any acid where the trim is negative', {
    ...acid(1, { limits: buffered({ trimMeqPerHour: -1 }) }),
  }),
  refuses('acid-hour-buffered', 'any acid without a meter and without a constant that stands for it', {
    ...acid(1, { limits: buffered({ unmeteredMeqPerHour: undefined as never }) }),
  }),
  holds('acid-hour-buffered', 'a nutrient stock of any size', { limits: buffered(), volumeUl: 40_000 }),

  holds('acid-day-buffered', '4 meq where 200 L take up 0.02 meq/L', acid(4000, { limits: RESERVOIR_ONLY })),
  refuses('acid-day-buffered', '4.001 meq where 200 L take up 0.02 meq/L', acid(4001, { limits: RESERVOIR_ONLY })),
  refuses('acid-day-buffered', '3.601 meq where only 180 L are there', {
    ...acid(3601, { limits: RESERVOIR_ONLY, arrange: (bench) => bench.scan({ 'level-1': 180 }) }),
  }),
  refuses('acid-day-buffered', '1 µL more 23 h 59 min 59.999 s after 4 mL', {
    ...acid(1, {
      limits: RESERVOIR_ONLY,
      arrange: (bench) => {
        bench.dose('acid', 4000)
        bench.pass(DAY - 1)
      },
    }),
  }),
  holds('acid-day-buffered', '4 mL a day after 4 mL', {
    ...acid(4000, {
      limits: RESERVOIR_ONLY,
      arrange: (bench) => {
        bench.dose('acid', 4000)
        bench.pass(DAY)
      },
    }),
  }),
  refuses('acid-day-buffered', 'any acid where the reservoir’s share is no number', {
    ...acid(1, { limits: buffered({ reservoirMeqPerL: Number.NaN }) }),
  }),
]

function injected(change: Partial<InjectionLimits>, more: Partial<Limits> = {}): Limits {
  return acidWith({ injection: { into: 'reservoir', rateMaxMeqPerL: 0.1, circulationLPerMin: 2, ...change } }, more)
}

/** The acid pump gives 20 mL/min of 1 meq/mL: 20 meq/min, which 200 L/min carry at 0.1 meq/L. */
const FAST_LINE = injected({ into: 'line', circulationLPerMin: 200 }, { probes: withFlowUpTo(500) })
const WITHOUT_FLOW: Partial<Limits> = {
  probes: LIMITS.probes.filter(({ role }) => role !== 'flow'),
  notFitted: [{ role: 'flow', reason: 'a pond without a pipe' }],
}

function withFlowUpTo(max: number): Limits['probes'] {
  return LIMITS.probes.map((probe) => (probe.role === 'flow' ? { ...probe, max } : probe))
}

const flow = (lPerMin: number) => ({ arrange: (bench: Bench) => bench.scan({ 'flow-1': lPerMin }) })

const RATE_CASES: readonly InterlockCase[] = [
  holds('acid-rate-bounded', '5 mL into a reservoir past which 50 L flow in a mixing time', {
    ...acid(5000, { limits: injected({}) }),
  }),
  refuses('acid-rate-bounded', '5.001 mL of it', acid(5001, { limits: injected({}) })),
  holds('acid-rate-bounded', '2.5 mL where the flow probe is not fitted, half the circulation', {
    ...acid(2500, { limits: injected({}, WITHOUT_FLOW) }),
  }),
  refuses('acid-rate-bounded', '2.501 mL where the flow probe is not fitted', {
    ...acid(2501, { limits: injected({}, WITHOUT_FLOW) }),
  }),
  holds('acid-rate-bounded', 'a line in which 200 L/min flow past a pump of 20 meq/min', {
    ...acid(1, { limits: FAST_LINE, ...flow(200) }),
  }),
  refuses('acid-rate-bounded', 'a missing flow probe whose share is above 1', {
    ...acid(1, { limits: injected({}, { ...WITHOUT_FLOW, notFittedCapShare: 1.5 }) }),
  }),
  refuses('acid-rate-bounded', 'a missing flow probe whose share is negative', {
    ...acid(1, { limits: injected({}, { ...WITHOUT_FLOW, notFittedCapShare: -0.5 }) }),
  }),
  holds('acid-rate-bounded', 'a missing flow probe whose share is 1', {
    ...acid(5000, { limits: injected({}, { ...WITHOUT_FLOW, notFittedCapShare: 1 }) }),
  }),
  refuses('acid-rate-bounded', 'a line in which 199.9 L/min flow', acid(1, { limits: FAST_LINE, ...flow(199.9) })),
  refuses('acid-rate-bounded', 'a line whose flow nobody measures', {
    ...acid(1, { limits: injected({ into: 'line', circulationLPerMin: 5000 }, WITHOUT_FLOW) }),
  }),
  refuses('acid-rate-bounded', 'a flow that is no number', acid(1, { limits: injected({}), ...flow(Number.NaN) })),
  refuses('acid-rate-bounded', 'a rate that is no number', {
    ...acid(1, { limits: injected({ rateMaxMeqPerL: Number.NaN }) }),
  }),
  holds('acid-rate-bounded', 'a flow switch, which tells no rate, by what is declared', {
    ...acid(5000, { limits: injected({}, { flowIsSwitch: true, flowMinLPerMin: 0.5 }), ...flow(1) }),
  }),
]

const WITH_BASE: Limits = {
  ...LIMITS,
  stocks: [
    ...LIMITS.stocks,
    {
      ...{ stock: 'base', node: 'bench', pump: 'pump-5', rateUlPerS: 20_000 / 60, gapMs: 10 * MINUTE, apart: [] },
      ...{ shotMaxUl: 9000, hourMaxUl: 18_000, dayMaxUl: 100_000, base: true },
      refill: { notChecked: 'not what these tests are about' },
    },
  ],
  base: {
    ...{ meqPerMl: 1, reservoirMinL: 200, shotMaxMeqPerL: 0.04, phFreshMs: 180 * SECOND },
    ...{ phCeiling: 6.2, afterFlowMs: 30 * MINUTE, acidApartMs: 2 * HOUR },
  },
}

const base = (rest: Rest = {}): Rest => ({ stock: 'base', volumeUl: 1000, limits: WITH_BASE, ...rest })
const ph = (value: number) => ({ arrange: (bench: Bench) => bench.scan({ 'ph-1': value }) })

function after(stock: string, ms: number) {
  return {
    arrange: (bench: Bench) => {
      bench.dose(stock, 1000)
      bench.pass(ms)
    },
  }
}

function flowBackFor(ms: number) {
  return {
    arrange: (bench: Bench) => {
      bench.atMs += SECOND
      bench.scan({ 'flow-1': 0 })
      bench.atMs += SECOND
      bench.scan()
      bench.pass(ms)
    },
  }
}

const late = (ms: number) => ({ arrange: (bench: Bench) => wait(bench, ms) })

const BASE_CASES: readonly InterlockCase[] = [
  holds('base-shot-bounded', '8 mL of 1 meq/mL in 200 L', base({ volumeUl: 8000 })),
  refuses('base-shot-bounded', '8.001 mL of 1 meq/mL in 200 L', base({ volumeUl: 8001 })),
  refuses('base-shot-bounded', '7.201 mL where only 180 L are there', {
    ...base({ volumeUl: 7201, arrange: (bench) => bench.scan({ 'level-1': 180 }) }),
  }),
  holds('base-mixed', '25 min after the last base', base(after('base', 25 * MINUTE))),
  refuses('base-mixed', '24 min 59.999 s after it', base(after('base', 25 * MINUTE - 1))),
  holds('base-ph-fresh', 'a pH 180 s old', base(late(180 * SECOND))),
  refuses('base-ph-fresh', 'a pH 180.001 s old', base(late(180 * SECOND + 1))),
  refuses('base-ph-fresh', 'a pH from before the last acid had mixed', base(after('acid', 25 * MINUTE - 1))),
  holds('base-ph-below-ceiling', 'pH 6.199', base(ph(6.199))),
  refuses('base-ph-below-ceiling', 'pH 6.2', base(ph(6.2))),
  refuses('base-ph-below-ceiling', 'no pH', base(ph(Number.NaN))),
  refuses('base-ph-below-ceiling', 'a pH below every scale', base(ph(-1))),
  holds('base-ph-below-ceiling', 'a nutrient stock at pH 6.2', { limits: WITH_BASE, ...ph(6.2) }),
  holds('base-after-flow', 'a flow that came back 30 min ago', base(flowBackFor(30 * MINUTE))),
  refuses('base-after-flow', 'a flow that came back 29 min 59.999 s ago', base(flowBackFor(30 * MINUTE - 1))),
  holds('acid-base-apart', 'base 2 h after acid', base(after('acid', 2 * HOUR))),
  refuses('acid-base-apart', 'base 1 h 59 min 59.999 s after acid', base(after('acid', 2 * HOUR - 1))),
  refuses('acid-base-apart', 'acid 1 h 59 min 59.999 s after base', {
    ...base({ stock: 'acid', ...after('base', 2 * HOUR - 1) }),
  }),
  holds('acid-base-apart', 'acid 2 h after base', base({ stock: 'acid', ...after('base', 2 * HOUR) })),
  refuses('acid-base-apart', 'base while acid may still run', {
    ...base({ arrange: (bench) => void bench.mustWish('acid', 1000) }),
  }),
  refuses(
    'limits-complete',
    'a base without rules for bases',
    base({ limits: { ...WITH_BASE, base: undefined as never } }),
  ),
  refuses('limits-complete', 'a base whose ceiling is no number', {
    ...base({ limits: { ...WITH_BASE, base: { ...WITH_BASE.base!, phCeiling: Number.NaN } } }),
  }),
  refuses('limits-complete', 'a stock that is called acid and base', {
    ...base({
      limits: {
        ...WITH_BASE,
        stocks: WITH_BASE.stocks.map((entry) => (entry.stock === 'base' ? { ...entry, acid: true } : entry)),
      },
    }),
  }),
]

/** 100 and 50 ng of potassium a microlitre; 0.05 mg/L in 100 L is 5 mg, which is 50 mL of the one or 100 mL of the other. */
function capped(
  mgPerL: number,
  content: Readonly<Record<string, number>> = { K: 100 },
  others: Readonly<Record<string, Readonly<Record<string, number>> | undefined>> = {},
): Limits {
  const contents: Record<string, Readonly<Record<string, number>> | undefined> = {
    nitrate: content,
    phosphate: { K: 50, P: 9 },
    calcium: { Ca: 70 },
    acid: {},
    ...others,
  }
  const stocks = LIMITS.stocks.map((entry) => {
    const contentNgPerUl = contents[entry.stock]
    return contentNgPerUl === undefined ? entry : { ...entry, contentNgPerUl }
  })
  return { ...LIMITS, stocks, elements: { volumeL: 100, dayMaxMgPerL: { K: mgPerL } } }
}

const CAP = 0.03 // mg/L: 3 mg in 100 L

/** The site’s files change: one stock has left them. */
function forget(bench: Bench, stock: string): void {
  bench.limits = { ...bench.limits, stocks: bench.limits.stocks.filter((entry) => entry.stock !== stock) }
}

const ELEMENT_CASES: readonly InterlockCase[] = [
  holds('element-day-bounded', '3 mg of potassium', { limits: capped(CAP), volumeUl: 30_000 }),
  refuses('element-day-bounded', '3.0001 mg of potassium', { limits: capped(CAP), volumeUl: 30_001 }),
  holds('element-day-bounded', '1 mg beside 2 mg that another stock brought', {
    limits: capped(CAP),
    volumeUl: 10_000,
    arrange: (bench) => void bench.dose('phosphate', 40_000),
  }),
  refuses('element-day-bounded', '1.0001 mg beside 2 mg that another stock brought', {
    limits: capped(CAP),
    volumeUl: 10_001,
    arrange: (bench) => void bench.dose('phosphate', 40_000),
  }),
  refuses('element-day-bounded', 'more while another stock’s command is not settled', {
    limits: capped(CAP),
    volumeUl: 10_001,
    arrange: (bench) => void bench.mustWish('phosphate', 40_000),
  }),
  holds('element-day-bounded', 'all of it again after a day', {
    limits: capped(CAP),
    volumeUl: 30_000,
    arrange: (bench) => {
      bench.dose('phosphate', 40_000)
      bench.pass(DAY)
    },
  }),
  refuses('element-day-bounded', 'more 23 h 59 min 59.999 s after', {
    limits: capped(CAP),
    volumeUl: 30_000,
    arrange: (bench) => {
      bench.dose('phosphate', 40_000)
      bench.pass(DAY - 1)
    },
  }),
  holds('element-day-bounded', 'a stock that brings nothing of the capped element', {
    limits: capped(0),
    stock: 'calcium',
    volumeUl: 40_000,
  }),
  refuses('element-day-bounded', 'anything where the cap is no number', { limits: capped(Number.NaN), volumeUl: 1 }),
  refuses('element-day-bounded', 'a stock whose content nobody told', {
    limits: { ...LIMITS, elements: { volumeL: 100, dayMaxMgPerL: { K: 9 } } },
    volumeUl: 1,
  }),
  refuses('element-day-bounded', 'a stock whose content is negative', { limits: capped(CAP, { K: -1 }), volumeUl: 1 }),
  refuses('element-day-bounded', 'a stock beside one whose content nobody told, though that one never ran', {
    limits: capped(CAP, { K: 100 }, { calcium: undefined }),
    volumeUl: 1,
  }),
  refuses('element-day-bounded', 'a stock beside one whose content is negative', {
    limits: capped(CAP, { K: 100 }, { calcium: { K: -1 } }),
    volumeUl: 1,
  }),
  holds('element-day-bounded', 'a stock that brings nothing of it beside one whose content nobody told', {
    limits: capped(CAP, { Mg: 100 }, { calcium: undefined }),
    volumeUl: 1,
  }),
  refuses('element-day-bounded', 'a stock within a day of one that is not in the limits any more', {
    limits: capped(CAP),
    volumeUl: 1,
    arrange: (bench) => {
      bench.dose('phosphate', 1000)
      forget(bench, 'phosphate')
      bench.pass(DAY - 1)
    },
  }),
  refuses('element-day-bounded', 'a stock while a command of one that is not in the limits any more is open', {
    limits: capped(CAP),
    volumeUl: 1,
    arrange: (bench) => {
      bench.mustWish('phosphate', 1000)
      forget(bench, 'phosphate')
    },
  }),
  holds('element-day-bounded', 'a stock a day after one that is not in the limits any more', {
    limits: capped(CAP),
    volumeUl: 30_000,
    arrange: (bench) => {
      bench.dose('phosphate', 1000)
      forget(bench, 'phosphate')
      bench.pass(DAY)
    },
  }),
]

export const ACID_BASE_CASES: readonly InterlockCase[] = [...ACID_CASES, ...RATE_CASES, ...BASE_CASES, ...ELEMENT_CASES]
