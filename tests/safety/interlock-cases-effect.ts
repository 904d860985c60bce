import { MINUTE } from './bench.ts'
import { effectLimits, seenShot } from './effect-bench.ts'
import { holds, type InterlockCase, refuses } from './interlock-case.ts'

/** Too uncertain to verify anything by one shot. */
const DULL = effectLimits({ driftSdDsPerM: 0.02 })
/** Phosphate has a reason of its own for not being tested; the site says nothing of effects. */
const SILENT = (({ effect: _none, ...rest }) => rest)(DULL)
const forty = (bench: Parameters<InterlockCase['arrange']>[0]) => seenShot(bench, [1.8, 1.82])

/** What raw readings have not yet shown of a stock stays small. */
export const EFFECT_CASES: readonly InterlockCase[] = [
  holds('unproven-bounded', '40 mL unproven and 60 mL more under a cap of 100 mL', {
    limits: DULL,
    arrange: forty,
    volumeUl: 60_000,
  }),
  refuses('unproven-bounded', '60.001 mL more', { limits: DULL, arrange: forty, volumeUl: 60_001 }),
  refuses('unproven-bounded', '40 mL in the book that nobody reported on', {
    limits: DULL,
    arrange: (bench) => bench.mustWish('nitrate', 40_000),
    volumeUl: 60_001,
  }),
  holds('unproven-bounded', '100 mL once the 40 mL are proven', {
    limits: effectLimits(),
    arrange: forty,
    volumeUl: 100_000,
  }),
  refuses('unproven-bounded', 'a level that is no number', {
    limits: DULL,
    arrange: (bench) => bench.scan({ 'level-1': Number.NaN }),
  }),
  refuses('unproven-bounded', 'a cap that is no number', { limits: effectLimits({ unverifiedMaxDsPerM: Number.NaN }) }),
  refuses('unproven-bounded', 'a response that is no number', {
    limits: effectLimits({}, { dsPerMPerMlPerL: Number.NaN }),
  }),
  refuses('unproven-bounded', 'limits that do not say how effects are checked', {
    limits: SILENT,
  }),
  refuses('unproven-bounded', 'a blank reason for not checking effects', {
    limits: { ...DULL, effect: { notChecked: ' ' } },
  }),
  refuses('unproven-bounded', 'a blank reason for not testing one stock', {
    limits: effectLimits({ unverifiedMaxDsPerM: 0.0001 }, { untold: ' ' }),
    volumeUl: 1000,
  }),
  holds('unproven-bounded', 'a stock that the probe cannot tell, for a reason', {
    limits: effectLimits({ unverifiedMaxDsPerM: 0.0001 }, { untold: 'too weak to be seen' }),
    volumeUl: 40_000,
  }),
  refuses('unproven-bounded', 'a stock that the probe cannot tell, where the limits say nothing of effects', {
    limits: SILENT,
    stock: 'phosphate',
  }),
  refuses('unproven-bounded', 'a stock that the probe cannot tell, where the site’s reason is blank', {
    limits: { ...DULL, effect: { notChecked: ' ' } },
    stock: 'phosphate',
  }),
  holds('unproven-bounded', 'a stock that the probe cannot tell, where no effect is checked for a reason', {
    limits: { ...DULL, effect: { notChecked: 'the probe is to be replaced' } },
    stock: 'phosphate',
  }),

  holds('effect-proven', 'nothing being measured', { limits: DULL }),
  refuses('effect-proven', 'a shot whose last reading is still to come', {
    limits: DULL,
    arrange: (bench) => {
      bench.dose('nitrate', 40_000)
      bench.pass(40 * MINUTE - 1)
    },
  }),
  holds('effect-proven', 'a shot that has been measured', {
    limits: DULL,
    arrange: (bench) => {
      bench.dose('nitrate', 40_000)
      bench.pass(40 * MINUTE)
    },
  }),
  holds('effect-proven', 'a shot too small to be measured', {
    limits: DULL,
    arrange: (bench) => {
      bench.dose('nitrate', 19_999)
      bench.pass(5 * MINUTE)
    },
  }),
  holds('effect-proven', 'a first small shot of another stock', {
    limits: DULL,
    stock: 'calcium',
    arrange: (bench) => {
      bench.dose('nitrate', 40_000)
      bench.pass(5 * MINUTE)
    },
  }),
  refuses('effect-proven', 'another stock’s shot that would blur the one being measured', {
    limits: DULL,
    stock: 'calcium',
    arrange: (bench) => {
      bench.dose('calcium', 10_000)
      bench.pass(5 * MINUTE)
      bench.dose('nitrate', 40_000)
      bench.pass(5 * MINUTE)
    },
  }),
  refuses('effect-proven', 'limits that do not say how effects are checked', {
    limits: SILENT,
  }),
  refuses('effect-proven', 'a stock that the probe cannot tell, where the limits say nothing of effects', {
    limits: SILENT,
    stock: 'phosphate',
  }),
  refuses('effect-proven', 'a stock that the probe cannot tell, where the site’s reason is blank', {
    limits: { ...DULL, effect: { notChecked: ' ' } },
    stock: 'phosphate',
  }),
]
