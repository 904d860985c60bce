import { beforeAll, describe, expect, it } from 'vitest'
import { ELEMENT_INDEX } from '../../../../src/chemistry/element.ts'
import { type FilterState, initialFilterState } from '../../../../src/core/estimate/filter-state.ts'
import { VOLUME } from '../../../../src/core/estimate/layout.ts'
import { type Evidence, giveWayToLevel } from '../../../../src/core/estimate/reopen.ts'
import type { CoreSettings } from '../../../../src/core/settings.ts'
import { NOON_MS } from '../../../support/loop/filter.ts'
import { quarryLaneCore } from '../../../support/loop/site.ts'

let settings: CoreSettings
let fresh: FilterState

beforeAll(async () => {
  settings = await quarryLaneCore()
  fresh = initialFilterState(settings, NOON_MS)
})

/** How doubtful the concentration of potassium is, as a share of it, once 40 L were found to be gone. */
function doubtOfPotassium(topUpL: number): { readonly share: number; readonly level: number } {
  const belief = { mean: fresh.mean.slice(), covariance: new Float64Array(fresh.mean.length ** 2) }
  const evidence: Evidence = {
    settings,
    topUpL,
    shiftL: 0,
    ph: 6,
    phOf: () => undefined,
    conductivityOf: () => undefined,
  }
  expect(giveWayToLevel(belief, -40, evidence)).toEqual({ cause: 'solution-lost', amount: 40 })
  const { mean, covariance } = belief
  const n = mean.length
  const [K, V] = [ELEMENT_INDEX.K, VOLUME]
  const [mmol, volumeL] = [mean[K]!, mean[V]!]
  const of = (row: number, column: number) => covariance[row * n + column]!
  const variance = of(K, K) / mmol ** 2 + of(V, V) / volumeL ** 2 - (2 * of(K, V)) / (mmol * volumeL)
  return { share: Math.sqrt(Math.max(0, variance)), level: mmol / volumeL }
}

describe('solution that is found to be lost', () => {
  it('makes no concentration doubtful where nothing came in meanwhile: a drain takes all alike', () => {
    const { share, level } = doubtOfPotassium(0)
    expect(share).toBeLessThan(1e-6)
    expect(level).toBeCloseTo(fresh.mean[ELEMENT_INDEX.K]! / fresh.mean[VOLUME]!, 9)
  })

  it('makes them doubtful where water came in meanwhile: what overflowed first was stronger than what stayed', () => {
    const { share } = doubtOfPotassium(10)
    // 220 L believed, 60 of them came in the strained hour: of 160 L a quarter may have gone first, not 40 of 220.
    const weaker = (1 - 40 / (fresh.mean[VOLUME]! - 60)) / (1 - 40 / fresh.mean[VOLUME]!)
    expect(share).toBeCloseTo(0.5 * (1 - weaker), 6)
    expect(doubtOfPotassium(20).share).toBeGreaterThan(share)
    expect(doubtOfPotassium(500).share).toBeLessThan(0.5)
  })
})
