import { sanitised, wait, withSwitch, withTwin } from './arrangement.ts'
import { MINUTE, SECOND } from './bench.ts'
import { holds, type InterlockCase, refuses } from './interlock-case.ts'

/** What a person holds: the switch at the reservoir, sanitising, and two probes that should agree. */
export const PEOPLE_CASES: readonly InterlockCase[] = [
  holds('hold-switch-open', 'a site without a hold switch'),
  holds('hold-switch-open', 'a switch that reads 0.499', {
    limits: withSwitch(),
    arrange: (bench) => bench.scan({ 'switch-1': 0.499 }),
  }),
  refuses('hold-switch-open', 'a switch that reads 0.5', {
    limits: withSwitch(),
    arrange: (bench) => bench.scan({ 'switch-1': 0.5 }),
  }),
  refuses('hold-switch-open', 'a switch that reads below 0', {
    limits: withSwitch(),
    arrange: (bench) => bench.scan({ 'switch-1': -0.001 }),
  }),
  refuses('hold-switch-open', 'a switch that reads no number', {
    limits: withSwitch(),
    arrange: (bench) => bench.scan({ 'switch-1': Number.NaN }),
  }),
  refuses('hold-switch-open', 'a switch that calls its reading uncertain', {
    limits: withSwitch(),
    arrange: (bench) => bench.scan({}, 'uncertain'),
  }),
  refuses('hold-switch-open', 'a switch that was not read since the start', {
    limits: withSwitch(),
    arrange: (bench) => bench.start(2),
  }),
  holds('hold-switch-open', 'a switch read 180 s ago', {
    limits: withSwitch(),
    arrange: (bench) => wait(bench, 180 * SECOND),
  }),
  refuses('hold-switch-open', 'a switch read 180.001 s ago', {
    limits: withSwitch(),
    arrange: (bench) => wait(bench, 180 * SECOND + 1),
  }),

  refuses('not-sanitising', 'a system that is being sanitised', {
    arrange: (bench) => bench.instruct({ instruction: 'sanitise', phase: 'begin' }),
  }),
  refuses('not-sanitising', 'the end of sanitising without a rinse', { arrange: sanitised }),
  refuses('not-sanitising', 'a rinse without a probe check', {
    arrange: (bench) => {
      sanitised(bench)
      bench.act('rinsed')
    },
  }),
  refuses('not-sanitising', 'a probe check without a rinse', {
    arrange: (bench) => {
      sanitised(bench)
      bench.act('probe-checked')
    },
  }),
  holds('not-sanitising', 'a rinse and a probe check at the very moment sanitising ended', {
    arrange: (bench) => {
      sanitised(bench)
      bench.act('rinsed', bench.atMs - MINUTE)
      bench.act('probe-checked', bench.atMs - MINUTE)
    },
  }),
  refuses('not-sanitising', 'a rinse from a millisecond before sanitising ended', {
    arrange: (bench) => {
      sanitised(bench)
      bench.act('rinsed', bench.atMs - MINUTE - 1)
      bench.act('probe-checked')
    },
  }),
  refuses('not-sanitising', 'a probe check a millisecond before the rinse', {
    arrange: (bench) => {
      sanitised(bench)
      bench.act('rinsed')
      bench.act('probe-checked', bench.atMs - 1)
    },
  }),
  refuses('not-sanitising', 'a rinse in time to come', {
    arrange: (bench) => {
      sanitised(bench)
      bench.act('rinsed', bench.atMs + 1)
      bench.act('probe-checked', bench.atMs + 1)
    },
  }),
  refuses('not-sanitising', 'acts without a time', {
    arrange: (bench) => {
      sanitised(bench)
      bench.act('rinsed', Number.NaN)
      bench.act('probe-checked', Number.NaN)
    },
  }),
  refuses('not-sanitising', 'an end that nobody gave a reason for', {
    arrange: (bench) => {
      bench.instruct({ instruction: 'sanitise', phase: 'begin' })
      bench.instruct({ instruction: 'sanitise', phase: 'end' }, '')
      bench.act('rinsed')
      bench.act('probe-checked')
    },
  }),
  holds('not-sanitising', 'an end that nobody began', {
    arrange: (bench) => bench.instruct({ instruction: 'sanitise', phase: 'end' }),
  }),

  holds('probes-agree', 'one probe of each role'),
  holds('probes-agree', 'two pH probes exactly 0.25 apart', {
    limits: withTwin({ ph: 0.25 }),
    arrange: (bench) => bench.scan({ 'ph-1': 6, 'ph-2': 6.25 }),
  }),
  refuses('probes-agree', 'two pH probes 0.251 apart', {
    limits: withTwin({ ph: 0.25 }),
    arrange: (bench) => bench.scan({ 'ph-1': 6, 'ph-2': 6.251 }),
  }),
  refuses('probes-agree', 'two pH probes of which one reads no number', {
    limits: withTwin({ ph: 0.25 }),
    arrange: (bench) => bench.scan({ 'ph-2': Number.NaN }),
  }),
  refuses('probes-agree', 'two pH probes and no word of how far they may differ', { limits: withTwin(undefined) }),
  refuses('probes-agree', 'two pH probes that may differ endlessly', { limits: withTwin({ ph: Infinity }) }),
  refuses('probes-agree', 'two pH probes not compared, without a reason', {
    limits: withTwin({ ph: { notChecked: ' ' } }),
  }),
  holds('probes-agree', 'two pH probes not compared for a reason', {
    limits: withTwin({ ph: { notChecked: 'one hangs in the return pipe' } }),
    arrange: (bench) => bench.scan({ 'ph-1': 5, 'ph-2': 7 }),
  }),
]
