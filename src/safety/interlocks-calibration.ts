import { type Interlock, isCalibration } from './interlock.ts'
import { tellVolume } from './wording.ts'

/** What a pump run that a person asks for must keep to; rows that do not concern any dose. */
export const CALIBRATION_INTERLOCKS: readonly Interlock[] = [
  {
    id: 'calibration-declared',
    rule: 'A pump runs for a person only where the limits give its stock a cap for such runs.',
    on: 'condition',
    holds: (wish, { calibration }) =>
      !isCalibration(wish) || (calibration.calibrationRunMaxUl > 0 && calibration.calibrationDayMaxUl > 0),
    found: (wish) =>
      `the limits file has no cap for calibration runs of ${wish.stock}; add calibration with runMaxMl and dayMaxMl`,
  },
  {
    id: 'calibration-observes',
    rule: 'A pump runs for a person only in the mode observe, so that nothing is dosed while its tube is elsewhere.',
    on: 'condition',
    holds: (wish, facts) => !isCalibration(wish) || facts.mode === 'observe',
    found: (_wish, facts) => `the mode is ${facts.mode}; lower it to observe first, so that nothing is dosed meanwhile`,
  },
  {
    id: 'calibration-by-water',
    rule: 'The pump of an acid or a base runs for a person with plain water only.',
    on: 'condition',
    holds: (wish, facts) => !isCalibration(wish) || wish.withWater === true || (!facts.isAcid && !facts.isBase),
    found: (wish) => `the pump of ${wish.stock} is measured with plain water only; rinse its tube and say so`,
  },
  {
    id: 'calibration-run-bounded',
    rule: 'A run for a person is no larger than its own cap.',
    on: 'amount',
    holds: (wish, { calibration }) => !isCalibration(wish) || wish.volumeUl <= calibration.calibrationRunMaxUl,
    found: (_wish, { calibration }) =>
      `one run for a person may give at most ${tellVolume(calibration.calibrationRunMaxUl)}; run it for less long`,
  },
  {
    id: 'calibration-day-bounded',
    rule: 'Runs for people have a cap of their own for the day.',
    on: 'amount',
    holds: (wish, { calibration }) =>
      !isCalibration(wish) || calibration.calibrationDayUl + wish.volumeUl <= calibration.calibrationDayMaxUl,
    found: (_wish, { calibration }) =>
      `${tellVolume(calibration.calibrationDayUl)} was or may have been pumped for people within 24 h, at most ` +
      `${tellVolume(calibration.calibrationDayMaxUl)} may`,
  },
]

/**
 * Rows that guard what a dose does to the water. A calibration goes into a glass, in a mode that doses nothing, so they
 * are not asked; caps, node, hold, trips and every row that is not named here are. Should the tube have been left in the
 * reservoir, the caps of shot, hour and day still bound the harm.
 */
const OF_THE_WATER: ReadonlySet<string> = new Set([
  ...['mode-acts', 'probe-present', 'probe-not-from-future', 'probe-fresh', 'probe-good', 'probe-in-range'],
  ...['probe-not-stuck', 'probes-agree', 'level-not-low', 'level-not-high', 'flow-running', 'flow-steady'],
  ...['gap-kept', 'stocks-apart', 'series-doubled', 'series-mixed', 'unproven-bounded', 'effect-proven'],
  ...['acid-shot-bounded', 'acid-mixed', 'acid-ph-fresh', 'acid-ph-above-floor', 'acid-after-flow'],
  ...['acid-hour-buffered', 'acid-day-buffered', 'acid-rate-bounded', 'base-shot-bounded', 'base-mixed'],
  ...['base-ph-fresh', 'base-ph-below-ceiling', 'base-after-flow', 'acid-base-apart'],
])

/** The row as it goes for doses and calibrations alike. */
export function asCalibrated(row: Interlock): Interlock {
  if (!OF_THE_WATER.has(row.id)) return row
  return { ...row, holds: (wish, facts, limits) => isCalibration(wish) || row.holds(wish, facts, limits) }
}
