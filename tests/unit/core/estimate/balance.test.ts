import { beforeAll, describe, expect, it } from 'vitest'
import { ELEMENT_COUNT, ELEMENT_INDEX, ELEMENTS } from '../../../../src/chemistry/element.ts'
import { advance } from '../../../../src/core/estimate/advance.ts'
import { type FilterState, initialFilterState } from '../../../../src/core/estimate/filter-state.ts'
import type { GridStep, TimedAct } from '../../../../src/core/estimate/grid-step.ts'
import {
  DELIVERY_FACTOR,
  GROWTH,
  UNTRACKED,
  UPTAKE_FACTOR,
  VOLUME,
  WATER_DRAWN,
} from '../../../../src/core/estimate/layout.ts'
import { predict } from '../../../../src/core/estimate/predict.ts'
import { levelsOf } from '../../../../src/core/estimate/summary.ts'
import { litShareBetween } from '../../../../src/core/sense/photoperiod.ts'
import type { CoreSettings } from '../../../../src/core/settings.ts'
import { mmolOf, NOON_MS, quietStep, STEP_MS, sdOf, withMean } from '../../../support/loop/filter.ts'
import { quarryLaneCore } from '../../../support/loop/site.ts'
import { math } from './matrix.ts'
import { solvedBalance } from './solved-balance.ts'

let settings: CoreSettings
let fresh: FilterState

beforeAll(async () => {
  settings = await quarryLaneCore()
  fresh = initialFilterState(settings, NOON_MS)
})

const run = (filter: FilterState, step: GridStep) => predict(settings, settings.cohorts, filter, step)

describe('the balance without readings', () => {
  it.each([
    ['in acid water', 6],
    ['in water above pH 6.3, which loses phosphate and iron', 6.8],
  ])('is what an ODE library makes of the same words over a week, to a hundredth of what moved, %s', (_where, ph) => {
    let filter: FilterState = { ...fresh, ph }
    for (let endMs = NOON_MS + STEP_MS; endMs <= NOON_MS + 7 * 86_400_000; endMs += STEP_MS) {
      const litShare = litShareBetween(settings.photoperiod, 0, endMs - STEP_MS, endMs)
      filter = run(filter, quietStep(endMs, { litShare, topUpL: 0 }))
    }
    const expected = solvedBalance(settings, fresh.mean, { fromMs: NOON_MS, days: 7, ph })
    expect(filter.mean[VOLUME]! / expected[VOLUME]!).toBeCloseTo(1, 3)
    for (let at = 0; at < ELEMENT_COUNT; at++) {
      const moved = Math.abs(expected[at]! - fresh.mean[at]!)
      expect(Math.abs(filter.mean[at]! - expected[at]!), ELEMENTS[at]).toBeLessThan(
        0.01 * moved + 1e-4 * fresh.mean[at]!,
      )
    }
  })

  it('brings what the stock holds with a dose, times the factor its batch was found to deliver', () => {
    const stockIndex = settings.stocks.findIndex(({ id }) => id === 'nitrate')
    const worn = withMean(fresh, { [DELIVERY_FACTOR + stockIndex]: Math.log(0.9) })
    const dose = { atMs: NOON_MS, stockIndex, commandId: '1-1', lowMl: 20, highMl: 20 }
    const dosed = run(worn, quietStep(NOON_MS + STEP_MS, { topUpL: 0, doses: [dose] }))
    const idle = run(worn, quietStep(NOON_MS + STEP_MS, { topUpL: 0 }))
    // 120 g/L of potassium nitrate, 101.10 g/mol: 20 mL hold 23.74 mmol, 90 % of it came.
    expect(mmolOf(dosed, 'K') - mmolOf(idle, 'K')).toBeCloseTo(0.9 * ((20 * 0.12) / 0.1011), 2)
    expect(mmolOf(dosed, 'NO3-N') - mmolOf(idle, 'NO3-N')).toBeCloseTo(mmolOf(dosed, 'K') - mmolOf(idle, 'K'), 9)
    expect(dosed.mean[VOLUME]! - idle.mean[VOLUME]!).toBeCloseTo(0.018, 9)
  })

  it('brings what the water holds with each metered litre, and its alkalinity', () => {
    const filled = run(fresh, quietStep(NOON_MS + STEP_MS, { topUpL: 10 }))
    const idle = run(fresh, quietStep(NOON_MS + STEP_MS, { topUpL: 0 }))
    // The source’s report: 82 mg/L of calcium, 40.078 g/mol.
    expect(mmolOf(filled, 'Ca') - mmolOf(idle, 'Ca')).toBeCloseTo((10 * 82) / 40.078, 3)
    expect(filled.mean[VOLUME]! - idle.mean[VOLUME]!).toBeCloseTo(10, 9)
    expect(filled.mean[UNTRACKED]! - idle.mean[UNTRACKED]!).toBeCloseTo(10 * settings.source.untrackedMeqPerL, 9)
  })

  it('lets charge that nobody tracks go again within weeks, and is never surer of it than of any other time’s', () => {
    const n = fresh.mean.length
    const sdOf = ({ covariance }: FilterState) => Math.sqrt(covariance[UNTRACKED * n + UNTRACKED]!)
    let filter = withMean(fresh, { [UNTRACKED]: 40 })
    // An empty bench, so that the water stays; two months of a time constant of one.
    for (let day = 1; day <= 60; day++)
      filter = predict(settings, [], filter, quietStep(NOON_MS + day * 86_400_000, { topUpL: 0 }))
    expect(filter.mean[UNTRACKED]! / 40).toBeCloseTo(Math.exp(-2), 6)
    expect(sdOf(filter) / sdOf(fresh)).toBeCloseTo(1, 2)
  })

  it('takes the float valve’s word for it where no meter is fitted: the volume stays', () => {
    const unmetered = run(withMean(fresh, { [WATER_DRAWN]: 0.3 }), quietStep(NOON_MS + STEP_MS))
    expect(unmetered.mean[VOLUME]).toBeCloseTo(fresh.mean[VOLUME]!, 9)
    expect(mmolOf(unmetered, 'Ca')).toBeGreaterThan(
      mmolOf(run(fresh, quietStep(NOON_MS + STEP_MS, { topUpL: 0 })), 'Ca'),
    )
  })

  it('never goes below nothing, nor below what pump and pipes hold', () => {
    let filter = withMean(fresh, { [ELEMENT_INDEX.K]: 0.5, [ELEMENT_INDEX['NH4-N']]: 0 })
    for (let step = 1; step <= 3000; step++) filter = run(filter, quietStep(NOON_MS + step * STEP_MS, { topUpL: 0 }))
    for (let at = 0; at < ELEMENT_COUNT; at++) expect(filter.mean[at]).toBeGreaterThanOrEqual(0)
    expect(filter.mean[VOLUME]).toBeGreaterThan(0)
    expect([...filter.mean, ...filter.covariance].every(Number.isFinite)).toBe(true)
  })
})

const act = (one: object): Pick<GridStep, 'acts'> => ({ acts: [{ doneAtMs: NOON_MS + 1, ...one } as TimedAct] })

describe('solution let go', () => {
  it('takes the same share of each element and leaves every concentration, and the doubt about it, alone', () => {
    const before = run(fresh, quietStep(NOON_MS + STEP_MS, { topUpL: 0 }))
    const drained = run(fresh, quietStep(NOON_MS + STEP_MS, { topUpL: 0, ...act({ act: 'drained', volumeL: 55 }) }))
    const share = drained.mean[VOLUME]! / before.mean[VOLUME]!
    expect(share).toBeCloseTo(0.75, 3)
    const [was, is] = [levelsOf(before), levelsOf(drained)]
    for (let at = 0; at < ELEMENT_COUNT; at++) {
      expect(drained.mean[at]! / before.mean[at]!).toBeCloseTo(share, 9)
      expect(is.mmolPerL[at]! / was.mmolPerL[at]!).toBeCloseTo(1, 9)
      expect(is.sdMmolPerL[at]! / was.sdMmolPerL[at]!, ELEMENTS[at]).toBeCloseTo(1, 1)
    }
    // A tenth of 55 L, with a quarter less of the doubt there was.
    expect(is.sdVolumeL).toBeGreaterThan(5.4)
  })

  it('to the last drop leaves a reservoir that can be filled again', () => {
    let filter = run(fresh, quietStep(NOON_MS + STEP_MS, { topUpL: 0, ...act({ act: 'drained', volumeL: 500 }) }))
    expect(mmolOf(filter, 'K')).toBe(0)
    const read = { levelL: 208, flowing: true, ph: 7, conductivityDsPerM: 0.5 }
    for (let step = 2; step < 8; step++) {
      const filling = step === 3 ? act({ act: 'topped-up', volumeL: 220 }) : {}
      filter = advance(
        settings,
        settings.cohorts,
        filter,
        quietStep(NOON_MS + step * STEP_MS, { topUpL: 0, ...filling, ...(step > 3 ? read : {}) }),
      )
      expect([...filter.mean, ...filter.covariance].every(Number.isFinite), `step ${step}`).toBe(true)
    }
    expect(filter.mean[VOLUME]).toBeCloseTo(220, 0)
    // Calcium of make-up water, as far as these made-up readings leave it alone.
    expect(mmolOf(filter, 'Ca') / filter.mean[VOLUME]!).toBeCloseTo(82 / 40.078, 0)
  })
})

describe('doubt', () => {
  const nitrate = () => settings.stocks.findIndex(({ id }) => id === 'nitrate')
  const dosed = (lowMl: number, highMl: number) => {
    const dose = { atMs: NOON_MS, stockIndex: nitrate(), commandId: '1-1', lowMl, highMl }
    return run(fresh, quietStep(NOON_MS + STEP_MS, { doses: [dose] }))
  }

  it('widens by a flat belief over what a shot may have delivered, and only for what the stock holds', () => {
    const [known, unknown] = [dosed(10, 10), dosed(0, 20)]
    expect(unknown.mean).toEqual(known.mean)
    const perMl = settings.stocks[nitrate()]!.mmolPerMl[ELEMENT_INDEX.K]!
    const widened = sdOf(unknown, ELEMENT_INDEX.K) ** 2 - sdOf(known, ELEMENT_INDEX.K) ** 2
    expect(widened).toBeCloseTo((20 * perMl) ** 2 / 12, 6)
    expect(sdOf(unknown, ELEMENT_INDEX.Mg)).toBe(sdOf(known, ELEMENT_INDEX.Mg))
  })

  it('is one for all that came in that shot: potassium seen settles nitrate', () => {
    const n = fresh.mean.length
    const common = dosed(0, 20).covariance[ELEMENT_INDEX.K * n + ELEMENT_INDEX['NO3-N']]!
    expect(common - dosed(10, 10).covariance[ELEMENT_INDEX.K * n + ELEMENT_INDEX['NO3-N']]!).toBeGreaterThan(10)
  })

  it('about a batch begins anew when its stock is mixed anew', () => {
    const at = DELIVERY_FACTOR + nitrate()
    const learned = withMean(fresh, { [at]: -0.2 })
    const anew = run(learned, quietStep(NOON_MS + STEP_MS, act({ act: 'stock-refilled', stockIndex: nitrate() })))
    expect(anew.mean[at]).toBe(0)
    expect(sdOf(anew, at)).toBeCloseTo(settings.stocks[nitrate()]!.strengthSd, 4)
    expect(anew.covariance[at * fresh.mean.length + ELEMENT_INDEX.K]).toBe(0)
  })

  it('about growth becomes doubt about each element that growth takes, as the numbers of one step say', () => {
    // The slope in the growth factor by a difference of two runs, against the covariance that one run builds.
    const n = fresh.mean.length
    const stepEnd = quietStep(NOON_MS + STEP_MS, { topUpL: 0 })
    const nudged = (by: number) => run(withMean(fresh, { [GROWTH]: by }), stepEnd).mean[ELEMENT_INDEX.K]!
    const slope = (nudged(1e-4) - nudged(-1e-4)) / 2e-4
    const expected = math.multiply(slope, sdOf(fresh, GROWTH) ** 2) as number
    const kept = Math.exp(-STEP_MS / (40 * 86_400_000))
    expect(run(fresh, stepEnd).covariance[ELEMENT_INDEX.K * n + GROWTH]! / (expected * kept)).toBeCloseTo(1, 4)
  })
})

describe('what is learned of a crop', () => {
  it('scales uptake by the growth factor and by each element’s own', () => {
    const stepEnd = quietStep(NOON_MS + STEP_MS, { topUpL: 0 })
    const taken = (changes: Record<number, number>) =>
      fresh.mean[ELEMENT_INDEX.K]! - mmolOf(run(withMean(fresh, changes), stepEnd), 'K')
    const plain = taken({})
    expect(taken({ [GROWTH]: Math.log(1.3) }) / plain).toBeCloseTo(1.3, 6)
    expect(taken({ [UPTAKE_FACTOR + ELEMENT_INDEX.K]: Math.log(0.8) }) / plain).toBeCloseTo(0.8, 6)
    expect(taken({ [UPTAKE_FACTOR + ELEMENT_INDEX.Mg]: 1 }) / plain).toBeCloseTo(1, 9)
  })
})
