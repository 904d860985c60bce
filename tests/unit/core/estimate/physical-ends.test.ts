import { beforeAll, describe, expect, it } from 'vitest'
import { ELEMENT_INDEX } from '../../../../src/chemistry/element.ts'
import { type FilterState, initialFilterState } from '../../../../src/core/estimate/filter-state.ts'
import { CONDUCTIVITY_GAIN, PH_OFFSET, VOLUME } from '../../../../src/core/estimate/layout.ts'
import { holdWithinEnds } from '../../../../src/core/estimate/physical-ends.ts'
import { estimateOf } from '../../../../src/core/estimate/summary.ts'
import type { CoreSettings } from '../../../../src/core/settings.ts'
import { NOON_MS, sdOf, withMean } from '../../../support/loop/filter.ts'
import { quarryLaneCore } from '../../../support/loop/site.ts'

let settings: CoreSettings
let fresh: FilterState
beforeAll(async () => {
  settings = await quarryLaneCore()
  fresh = initialFilterState(settings, NOON_MS)
})

const held = (filter: FilterState): FilterState => {
  const own = { ...filter, mean: filter.mean.slice(), covariance: filter.covariance.slice() }
  holdWithinEnds(settings, own)
  return own
}

describe('the ends of what can be believed', () => {
  it('leave the belief of an ordinary first fill as it is', () => {
    expect(held(fresh)).toEqual(fresh)
  })

  it('stop an EC gain that fell while salt was believed to rise without bound', () => {
    const { mean } = held(withMean(fresh, { [CONDUCTIVITY_GAIN]: -8, [ELEMENT_INDEX['NO3-N']]: 1e7 }))
    expect(Math.exp(mean[CONDUCTIVITY_GAIN]!)).toBeCloseTo(0.5, 12)
    expect(mean[ELEMENT_INDEX['NO3-N']]! / mean[VOLUME]!).toBeCloseTo(200, 9)
  })

  it('narrow a doubt with all that hangs on it, so that correlations stay', () => {
    const n = fresh.mean.length
    const covariance = fresh.covariance.slice()
    const [one, other] = [PH_OFFSET, CONDUCTIVITY_GAIN]
    covariance[one * n + one] = 100
    covariance[one * n + other] = covariance[other * n + one] = 0.5 * 10 * sdOf(fresh, other)
    const after = held({ ...fresh, covariance })
    expect(sdOf(after, one)).toBeCloseTo(2, 12)
    const correlation = after.covariance[one * n + other]! / (sdOf(after, one) * sdOf(after, other))
    expect(correlation).toBeCloseTo(0.5, 12)
    expect(after.covariance[other * n + one]).toBe(after.covariance[one * n + other])
  })
})

describe('nitrogen as a whole', () => {
  it('is no more doubtful than its parts are apart where what one has too much the other lacks', () => {
    const n = fresh.mean.length
    const [nitrate, ammonium] = [ELEMENT_INDEX['NO3-N'], ELEMENT_INDEX['NH4-N']]
    const covariance = fresh.covariance.slice()
    covariance[ammonium * n + ammonium] = covariance[nitrate * n + nitrate]!
    const apart = estimateOf({ ...fresh, covariance }).nitrogen
    const opposed = covariance.slice()
    opposed[nitrate * n + ammonium] = opposed[ammonium * n + nitrate] = -0.9 * covariance[nitrate * n + nitrate]!
    const together = estimateOf({ ...fresh, covariance: opposed }).nitrogen
    expect(together.mgPerL).toBe(apart.mgPerL)
    expect(together.sdMgPerL).toBeLessThan(0.5 * apart.sdMgPerL)
    const { elements } = estimateOf(fresh)
    expect(apart.mgPerL).toBeCloseTo(elements['NO3-N'].mgPerL + elements['NH4-N'].mgPerL, 9)
  })
})
