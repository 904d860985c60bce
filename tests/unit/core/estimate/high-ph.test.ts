import { beforeAll, describe, expect, it } from 'vitest'
import { ELEMENT_INDEX } from '../../../../src/chemistry/element.ts'
import { type FilterState, initialFilterState } from '../../../../src/core/estimate/filter-state.ts'
import { LOG_PCO2 } from '../../../../src/core/estimate/layout.ts'
import { predict } from '../../../../src/core/estimate/predict.ts'
import { levelsOf } from '../../../../src/core/estimate/summary.ts'
import type { CoreSettings } from '../../../../src/core/settings.ts'
import { NOON_MS, quietStep, STEP_MS } from '../../../support/loop/filter.ts'
import { quarryLaneCore } from '../../../support/loop/site.ts'

const DAY_STEPS = 86_400_000 / STEP_MS

let settings: CoreSettings
beforeAll(async () => {
  settings = await quarryLaneCore()
})

/** A day without a plant, a dose or a reading, at a believed pH. */
function aDayAt(ph: number): FilterState {
  let filter: FilterState = { ...initialFilterState(settings, NOON_MS), ph }
  for (let step = 1; step <= DAY_STEPS; step++)
    filter = { ...predict(settings, [], filter, quietStep(NOON_MS + step * STEP_MS)), ph }
  return filter
}

const levelOf = (filter: FilterState, element: 'Ca' | 'P' | 'K') => {
  const { mmolPerL, sdMmolPerL } = levelsOf(filter)
  return { mmolPerL: mmolPerL[ELEMENT_INDEX[element]]!, sdMmolPerL: sdMmolPerL[ELEMENT_INDEX[element]]! }
}

describe('a reservoir that stands at pH 7.8 for want of acid', () => {
  it('is believed to lose calcium and phosphate, and to be known less well of both, but not of potassium', () => {
    const [usual, high] = [aDayAt(6), aDayAt(7.8)]
    // Half a pH above the start: 2 % in the day. Phosphorus loses a hundredth more above pH 6.3 as it always did.
    expect(levelOf(high, 'Ca').mmolPerL / levelOf(usual, 'Ca').mmolPerL).toBeCloseTo(0.98, 3)
    expect(levelOf(high, 'P').mmolPerL / levelOf(usual, 'P').mmolPerL).toBeCloseTo(0.98 * 0.99, 3)
    for (const element of ['Ca', 'P'] as const) {
      const grown = levelOf(high, element).sdMmolPerL ** 2 - levelOf(usual, element).sdMmolPerL ** 2
      expect(Math.sqrt(grown) / levelOf(usual, element).mmolPerL).toBeGreaterThan(0.05)
    }
    expect(levelOf(high, 'K').sdMmolPerL).toBeCloseTo(levelOf(usual, 'K').sdMmolPerL, 9)
  })

  it('is not trusted to be in balance with its air', () => {
    const sdOf = ({ covariance, mean }: FilterState) => Math.sqrt(covariance[LOG_PCO2 * mean.length + LOG_PCO2]!)
    expect(sdOf(aDayAt(6))).toBeCloseTo(0.12, 2)
    expect(sdOf(aDayAt(7.8))).toBeGreaterThan(0.3)
  })

  it('is believed in as ever below pH 7.3', () => {
    expect(aDayAt(7.29).covariance).toEqual(aDayAt(6.4).covariance)
  })
})
