/** What a pump run for a person must keep to, each at its edge: 30 mL a run and 80 mL a day, in the mode observe. */

import type { CalibrationLimits, Limits } from '../../src/safety/limits.ts'
import { withStock } from './arrangement.ts'
import { type Bench, DAY, HOUR } from './bench.ts'
import { holds, type InterlockCase, refuses } from './interlock-case.ts'

const CALIBRATION: CalibrationLimits = { runMaxUl: 30_000, dayMaxUl: 50_000 }

/** The bench’s limits with such a cap for one stock. */
export function withCalibration(change: Partial<CalibrationLimits> = {}, stock = 'nitrate'): Limits {
  return withStock(stock, { calibration: { ...CALIBRATION, ...change } })
}

/** A person lowers the mode, hangs the tube into a glass and asks. */
export function asksForRun(bench: Bench, withWater = false): void {
  bench.instruct({ instruction: 'mode', mode: 'observe' })
  bench.purpose = 'calibration'
  bench.withWater = withWater
}

const limits = withCalibration()
const asked = { limits, arrange: (bench: Bench) => asksForRun(bench) }

/** Runs of 25 mL, each an hour after the other. */
function ran(times: number) {
  return (bench: Bench) => {
    asksForRun(bench)
    for (let time = 0; time < times; time++) {
      if (time > 0) bench.pass(HOUR)
      bench.dose('nitrate', 25_000)
    }
  }
}

export const CALIBRATION_CASES: readonly InterlockCase[] = [
  holds('calibration-declared', 'a run that the limits give a cap for', asked),
  holds('calibration-declared', 'a plan’s shot, where they give none'),
  refuses('calibration-declared', 'a run that the limits say nothing of', { arrange: (bench) => asksForRun(bench) }),
  refuses('calibration-declared', 'a cap of nothing', { ...asked, limits: withCalibration({ runMaxUl: 0 }) }),
  refuses('calibration-declared', 'a cap that is no number', {
    ...asked,
    limits: withCalibration({ dayMaxUl: Number.NaN }),
  }),
  holds('calibration-observes', 'a run in the mode observe', asked),
  refuses('calibration-observes', 'a run in the mode automatic, while doses may go', {
    limits,
    arrange: (bench) => {
      bench.purpose = 'calibration'
    },
  }),
  refuses('calibration-observes', 'a run in the mode advise', {
    limits,
    arrange: (bench) => {
      asksForRun(bench)
      bench.instruct({ instruction: 'mode', mode: 'advise' })
    },
  }),
  holds('calibration-by-water', 'an acid pump run with water', {
    limits: withCalibration({}, 'acid'),
    arrange: (bench) => asksForRun(bench, true),
    stock: 'acid',
  }),
  refuses('calibration-by-water', 'an acid pump run with acid', {
    limits: withCalibration({}, 'acid'),
    arrange: (bench) => asksForRun(bench, false),
    stock: 'acid',
  }),
  refuses('calibration-by-water', 'an acid pump of which nobody said what it runs with', {
    limits: withCalibration({}, 'acid'),
    stock: 'acid',
    arrange: (bench) => {
      asksForRun(bench)
      bench.withWater = undefined
    },
  }),
  holds('calibration-by-water', 'another pump run with its stock', asked),
  holds('calibration-run-bounded', '30 mL, the cap of a run', { ...asked, volumeUl: 30_000 }),
  refuses('calibration-run-bounded', 'a microlitre more', { ...asked, volumeUl: 30_001 }),
  holds('calibration-day-bounded', 'the second run that fills the day’s cap', {
    limits,
    arrange: ran(1),
    volumeUl: 25_000,
  }),
  refuses('calibration-day-bounded', 'a microlitre more', { limits, arrange: ran(1), volumeUl: 25_001 }),
  refuses('calibration-day-bounded', 'a third run within the day', { limits, arrange: ran(2), volumeUl: 1000 }),
  holds('calibration-day-bounded', 'a run a day after the others', {
    limits,
    arrange: (bench) => {
      ran(2)(bench)
      bench.pass(DAY)
    },
    volumeUl: 30_000,
  }),
  holds('mode-acts', 'a run for a person in the mode observe', asked),
  refuses('not-held', 'a run for a person under a hold', {
    limits,
    arrange: (bench) => {
      asksForRun(bench)
      bench.instruct({ instruction: 'hold' })
    },
  }),
  refuses('not-tripped', 'a run for a person where a pump ran by itself', {
    limits,
    arrange: (bench) => {
      asksForRun(bench)
      bench.run('pump-2', 700)
      bench.beat()
    },
  }),
  refuses('shot-bounded', 'a run larger than the largest shot, whatever its own cap', {
    limits: withCalibration({ runMaxUl: 1_000_000, dayMaxUl: 1_000_000 }),
    arrange: (bench) => asksForRun(bench),
    volumeUl: 1_000_000,
  }),
]
