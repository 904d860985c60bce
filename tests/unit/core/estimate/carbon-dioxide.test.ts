import { beforeAll, describe, expect, it } from 'vitest'
import { phFromAlkalinity } from '../../../../src/chemistry/acidity.ts'
import { closedCarbon } from '../../../../src/chemistry/carbon.ts'
import { ELEMENT_COUNT } from '../../../../src/chemistry/element.ts'
import { CARBON_DIOXIDE_KH, CARBONATE_K1 } from '../../../../src/chemistry/equilibrium.ts'
import {
  bicarbonateBroughtMmol,
  excessAfter,
  excessAtPh,
  heldCo2MmolPerL,
  logPco2Of,
} from '../../../../src/core/estimate/carbon-dioxide.ts'
import { type FilterState, initialFilterState } from '../../../../src/core/estimate/filter-state.ts'
import { LOG_PCO2, VOLUME } from '../../../../src/core/estimate/layout.ts'
import { concentrations, phMeasurement } from '../../../../src/core/estimate/measure.ts'
import { predict } from '../../../../src/core/estimate/predict.ts'
import type { CoreSettings } from '../../../../src/core/settings.ts'
import { NOON_MS, quietStep, STEP_MS, withMean } from '../../../support/loop/filter.ts'
import { quarryLaneCore } from '../../../support/loop/site.ts'

let settings: CoreSettings
let fresh: FilterState

beforeAll(async () => {
  settings = await quarryLaneCore()
  fresh = initialFilterState(settings, NOON_MS)
})

/** A step at constant volume that brings so much bicarbonate. */
const after = (state: FilterState, broughtMmol: number) =>
  excessAfter(state, { broughtMmol, volumeL: state.mean[VOLUME]!, stepMs: STEP_MS })
const co2OfAir = (logPco2: number) => 1000 * CARBON_DIOXIDE_KH * 10 ** logPco2
const NO_UPTAKE = {
  byGrowth: new Float64Array(ELEMENT_COUNT),
  factored: new Float64Array(ELEMENT_COUNT),
  byWater: new Float64Array(ELEMENT_COUNT),
  carried: new Float64Array(ELEMENT_COUNT),
  waterL: 0,
}

describe('CO2 beyond what the air would leave', () => {
  it.each([5.5, 6.5, 7.3])('of a steady flow of bicarbonate is what comes in 48 minutes, whatever the pH: %f', (ph) => {
    const volumeL = fresh.mean[VOLUME]!
    let state: FilterState = { ...fresh, ph }
    for (let step = 0; step < 2000; step++) state = { ...state, carbonExcessMmolPerL: after(state, 2) }
    expect(heldCo2MmolPerL(state)).toBeCloseTo((2 * 4.8) / volumeL, 6)
  })

  it('does not come from bicarbonate that stays what it is, where no acid keeps pH low', () => {
    const high = { ...fresh, ph: 8.2 }
    expect(after(high, 50)).toBe(0)
    expect(after({ ...fresh, ph: 7.55 }, 50)).toBeGreaterThan(0)
  })

  it('goes to the air within hours once nothing comes any more', () => {
    let state: FilterState = { ...fresh, ph: 5.9, carbonExcessMmolPerL: 0.1 }
    for (let step = 0; step < 36; step++) state = { ...state, carbonExcessMmolPerL: after(state, 0) }
    expect(state.carbonExcessMmolPerL).toBeGreaterThan(0)
    expect(state.carbonExcessMmolPerL).toBeLessThan(0.001)
  })

  it('is diluted by the water that fills an empty tank, and counted in all of it', () => {
    const empty = { ...withMean(fresh, { [VOLUME]: 2 }), ph: 6, carbonExcessMmolPerL: 0.1 }
    const filled = excessAfter(empty, { broughtMmol: 600, volumeL: 200, stepMs: STEP_MS })
    expect(filled).toBeGreaterThan(2)
    expect(filled).toBeLessThan(3.01)
  })

  it('keeps all carbon there is when acid moves the pH: what was bicarbonate is CO2 now', () => {
    const before: FilterState = { ...fresh, ph: 6.6, carbonExcessMmolPerL: 0.02 }
    const after = { ...before, ph: 5.8, carbonExcessMmolPerL: excessAtPh(before, 5.8) }
    const carbonOf = (state: FilterState) =>
      co2OfAir(state.mean[LOG_PCO2]!) * (1 + CARBONATE_K1 * 10 ** state.ph) + state.carbonExcessMmolPerL
    expect(carbonOf(after)).toBeCloseTo(carbonOf(before), 12)
    expect(logPco2Of(after)).toBeGreaterThan(logPco2Of(before) + 0.2)
  })

  it('is the closed water of the chemistry: the same carbon gives the same pH', () => {
    const state: FilterState = { ...fresh, ph: 6.2, carbonExcessMmolPerL: 0.06 }
    const levels = concentrations(state.mean, new Float64Array(ELEMENT_COUNT))
    const held = co2OfAir(logPco2Of(state))
    const alkalinity = 0.25
    const open = phFromAlkalinity(levels, alkalinity, logPco2Of(state))
    const carbon = closedCarbon(held * (1 + CARBONATE_K1 * 10 ** open))
    // The activity of bicarbonate, which the balance of carbon leaves out, is worth some hundredths.
    expect(Math.abs(phFromAlkalinity(levels, alkalinity, carbon) - open)).toBeLessThan(0.03)
  })

  it('never falls below a fifth of what the air would leave, however fast pH rises', () => {
    const risen: FilterState = { ...fresh, ph: 7.5, carbonExcessMmolPerL: -50 }
    expect(co2OfAir(logPco2Of(risen))).toBeCloseTo(0.2 * co2OfAir(fresh.mean[LOG_PCO2]!), 9)
  })

  it('outlives a probe that shows any pH for an hour: what comes back is what was there, to about what the air leaves', () => {
    let state: FilterState = { ...fresh, ph: 5.9, carbonExcessMmolPerL: 0.02 }
    for (const ph of [3, 14, 12, 7, 10, 5.9]) {
      state = { ...state, ph, carbonExcessMmolPerL: excessAtPh(state, ph) }
      // The air is believed a little otherwise meanwhile.
      state = withMean(state, { [LOG_PCO2]: state.mean[LOG_PCO2]! + 0.005 })
    }
    expect(Math.abs(heldCo2MmolPerL(state) - 0.015)).toBeLessThan(1.5 * co2OfAir(fresh.mean[LOG_PCO2]!))
    expect(heldCo2MmolPerL({ ...fresh, carbonExcessMmolPerL: 1e9 })).toBeLessThan(4)
  })

  it('comes with the make-up water’s alkalinity and half of what roots leave, and with nothing that takes alkalinity away', () => {
    const source = { ...settings.source, mmolPerL: new Float64Array(ELEMENT_COUNT), untrackedMeqPerL: 3 }
    expect(bicarbonateBroughtMmol(source, 10, NO_UPTAKE)).toBeCloseTo(30, 9)
    const nitrate = { ...NO_UPTAKE, byGrowth: Float64Array.from(NO_UPTAKE.byGrowth, (_, at) => (at === 0 ? 8 : 0)) }
    expect(bicarbonateBroughtMmol(source, 10, nitrate)).toBeCloseTo(34, 9)
    const acid = { ...source, untrackedMeqPerL: -1 }
    expect(bicarbonateBroughtMmol(acid, 10, NO_UPTAKE)).toBe(0)
  })

  it('is brought by metered water, by water logged by hand, and by what a valve without a meter lets in', () => {
    const broughtBy = (step: Parameters<typeof quietStep>[1]) =>
      predict(settings, settings.cohorts, fresh, quietStep(NOON_MS + STEP_MS, step)).carbonExcessMmolPerL
    const none = broughtBy({ topUpL: 0 })
    expect(broughtBy({ topUpL: 5 })).toBeGreaterThan(none + 0.01)
    const byHand = broughtBy({ topUpL: 0, acts: [{ act: 'topped-up', volumeL: 5, doneAtMs: NOON_MS }] })
    expect(byHand).toBeCloseTo(broughtBy({ topUpL: 5 }), 9)
    expect(broughtBy({})).toBeGreaterThan(none)
  })

  it('lowers the pH that is expected, and the air answers for its own part alone', () => {
    const noise = { ph: 0.01, unmixedMeqPerL: 0, lastPh: 6 }
    const airy = phMeasurement(fresh.mean, 5.9, noise)!
    const heavy = phMeasurement(fresh.mean, 5.9, { ...noise, heldCo2MmolPerL: co2OfAir(fresh.mean[LOG_PCO2]!) })!
    expect(heavy.innovation).toBeGreaterThan(airy.innovation)
    const slope = (measurement: typeof airy) => measurement.slopes[measurement.places.indexOf(LOG_PCO2)]!
    // Twice the CO2, half of it the air’s: a step of the air moves pH by about as much as it did, not by twice as much.
    const stepped = withMean(fresh, { [LOG_PCO2]: fresh.mean[LOG_PCO2]! + 1e-4 })
    const moved = phMeasurement(stepped.mean, 5.9, { ...noise, heldCo2MmolPerL: co2OfAir(fresh.mean[LOG_PCO2]!) })!
    expect((heavy.innovation - moved.innovation) / 1e-4).toBeCloseTo(slope(heavy), 3)
  })
})
