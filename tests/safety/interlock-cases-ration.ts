/** What a ration must keep to, each at its edge: a technician has approved it, 10 L were metered, and EC is lost. */

import type { Limits, RationLimits } from '../../src/safety/limits.ts'
import { type Bench, DAY, LIMITS, MINUTE, type Water } from './bench.ts'
import { holds, type InterlockCase, refuses } from './interlock-case.ts'

const RATION: RationLimits = {
  reason: 'a new crop starves in two days',
  covers: ['conductivity', 'ph'],
  lastsMs: 3 * DAY,
  stocks: [
    { stock: 'nitrate', ulPerL: 2000, dayMaxUl: 19_000 },
    { stock: 'acid', ulPerL: 2000, dayMaxUl: 19_000 },
  ],
}

const METER = { meter: { id: 'meter-1', node: 'bench', maxLPerMin: 4 } } as const

export function withRation(change: Partial<RationLimits> = {}, rest: Partial<Limits> = {}): Limits {
  return { ...LIMITS, ...METER, ...rest, ration: { ...RATION, ...change } }
}

const NO_EC: Water = { 'ec-1': Number.NaN }

/** Ten litres come in ten minutes, then EC says nothing more. */
export function rationed(bench: Bench, lost: Water = NO_EC, litres = 10): void {
  bench.instruct({ instruction: 'ration', decision: 'approve' })
  topUp(bench, litres)
  bench.scan(lost)
  bench.purpose = 'ration'
}

function topUp(bench: Bench, litres: number): void {
  bench.meter(100)
  bench.pass(10 * MINUTE)
  bench.meter(100 + litres)
}

const limits = withRation()
const onLoss = (lost: Water) => ({ limits, arrange: (bench: Bench) => rationed(bench, lost) })

/** The approval is so old; all else is of this very moment. */
function approvedAgo(ms: number) {
  return (bench: Bench) => {
    rationed(bench)
    bench.state = { ...bench.state, ration: { by: 'ines', atMs: bench.atMs - ms } }
  }
}

export const RATION_CASES: readonly InterlockCase[] = [
  holds('ration-approved', 'a ration approved just now', { limits, arrange: rationed }),
  holds('ration-approved', 'a plan’s shot that nobody approved as a ration'),
  holds('ration-approved', 'an approval of three days ago to the millisecond', {
    limits,
    arrange: approvedAgo(3 * DAY),
  }),
  refuses('ration-approved', 'an approval a millisecond older', { limits, arrange: approvedAgo(3 * DAY + 1) }),
  refuses('ration-approved', 'an approval of time to come', { limits, arrange: approvedAgo(-1) }),
  refuses('ration-approved', 'a time that is no number', {
    limits: withRation({ lastsMs: Number.NaN }),
    arrange: (bench) => rationed(bench),
  }),
  refuses('ration-approved', 'a ration that was withdrawn', {
    limits,
    arrange: (bench) => {
      rationed(bench)
      bench.instruct({ instruction: 'ration', decision: 'withdraw' })
    },
  }),
  refuses('ration-approved', 'limits without a reason for it', {
    limits: withRation({ reason: ' ' }),
    arrange: (bench) => rationed(bench),
  }),
  refuses('ration-approved', 'limits without a ration', {
    arrange: (bench) => {
      bench.purpose = 'ration'
    },
  }),

  holds('ration-stock', 'a stock that the limits name', { limits, arrange: rationed }),
  refuses('ration-stock', 'a stock that they do not name', { limits, arrange: rationed, stock: 'calcium' }),
  refuses('ration-stock', 'an acid, though they name it', { limits, arrange: rationed, stock: 'acid' }),
  refuses('ration-stock', 'nothing for a litre', {
    limits: withRation({ stocks: [{ stock: 'nitrate', ulPerL: 0, dayMaxUl: 19_000 }] }),
    arrange: (bench) => rationed(bench),
  }),

  holds('ration-loss', 'EC that is lost', { limits, arrange: rationed }),
  holds('ration-loss', 'pH that is lost', onLoss({ 'ph-1': Number.NaN })),
  refuses('ration-loss', 'EC and pH lost together', onLoss({ 'ec-1': Number.NaN, 'ph-1': Number.NaN })),
  refuses('ration-loss', 'a temperature that is lost', onLoss({ 'temperature-1': Number.NaN })),
  refuses('ration-loss', 'a flow that is lost', onLoss({ 'flow-1': Number.NaN })),
  refuses('ration-loss', 'nothing lost, where the estimator is not covered', onLoss({})),
  holds('ration-loss', 'nothing lost, where the estimator is covered', {
    limits: withRation({ covers: ['estimator'] }),
    arrange: (bench) => rationed(bench, {}),
  }),
  refuses('ration-loss', 'EC lost, where only pH is covered', {
    limits: withRation({ covers: ['ph'] }),
    arrange: (bench) => rationed(bench),
  }),
  refuses('ration-loss', 'EC that reads too high, for that is no loss', onLoss({ 'ec-1': 2.81 })),

  holds('probe-in-range', 'EC that is lost, for a ration', { limits, arrange: rationed }),
  refuses('probe-in-range', 'EC that reads too high, for a ration too', onLoss({ 'ec-1': 2.81 })),
  refuses('probe-in-range', 'EC that was too high when it fell silent, for a ration too', {
    limits,
    arrange: (bench) => {
      rationed(bench, { 'ec-1': 2.81 })
      bench.limits = { ...bench.limits, probes: bench.limits.probes.filter(({ id }) => id !== 'ec-1') }
      bench.pass(4 * MINUTE)
      bench.meter(110)
      bench.limits = limits
    },
  }),
  refuses('probe-in-range', 'pH out of range while EC is lost', onLoss({ 'ec-1': Number.NaN, 'ph-1': 7.21 })),
  refuses('probe-in-range', 'EC that is lost, for a plan’s shot', {
    limits,
    arrange: (bench) => {
      rationed(bench)
      bench.purpose = undefined
    },
  }),
  holds('probe-fresh', 'a pH that is silent, for a ration', {
    limits,
    arrange: (bench) => {
      rationed(bench, {})
      bench.limits = { ...bench.limits, probes: bench.limits.probes.filter(({ id }) => id !== 'ph-1') }
      bench.pass(4 * MINUTE)
      bench.limits = limits
    },
  }),

  holds('ration-water', 'a meter read within the scan’s age, level and flow measured', {
    limits,
    arrange: (bench) => {
      rationed(bench)
      bench.atMs += LIMITS.scanAgeMaxMs
    },
  }),
  refuses('ration-water', 'a meter read a millisecond earlier', {
    limits,
    arrange: (bench) => {
      rationed(bench)
      bench.atMs += LIMITS.scanAgeMaxMs + 1
    },
  }),
  refuses('ration-water', 'a site without a flow probe', {
    limits: withRation({}, { probes: LIMITS.probes.filter(({ role }) => role !== 'flow') }),
    arrange: (bench) => rationed(bench),
  }),
  refuses('ration-water', 'a meter that was never read', {
    limits,
    arrange: (bench) => {
      bench.instruct({ instruction: 'ration', decision: 'approve' })
      bench.scan(NO_EC)
      bench.purpose = 'ration'
    },
  }),

  holds('ration-metered', '12 mL for 6 L of make-up water at 2 mL/L', {
    limits,
    arrange: (bench) => rationed(bench, NO_EC, 6),
    volumeUl: 12_000,
  }),
  refuses('ration-metered', '12.001 mL for 6 L', {
    limits,
    arrange: (bench) => rationed(bench, NO_EC, 6),
    volumeUl: 12_001,
  }),
  refuses('ration-metered', 'a millilitre more, where a plan’s shot took it all before', {
    limits,
    arrange: (bench) => {
      bench.dose('nitrate', 12_000)
      rationed(bench, NO_EC, 6)
    },
  }),
  holds('ration-day-bounded', '19 mL, the ration’s cap of a day', { limits, arrange: rationed, volumeUl: 19_000 }),
  refuses('ration-day-bounded', '19.001 mL', { limits, arrange: rationed, volumeUl: 19_001 }),
  refuses('not-held', 'a ration under a hold', {
    limits,
    arrange: (bench) => {
      rationed(bench)
      bench.instruct({ instruction: 'hold' })
    },
  }),
  refuses('not-tripped', 'a ration where a pump ran by itself', {
    limits,
    arrange: (bench) => {
      rationed(bench)
      bench.run('pump-2', 700)
      bench.beat()
    },
  }),
  refuses('mode-acts', 'a ration in the mode advise, of which no person approved a plan', {
    limits,
    arrange: (bench) => {
      rationed(bench)
      bench.instruct({ instruction: 'mode', mode: 'advise' })
    },
  }),
]
