import { describe, expect, it } from 'vitest'
import { INTERLOCKS } from '../../src/safety/interlocks.ts'
import { readyBench } from './bench.ts'
import type { InterlockCase } from './interlock-case.ts'
import { INTERLOCK_CASES } from './interlock-cases.ts'

/** Rows that guard the water, and so are not asked where a pump runs for a person into a glass. */
const OF_THE_WATER = `
  mode-acts probe-present probe-not-from-future probe-fresh probe-good probe-in-range probe-not-stuck probes-agree
  level-not-low level-not-high flow-running flow-steady gap-kept stocks-apart series-doubled series-mixed
  unproven-bounded effect-proven acid-shot-bounded acid-mixed acid-ph-fresh acid-ph-above-floor acid-after-flow
  acid-hour-buffered acid-day-buffered acid-rate-bounded base-shot-bounded base-mixed base-ph-fresh
  base-ph-below-ceiling base-after-flow acid-base-apart`
  .trim()
  .split(/\s+/)
/** Rows that a smaller shot may meet. */
const OF_THE_AMOUNT = `
  shot-whole shot-bounded run-bounded hour-bounded day-bounded stock-not-empty since-refill-bounded series-doubled
  unproven-bounded acid-shot-bounded acid-hour-buffered acid-day-buffered acid-rate-bounded base-shot-bounded
  element-day-bounded ration-metered ration-day-bounded calibration-run-bounded calibration-day-bounded`
  .trim()
  .split(/\s+/)
/** A ration’s rows have nothing to say of a run into a glass; who asks for one is no ration. */
const OF_RATIONS = [
  'ration-approved',
  'ration-stock',
  'ration-loss',
  'ration-water',
  'ration-metered',
  'ration-day-bounded',
]

function refusesCalibration(row: InterlockCase): boolean {
  const bench = readyBench(row.limits)
  row.arrange(bench)
  bench.purpose = 'calibration'
  return bench.refusals(row.stock ?? 'nitrate', row.volumeUl ?? 1000).includes(row.interlock)
}

describe('an interlock', () => {
  it.each(INTERLOCKS.map((row) => [row.id, row.on]))(
    '%s bounds the amount, or is a condition for every shot',
    (id, on) => {
      expect(on).toBe(OF_THE_AMOUNT.includes(id) ? 'amount' : 'condition')
    },
  )

  const refusing = INTERLOCK_CASES.filter((row) => !row.holds)

  it.each(refusing.filter((row) => OF_THE_WATER.includes(row.interlock)))(
    'that guards the water is not asked for a run into a glass: $interlock, $tells',
    (row) => {
      expect(refusesCalibration(row)).toBe(false)
    },
  )

  it.each(refusing.filter((row) => ![...OF_THE_WATER, ...OF_RATIONS].includes(row.interlock)))(
    'that guards pump, people or bottle is asked for a run into a glass too: $interlock, $tells',
    (row) => {
      expect(refusesCalibration(row)).toBe(true)
    },
  )
})
