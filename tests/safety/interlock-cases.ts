import type { Limits } from '../../src/safety/limits.ts'
import { ACID_BASE_CASES } from './acid-base-cases.ts'
import {
  advise,
  askAs,
  firstTerm,
  neverRan,
  ranAlone,
  silentNode,
  unnamed,
  unreported,
  wait,
  withoutAcidRules,
  withStock,
} from './arrangement.ts'
import { type Bench, DAY, HOUR, LIMITS, MINUTE, readyBench, SECOND } from './bench.ts'
import { holds, type InterlockCase, refuses } from './interlock-case.ts'
import { CALIBRATION_CASES } from './interlock-cases-calibration.ts'
import { EFFECT_CASES } from './interlock-cases-effect.ts'
import { PEOPLE_CASES } from './interlock-cases-people.ts'
import { RATION_CASES } from './interlock-cases-ration.ts'
import { REFILL_CASES } from './interlock-cases-refill.ts'
import { RESTART_CASES } from './interlock-cases-restart.ts'

const acid = { stock: 'acid', volumeUl: 1000 } as const

function withoutProbe(role: string, change: Partial<Limits> = {}): Limits {
  return { ...LIMITS, ...change, probes: LIMITS.probes.filter((probe) => probe.role !== role) }
}

/** The flow stops, comes back, and then runs for `ms`. */
function flowBackFor(ms: number) {
  return (bench: Bench) => {
    bench.atMs += SECOND
    bench.scan({ 'flow-1': 0 })
    bench.atMs += SECOND
    bench.scan()
    bench.pass(ms)
  }
}

function afterDose(stock: string, volumeUl: number, ms: number) {
  return (bench: Bench) => {
    bench.dose(stock, volumeUl)
    bench.pass(ms)
  }
}

const twoShots = (bench: Bench) => {
  bench.dose('nitrate', 40_000)
  bench.pass(5 * MINUTE)
  bench.dose('nitrate', 39_999)
  bench.pass(5 * MINUTE)
}

/** A cap of 80 mL in a day and none that matters in an hour. */
const DAY_ONLY = withStock('nitrate', { hourMaxUl: 9_000_000, dayMaxUl: 80_000 })
const LARGE = withStock('nitrate', { shotMaxUl: 9_000_000, hourMaxUl: 9_000_000, dayMaxUl: 9_000_000 })

/** Every interlock at its edge: just inside it holds, just outside it refuses. */
export const INTERLOCK_CASES: readonly InterlockCase[] = [
  ...PEOPLE_CASES,
  ...REFILL_CASES,
  ...RESTART_CASES,
  ...RATION_CASES,
  ...CALIBRATION_CASES,
  ...EFFECT_CASES,

  holds('started', 'a daemon that started under a term of its own'),
  holds('started', 'the very first term, 0', { arrange: firstTerm }),
  refuses('started', 'a start under a term that was used before', { arrange: (bench) => bench.start(1) }),
  refuses('started', 'a start under a term that is no number', { arrange: (bench) => bench.start(Number.NaN) }),

  holds('mode-acts', 'automatic'),
  refuses('mode-acts', 'observe', { arrange: (bench) => bench.instruct({ instruction: 'mode', mode: 'observe' }) }),
  refuses('mode-acts', 'advise without an approval', {
    arrange: (bench) => bench.instruct({ instruction: 'mode', mode: 'advise' }),
  }),
  refuses('mode-acts', 'advise with another plan approved', { arrange: (bench) => advise(bench, 'plan-0', 0) }),
  holds('mode-acts', 'advise, approved this very moment', { arrange: (bench) => advise(bench, 'plan-1', 0) }),
  holds('mode-acts', 'advise, approved an hour ago to the millisecond', {
    arrange: (bench) => advise(bench, 'plan-1', HOUR),
  }),
  refuses('mode-acts', 'advise, approved an hour and a millisecond ago', {
    arrange: (bench) => advise(bench, 'plan-1', HOUR + 1),
  }),

  holds('not-held', 'a hold that was released', {
    arrange: (bench) => {
      bench.instruct({ instruction: 'hold' })
      bench.instruct({ instruction: 'release' })
    },
  }),
  refuses('not-held', 'a hold', { arrange: (bench) => bench.instruct({ instruction: 'hold' }) }),

  refuses('mode-acts', 'a plan that was approved before a hold', {
    arrange: (bench) => {
      advise(bench, 'plan-1', 0)
      bench.instruct({ instruction: 'hold' })
      bench.instruct({ instruction: 'release' })
    },
  }),
  refuses('mode-acts', 'an automatic mode that nobody gave a reason for', {
    arrange: (bench) => {
      bench.instruct({ instruction: 'mode', mode: 'observe' })
      bench.instruct({ instruction: 'mode', mode: 'automatic' }, ' ')
    },
  }),

  holds('not-tripped', 'a trip that was reset', {
    arrange: (bench) => {
      ranAlone(bench)
      bench.instruct({ instruction: 'reset', trip: 'pump-ran-alone' })
    },
  }),
  refuses('not-tripped', 'a pump that ran by itself', { arrange: ranAlone }),

  holds('disk-writable', 'a disk that can be written'),
  refuses('disk-writable', 'a full disk', { arrange: (bench) => bench.edge({ edge: 'disk', writable: false }) }),
  holds('link-up', 'a link that is up'),
  refuses('link-up', 'a link that is down', { arrange: (bench) => bench.edge({ edge: 'link', up: false }) }),
  holds('clock-sane', 'a clock that is sane'),
  refuses('clock-sane', 'a clock that stepped', { arrange: (bench) => bench.edge({ edge: 'clock', sane: false }) }),

  holds('limits-complete', 'a complete entry'),
  refuses('limits-complete', 'a stock without an entry', { stock: 'silicate' }),
  refuses('limits-complete', 'an entry without a gap', { limits: withStock('nitrate', { gapMs: Number.NaN }) }),
  refuses('limits-complete', 'a pump rate of 0', { limits: withStock('nitrate', { rateUlPerS: 0 }) }),
  refuses('limits-complete', 'a day’s cap that is missing', { limits: withStock('nitrate', { dayMaxUl: undefined }) }),
  refuses('limits-complete', 'an acid without acid rules', { ...acid, limits: withoutAcidRules() }),

  holds('sensors-declared', 'a flow sensor declared as not fitted', {
    limits: withoutProbe('flow', { notFitted: [{ role: 'flow', reason: 'gravity return, seen by eye daily' }] }),
  }),
  refuses('sensors-declared', 'a flow sensor that nobody mentions', { limits: withoutProbe('flow') }),
  refuses('sensors-declared', 'a level sensor declared as not fitted without a reason', {
    limits: withoutProbe('level', { notFitted: [{ role: 'level', reason: ' ' }] }),
  }),
  refuses('sensors-declared', 'a site without pH, whatever it declares', {
    limits: withoutProbe('ph', { notFitted: [{ role: 'ph', reason: 'none' }] }),
  }),

  holds('command-id-new', 'a name of its own'),
  refuses('command-id-new', 'the name of a shot that ran', {
    arrange: (bench) => {
      const shot = bench.dose('calcium', 1000)
      bench.ask = askAs(bench, shot.id)
    },
  }),
  refuses('command-id-new', 'no name', {
    arrange: (bench) => {
      bench.ask = askAs(bench, '')
    },
  }),

  holds('node-online', 'a node that is online'),
  refuses('node-online', 'a node whose will was published', { arrange: (bench) => bench.status(false) }),
  holds('contract-known', 'contract version 1'),
  refuses('contract-known', 'contract version 2', { arrange: (bench) => bench.status(true, bench.boot, 2) }),
  holds('boot-known', 'a boot that the node told'),
  refuses('boot-known', 'a node that was never heard', { arrange: silentNode }),

  holds('heartbeat-fresh', 'a heartbeat 90 s old', { arrange: (bench) => wait(bench, 90 * SECOND) }),
  refuses('heartbeat-fresh', 'a heartbeat 90.001 s old', { arrange: (bench) => wait(bench, 90 * SECOND + 1) }),
  refuses('heartbeat-fresh', 'a heartbeat from the future', { arrange: (bench) => wait(bench, -1) }),
  refuses('heartbeat-fresh', 'a heartbeat that tells the same moment of the node again', {
    arrange: (bench) => {
      wait(bench, 90 * SECOND)
      bench.bootedAtMs += 90 * SECOND
      bench.beat()
      wait(bench, 1)
    },
  }),
  holds('heartbeat-fresh', 'a heartbeat that tells a millisecond more', {
    arrange: (bench) => {
      wait(bench, 90 * SECOND)
      bench.bootedAtMs += 90 * SECOND - 1
      bench.beat()
      wait(bench, 1)
    },
  }),
  refuses('heartbeat-fresh', 'no heartbeat since the node came up', { arrange: silentNode }),

  holds('term-ours', 'a node that has seen our term', { arrange: (bench) => bench.beat(1) }),
  holds('term-ours', 'a node that has seen an older term', { arrange: (bench) => bench.beat(0) }),
  refuses('term-ours', 'a node that has seen a newer term', { arrange: (bench) => bench.beat(2) }),

  holds('pump-known', 'a pump that the node named'),
  holds('pump-known', 'a pump that never ran', { arrange: neverRan }),
  refuses('pump-known', 'a pump of which a later status says nothing', { arrange: (bench) => unnamed(bench) }),
  refuses('pump-known', 'a pump that the node does not name', {
    arrange: (bench) => {
      bench.limits = withStock('nitrate', { pump: 'pump-9' })
    },
  }),

  holds('pumps-idle', 'a node of which no pump runs'),
  refuses('pumps-idle', 'a node of which another pump runs', {
    arrange: (bench) => {
      const pump = bench.pumps['pump-1']
      if (pump !== undefined) pump.runningId = 'c-other'
      bench.beat()
    },
  }),

  holds('one-at-a-time', 'a node with no command on its way', { arrange: afterDose('calcium', 1000, MINUTE) }),
  refuses('one-at-a-time', 'a node with a command of another pump on its way', {
    arrange: (bench) => bench.mustWish('calcium', 1000),
  }),

  holds('pump-settled', 'a pump whose last shot was reported', { arrange: afterDose('nitrate', 1000, 0) }),
  refuses('pump-settled', 'a pump of whose last shot nobody knows', { arrange: unreported }),
  holds('pump-settled', 'another pump than the one nobody knows of', { arrange: unreported, stock: 'calcium' }),

  holds('probe-present', 'probes that were read'),
  refuses('probe-present', 'probes that were not read since the start', { arrange: (bench) => bench.start(2) }),
  holds('probe-not-from-future', 'a reading of this very moment', { arrange: (bench) => bench.scan() }),
  refuses('probe-not-from-future', 'a reading one millisecond ahead', {
    arrange: (bench) => {
      bench.scan()
      wait(bench, -1)
    },
  }),
  holds('probe-fresh', 'readings 180 s old', { arrange: (bench) => wait(bench, 180 * SECOND) }),
  refuses('probe-fresh', 'readings 180.001 s old', { arrange: (bench) => wait(bench, 180 * SECOND + 1) }),
  holds('probe-good', 'readings that call themselves good'),
  refuses('probe-good', 'readings that call themselves uncertain', { arrange: (bench) => bench.scan({}, 'uncertain') }),
  refuses('probe-good', 'readings that call themselves bad', { arrange: (bench) => bench.scan({}, 'bad') }),

  holds('probe-in-range', 'conductivity at its least', { arrange: (bench) => bench.scan({ 'ec-1': 0.5 }) }),
  refuses('probe-in-range', 'conductivity below its least', { arrange: (bench) => bench.scan({ 'ec-1': 0.4999 }) }),
  holds('probe-in-range', 'pH at its most', { arrange: (bench) => bench.scan({ 'ph-1': 7.2 }) }),
  refuses('probe-in-range', 'pH above its most', { arrange: (bench) => bench.scan({ 'ph-1': 7.2001 }) }),
  refuses('probe-in-range', 'a temperature that is no number', {
    arrange: (bench) => bench.scan({ 'temperature-1': Number.NaN }),
  }),
  refuses('probe-in-range', 'an endless conductivity', { arrange: (bench) => bench.scan({ 'ec-1': Infinity }) }),

  holds('probe-not-stuck', 'pH the same for a millisecond less than six hours', {
    arrange: (bench) => bench.pass(MINUTE, { 'ph-1': 6.1 }).pass(6 * HOUR - 1, { 'ph-1': 6.1 }),
  }),
  refuses('probe-not-stuck', 'pH the same for six hours', {
    arrange: (bench) => bench.pass(MINUTE, { 'ph-1': 6.1 }).pass(6 * HOUR, { 'ph-1': 6.1 }),
  }),
  holds('probe-not-stuck', 'a flow that is the same for a day', {
    arrange: (bench) => bench.pass(DAY, { 'flow-1': 8 }),
  }),

  holds('level-not-low', '130 L', { arrange: (bench) => bench.scan({ 'level-1': 130 }) }),
  refuses('level-not-low', '129.999 L', { arrange: (bench) => bench.scan({ 'level-1': 129.999 }) }),
  refuses('level-not-low', 'a level that is no number', { arrange: (bench) => bench.scan({ 'level-1': Number.NaN }) }),
  holds('level-not-high', '255 L', { arrange: (bench) => bench.scan({ 'level-1': 255 }) }),
  refuses('level-not-high', '255.001 L', { arrange: (bench) => bench.scan({ 'level-1': 255.001 }) }),
  refuses('level-not-high', 'a level that is no number', { arrange: (bench) => bench.scan({ 'level-1': Number.NaN }) }),

  holds('flow-running', '4 L/min', { arrange: (bench) => bench.scan({ 'flow-1': 4 }) }),
  refuses('flow-running', '3.999 L/min', { arrange: (bench) => bench.scan({ 'flow-1': 3.999 }) }),
  refuses('flow-running', 'a flow that is no number', { arrange: (bench) => bench.scan({ 'flow-1': Number.NaN }) }),
  holds('flow-running', 'a flow that came back this very moment', { arrange: flowBackFor(0) }),
  holds('flow-steady', 'a flow that came back 10 min ago', { arrange: flowBackFor(10 * MINUTE) }),
  refuses('flow-steady', 'a flow that came back 9 min 59.999 s ago', { arrange: flowBackFor(10 * MINUTE - 1) }),
  holds('flow-steady', 'a flow that was seen again just in time', {
    arrange: (bench) => {
      wait(bench, 180 * SECOND)
      bench.scan()
    },
  }),
  refuses('flow-steady', 'a flow that nobody saw for a while', {
    arrange: (bench) => {
      wait(bench, 180 * SECOND + 1)
      bench.scan()
    },
  }),

  holds('shot-whole', 'one microlitre', { volumeUl: 1 }),
  refuses('shot-whole', 'nothing', { volumeUl: 0 }),
  refuses('shot-whole', 'less than nothing', { volumeUl: -1 }),
  refuses('shot-whole', 'half a microlitre', { volumeUl: 0.5 }),
  refuses('shot-whole', 'no number', { volumeUl: Number.NaN }),
  refuses('shot-whole', 'an endless volume', { volumeUl: Infinity }),
  refuses('shot-whole', 'a number too large to be whole', { volumeUl: 2 ** 53 }),

  holds('shot-bounded', '40 mL', { volumeUl: 40_000 }),
  refuses('shot-bounded', '40.001 mL', { volumeUl: 40_001 }),
  refuses('shot-bounded', 'no number', { volumeUl: Number.NaN }),
  holds('run-bounded', 'a run of 120 s', { limits: LARGE, volumeUl: 60_000 }),
  refuses('run-bounded', 'a run of 120.002 s', { limits: LARGE, volumeUl: 60_001 }),
  refuses('run-bounded', 'a volume that takes less than a millisecond', {
    limits: withStock('nitrate', { rateUlPerS: 2000 }),
    volumeUl: 1,
  }),

  holds('hour-bounded', '80 mL in an hour', { arrange: twoShots, volumeUl: 1 }),
  refuses('hour-bounded', '80.001 mL in an hour', { arrange: twoShots, volumeUl: 2 }),
  refuses('hour-bounded', 'a shot 59 min 59.999 s old', {
    arrange: afterDose('nitrate', 40_000, HOUR - 1),
    limits: withStock('nitrate', { hourMaxUl: 40_000 }),
  }),
  holds('hour-bounded', 'a shot an hour old', {
    arrange: afterDose('nitrate', 40_000, HOUR),
    limits: withStock('nitrate', { hourMaxUl: 40_000 }),
  }),
  holds('day-bounded', '80 mL in a day', { arrange: twoShots, limits: DAY_ONLY, volumeUl: 1 }),
  refuses('day-bounded', '80.001 mL in a day', { arrange: twoShots, limits: DAY_ONLY, volumeUl: 2 }),
  refuses('day-bounded', 'a shot 23 h 59 min 59.999 s old', {
    arrange: afterDose('nitrate', 40_000, DAY - 1),
    limits: withStock('nitrate', { dayMaxUl: 40_000 }),
  }),
  holds('day-bounded', 'a shot 24 h old', {
    arrange: afterDose('nitrate', 40_000, DAY),
    limits: withStock('nitrate', { dayMaxUl: 40_000 }),
  }),

  holds('gap-kept', '5 min after the last shot', { arrange: afterDose('nitrate', 1000, 5 * MINUTE) }),
  refuses('gap-kept', '4 min 59.999 s after the last shot', { arrange: afterDose('nitrate', 1000, 5 * MINUTE - 1) }),

  holds('stocks-apart', 'phosphate 20 min after calcium', {
    arrange: afterDose('calcium', 1000, 20 * MINUTE),
    stock: 'phosphate',
  }),
  refuses('stocks-apart', 'phosphate 19 min 59.999 s after calcium', {
    arrange: afterDose('calcium', 1000, 20 * MINUTE - 1),
    stock: 'phosphate',
  }),
  holds('stocks-apart', 'calcium 5 min after acid', { arrange: afterDose('acid', 1000, 5 * MINUTE), stock: 'calcium' }),
  refuses('stocks-apart', 'calcium 4 min 59.999 s after acid, though only acid’s entry says so', {
    arrange: afterDose('acid', 1000, 5 * MINUTE - 1),
    stock: 'calcium',
  }),
  refuses('stocks-apart', 'phosphate while calcium may still run', {
    arrange: (bench) => bench.mustWish('calcium', 1000),
    stock: 'phosphate',
  }),

  holds('acid-shot-bounded', '8 mL of 1 meq/mL in 200 L, which is 0.04 meq/L', { stock: 'acid', volumeUl: 8000 }),
  refuses('acid-shot-bounded', '8.001 mL of 1 meq/mL in 200 L', { stock: 'acid', volumeUl: 8001 }),
  holds('acid-shot-bounded', '7.2 mL where only 180 L are there', {
    arrange: (bench) => bench.scan({ 'level-1': 180 }),
    stock: 'acid',
    volumeUl: 7200,
  }),
  refuses('acid-shot-bounded', '7.201 mL where only 180 L are there', {
    arrange: (bench) => bench.scan({ 'level-1': 180 }),
    stock: 'acid',
    volumeUl: 7201,
  }),
  holds('acid-shot-bounded', 'a nutrient stock of any size', { volumeUl: 40_000 }),

  holds('acid-mixed', '25 min after the last acid', { arrange: afterDose('acid', 1000, 25 * MINUTE), ...acid }),
  refuses('acid-mixed', '24 min 59.999 s after it', { arrange: afterDose('acid', 1000, 25 * MINUTE - 1), ...acid }),

  holds('acid-ph-fresh', 'a pH 180 s old', { arrange: (bench) => wait(bench, 180 * SECOND), ...acid }),
  refuses('acid-ph-fresh', 'a pH 180.001 s old', { arrange: (bench) => wait(bench, 180 * SECOND + 1), ...acid }),
  refuses('acid-ph-fresh', 'a fresh pH, but from before the last acid had mixed', {
    arrange: (bench) => {
      afterDose('acid', 1000, 25 * MINUTE - 1)(bench)
      wait(bench, 1)
    },
    ...acid,
  }),
  holds('acid-ph-fresh', 'a pH from the moment it had mixed', {
    arrange: afterDose('acid', 1000, 25 * MINUTE),
    ...acid,
  }),

  holds('acid-ph-above-floor', 'pH 5.401', { arrange: (bench) => bench.scan({ 'ph-1': 5.401 }), ...acid }),
  refuses('acid-ph-above-floor', 'pH 5.4', { arrange: (bench) => bench.scan({ 'ph-1': 5.4 }), ...acid }),
  refuses('acid-ph-above-floor', 'no pH', { arrange: (bench) => bench.scan({ 'ph-1': Number.NaN }), ...acid }),
  refuses('acid-ph-above-floor', 'a pH beyond every scale', {
    arrange: (bench) => bench.scan({ 'ph-1': Infinity }),
    ...acid,
  }),
  holds('acid-ph-above-floor', 'a nutrient stock at pH 5.4', { arrange: (bench) => bench.scan({ 'ph-1': 5.4 }) }),

  holds('acid-after-flow', 'a flow that came back 30 min ago', { arrange: flowBackFor(30 * MINUTE), ...acid }),
  refuses('acid-after-flow', 'a flow that came back 29 min 59.999 s ago', {
    arrange: flowBackFor(30 * MINUTE - 1),
    ...acid,
  }),
  ...ACID_BASE_CASES,
]

/** What safety refuses in one case, by interlock. */
export function refusalsIn({ limits, arrange, stock, volumeUl }: InterlockCase): readonly string[] {
  const bench = readyBench(limits)
  arrange(bench)
  return bench.refusals(stock ?? 'nitrate', volumeUl ?? 1000)
}
