import { beforeAll, describe, expect, it } from 'vitest'
import { ELEMENT_COUNT, ELEMENT_INDEX, ELEMENTS } from '../../../../src/chemistry/element.ts'
import { advance } from '../../../../src/core/estimate/advance.ts'
import { type FilterState, initialFilterState } from '../../../../src/core/estimate/filter-state.ts'
import type { GridStep } from '../../../../src/core/estimate/grid-step.ts'
import {
  CONDUCTIVITY_GAIN,
  DELIVERY_FACTOR,
  GROWTH,
  UPTAKE_FACTOR,
  VOLUME,
} from '../../../../src/core/estimate/layout.ts'
import { predictedConductivityDsPerM } from '../../../../src/core/estimate/measure.ts'
import { predict } from '../../../../src/core/estimate/predict.ts'
import { litShareBetween } from '../../../../src/core/sense/photoperiod.ts'
import type { CoreSettings } from '../../../../src/core/settings.ts'
import { NOON_MS, quietStep, STEP_MS, withMean } from '../../../support/loop/filter.ts'
import { quarryLaneCore } from '../../../support/loop/site.ts'

const DAYS = 6
const STEPS = (DAYS * 86_400_000) / STEP_MS
let settings: CoreSettings
let fresh: FilterState

beforeAll(async () => {
  settings = await quarryLaneCore()
  fresh = initialFilterState(settings, NOON_MS)
})

interface Truth {
  /** what truly differs from the configuration, by place in the state; put back at every step */
  readonly differs: Readonly<Record<number, number>>
  readonly doses?: (number: number) => GridStep['doses']
  readonly gain?: number
}

/** A crop that differs, watched by probes that tell the truth, and one bottle at the end. */
function season({ differs, doses = () => [], gain = 1 }: Truth): { before: FilterState; after: FilterState } {
  let truth = withMean(fresh, differs)
  let belief = fresh
  const stepOf = (number: number): GridStep => {
    const endMs = NOON_MS + number * STEP_MS
    const litShare = litShareBetween(settings.photoperiod, 0, endMs - STEP_MS, endMs)
    return quietStep(endMs, { litShare, topUpL: 0.05, flowing: true, doses: doses(number) })
  }
  for (let number = 1; number <= STEPS; number++) {
    truth = withMean(predict(settings, settings.cohorts, truth, stepOf(number)), differs)
    const conductivityDsPerM = gain * predictedConductivityDsPerM(truth.mean, 5.9)
    const read = { ...stepOf(number), levelL: truth.mean[VOLUME]! - 12, conductivityDsPerM }
    belief = advance(settings, settings.cohorts, belief, read)
  }
  const values = Array.from({ length: ELEMENT_COUNT }, (_value, elementIndex) => {
    const mmolPerL = truth.mean[elementIndex]! / truth.mean[VOLUME]!
    return { elementIndex, mmolPerL, sdMmolPerL: 0.02 * mmolPerL + 1e-4 }
  })
  const bottle = { ...stepOf(STEPS + 1), laboratory: [{ id: 'r1', sampledAtMs: belief.atMs + 1, values }] }
  return { before: belief, after: advance(settings, settings.cohorts, belief, bottle) }
}

describe('one report', () => {
  it('of a crop that takes 30 % more of everything than configured raises what is believed of its growth', () => {
    const { after } = season({ differs: { [GROWTH]: Math.log(1.3) } })
    expect(after.mean[GROWTH]).toBeGreaterThan(0.08)
    expect(after.mean[GROWTH]).toBeLessThan(0.45)
  })

  it('of a crop that takes 30 % less lowers it', () => {
    expect(season({ differs: { [GROWTH]: Math.log(0.7) } }).after.mean[GROWTH]).toBeLessThan(-0.08)
  })

  it.each(['K', 'Mg', 'P'] as const)(
    'of a crop that takes 30 %% more %s alone raises that factor most of all',
    (name) => {
      const place = UPTAKE_FACTOR + ELEMENT_INDEX[name]
      const { after } = season({ differs: { [place]: Math.log(1.3) } })
      const plain = season({ differs: {} }).after
      const moved = ELEMENTS.slice(0, ELEMENT_INDEX.Na).map(
        (_name, at) => after.mean[UPTAKE_FACTOR + at]! - plain.mean[UPTAKE_FACTOR + at]!,
      )
      expect(moved[ELEMENT_INDEX[name]]).toBeGreaterThan(0.02)
      expect(Math.max(...moved)).toBe(moved[ELEMENT_INDEX[name]])
    },
  )

  it('shows an EC probe that reads 6 % high for what it is', () => {
    const { before, after } = season({ differs: {}, gain: 1.06 })
    const off = (filter: FilterState) => Math.abs(filter.mean[CONDUCTIVITY_GAIN]! - Math.log(1.06))
    expect(off(after)).toBeLessThan(0.025)
    expect(off(after)).toBeLessThanOrEqual(off(before))
  })

  it('of a worn pump lowers what its shots are believed to deliver', () => {
    const stockIndex = settings.stocks.findIndex(({ id }) => id === 'nitrate')
    const doses = (number: number) =>
      number % 6 === 0
        ? [{ atMs: NOON_MS + number * STEP_MS - 1, stockIndex, commandId: `1-${number}`, lowMl: 8, highMl: 8 }]
        : []
    // This plant mixes at once, which favours all pumps alike: the worn one is told from a sound one.
    const place = DELIVERY_FACTOR + stockIndex
    const factor = (truly: number) => season({ differs: { [place]: Math.log(truly) }, doses }).after.mean[place]!
    expect(factor(0.9) - factor(1)).toBeLessThan(-0.005)
    expect(factor(1.1) - factor(1)).toBeGreaterThan(0.005)
  })
})
