import { beforeAll, describe, expect, it } from 'vitest'
import { ELEMENT_INDEX, MACRONUTRIENTS } from '../../../../src/chemistry/element.ts'
import { advance } from '../../../../src/core/estimate/advance.ts'
import {
  type AppetiteSurprises,
  appetiteVariance,
  NO_SURPRISES,
  scaleAppetites,
  surprisedBy,
} from '../../../../src/core/estimate/appetite-doubt.ts'
import { type FilterState, initialFilterState } from '../../../../src/core/estimate/filter-state.ts'
import type { StepLaboratory } from '../../../../src/core/estimate/grid-step.ts'
import { GROWTH, UPTAKE_FACTOR, VOLUME } from '../../../../src/core/estimate/layout.ts'
import { levelsOf } from '../../../../src/core/estimate/summary.ts'
import type { CoreSettings } from '../../../../src/core/settings.ts'
import { NOON_MS, quietStep, STEP_MS } from '../../../support/loop/filter.ts'
import { quarryLaneCore } from '../../../support/loop/site.ts'

let settings: CoreSettings
let fresh: FilterState

beforeAll(async () => {
  settings = await quarryLaneCore()
  fresh = initialFilterState(settings, NOON_MS)
})

const JUDGED = MACRONUTRIENTS.map((name) => ELEMENT_INDEX[name])
const variance = (appetite: AppetiteSurprises) => appetiteVariance({ appetite })

/** Bottles of six values that were all so many standard deviations off. */
function bottles(count: number, sigmas: number, believedShare = 1): AppetiteSurprises {
  let appetite: AppetiteSurprises = { ...NO_SURPRISES, bottles: 1 }
  for (let bottle = 0; bottle < count; bottle++)
    for (const elementIndex of JUDGED) appetite = surprisedBy(appetite, { elementIndex, sigmas, believedShare })
  return appetite
}

describe('the doubt about uptake', () => {
  it('is the crops file’s before a second bottle: the first tells of the fill', () => {
    expect(appetiteVariance({})).toBe(1)
    const first = surprisedBy(NO_SURPRISES, { elementIndex: ELEMENT_INDEX.K, sigmas: 3, believedShare: 1 })
    expect(variance(first)).toBe(1)
  })

  it('narrows where bottles come as expected, widens where they surprise, and stays where they surprise as they should', () => {
    expect(variance(bottles(1, 0.3))).toBeLessThan(0.6)
    expect(variance(bottles(1, 2))).toBeGreaterThan(2)
    expect(variance(bottles(4, 1))).toBeCloseTo(1, 9)
  })

  it('finds the true variance where there are bottles enough, though every surprise is told in what is believed by then', () => {
    let appetite: AppetiteSurprises = { ...NO_SURPRISES, bottles: 1 }
    // Errors of 1.3 configured standard deviations each.
    for (let value = 0; value < 3000; value++) {
      const sigmas = 1.3 / Math.sqrt(variance(appetite))
      appetite = surprisedBy(appetite, { elementIndex: ELEMENT_INDEX.P, sigmas, believedShare: 1 })
    }
    expect(variance(appetite)).toBeCloseTo(1.3 ** 2, 2)
  })

  it('learns nothing from what is the laboratory’s own scatter, nor from micronutrients', () => {
    expect(variance(bottles(5, 3, 0))).toBe(1)
    const started = { ...NO_SURPRISES, bottles: 1 }
    expect(surprisedBy(started, { elementIndex: ELEMENT_INDEX.Fe, sigmas: 3, believedShare: 1 })).toBe(started)
  })

  it('has ends, and one wild value no more say than another far one', () => {
    expect(variance(bottles(100, 0))).toBe(0.3)
    expect(variance(bottles(100, 3))).toBe(3)
    expect(bottles(1, 40)).toEqual(bottles(1, 3.5))
  })

  it('scales growth and uptake alone, and leaves a covariance that is symmetric', () => {
    const n = fresh.mean.length
    const covariance = fresh.covariance.slice()
    const factor = UPTAKE_FACTOR + ELEMENT_INDEX.K
    for (const [row, column] of [
      [factor, VOLUME],
      [VOLUME, factor],
      [factor, GROWTH],
      [GROWTH, factor],
    ] as const)
      covariance[row * n + column] = 0.001
    const before = covariance.slice()
    scaleAppetites({ mean: fresh.mean, covariance }, 0.25)
    const ratio = (row: number, column: number) => covariance[row * n + column]! / before[row * n + column]!
    expect(ratio(factor, factor)).toBeCloseTo(0.25, 12)
    expect(ratio(factor, GROWTH)).toBeCloseTo(0.25, 12)
    expect(ratio(factor, VOLUME)).toBeCloseTo(0.5, 12)
    expect(ratio(VOLUME, factor)).toBeCloseTo(0.5, 12)
    expect(ratio(VOLUME, VOLUME)).toBe(1)
  })
})

describe('in the filter, the doubt about uptake', () => {
  const bottle = (filter: FilterState, id: string, off: number): StepLaboratory => ({
    id,
    sampledAtMs: filter.atMs,
    values: JUDGED.map((elementIndex) => {
      const mmolPerL = levelsOf(filter).mmolPerL[elementIndex]! * (1 + off)
      return { elementIndex, mmolPerL, sdMmolPerL: 0.01 * mmolPerL }
    }),
  })
  const run = (filter: FilterState, laboratory: readonly StepLaboratory[], days = 0): FilterState => {
    let after = filter
    for (let step = 0; step < Math.max(1, days * 144); step++)
      after = advance(settings, settings.cohorts, after, {
        ...quietStep(after.atMs + STEP_MS, { topUpL: 0 }),
        laboratory: step === 0 ? laboratory : [],
      })
    return after
  }

  it('is narrower after bottles as expected than after surprising ones, and is learned afresh on a reset', () => {
    const started = run(run(fresh, [bottle(fresh, 'a', 0)]), [], 4)
    const asExpected = run(started, [bottle(started, 'b', 0)])
    const surprised = run(started, [bottle(started, 'b', 0.5)])
    expect(appetiteVariance(asExpected.memory)).toBeLessThan(0.9)
    expect(appetiteVariance(surprised.memory)).toBeGreaterThan(1.2)
    const sdOf = ({ mean, covariance }: FilterState) => Math.sqrt(covariance[3 * mean.length + 3]!)
    expect(sdOf(run(asExpected, [], 3))).toBeLessThan(0.9 * sdOf(run(surprised, [], 3)))
    const reset = advance(settings, settings.cohorts, asExpected, {
      ...quietStep(asExpected.atMs + STEP_MS, { topUpL: 0 }),
      acts: [{ act: 'learning-reset', doneAtMs: asExpected.atMs }],
    })
    expect(appetiteVariance(reset.memory)).toBe(1)
  })
})
