import { beforeAll, describe, expect, it } from 'vitest'
import { alkalinityFromPh, phFromAlkalinity } from '../../../../src/chemistry/acidity.ts'
import { alkalinityMeqPerL } from '../../../../src/chemistry/alkalinity.ts'
import { ELEMENT_INDEX, ELEMENTS } from '../../../../src/chemistry/element.ts'
import { type FilterState, initialFilterState } from '../../../../src/core/estimate/filter-state.ts'
import {
  CONDUCTIVITY_GAIN,
  CONDUCTIVITY_SHAPE,
  LOG_PCO2,
  PH_OFFSET,
  UNTRACKED,
  VOLUME,
} from '../../../../src/core/estimate/layout.ts'
import {
  concentrations,
  conductivityMeasurement,
  elementMeasurement,
  levelMeasurement,
  phMeasurement as phMeasurementOf,
  predictedConductivityDsPerM,
  trueReadingPh,
} from '../../../../src/core/estimate/measure.ts'
import type { ScalarMeasurement } from '../../../../src/core/estimate/update.ts'
import type { CoreSettings } from '../../../../src/core/settings.ts'
import { NOON_MS, withMean } from '../../../support/loop/filter.ts'
import { quarryLaneCore } from '../../../support/loop/site.ts'

let settings: CoreSettings
let fresh: FilterState

beforeAll(async () => {
  settings = await quarryLaneCore()
  const { mean, ...rest } = initialFilterState(settings, NOON_MS)
  // Biases that are not 0, so that none can hide a forgotten factor.
  fresh = withMean({ mean, ...rest }, { [CONDUCTIVITY_GAIN]: 0.03, [CONDUCTIVITY_SHAPE]: -0.01, [PH_OFFSET]: 0.05 })
})

/** The measurement, of a water that can be. */
function phMeasurement(...of: Parameters<typeof phMeasurementOf>): ScalarMeasurement {
  const measurement = phMeasurementOf(...of)
  if (measurement === undefined) throw new Error('no water has this charge')
  return measurement
}

/** pH the probe should show of a mean, straight from the chemistry. */
function shownPh(mean: Float64Array): number {
  const levels = concentrations(mean, new Float64Array(ELEMENTS.length))
  const strong = alkalinityMeqPerL(levels, mean[UNTRACKED]! / mean[VOLUME]!)
  return phFromAlkalinity(levels, strong, mean[LOG_PCO2]!) + mean[PH_OFFSET]!
}

/** Slope of a reading in one unknown by a central difference. */
function difference(of: (mean: Float64Array) => number, mean: Float64Array, at: number): number {
  const nudge = at === LOG_PCO2 || at >= CONDUCTIVITY_GAIN ? 1e-4 : Math.max(1e-3, Math.abs(mean[at]!) * 1e-4)
  const shifted = (by: number): number => {
    const moved = mean.slice()
    moved[at]! += by
    return of(moved)
  }
  return (shifted(nudge) - shifted(-nudge)) / (2 * nudge)
}

/** How far one standard deviation of each unknown moves the reading, by the slopes given and by differences. */
function effects(filter: FilterState, measurement: ScalarMeasurement, of: (mean: Float64Array) => number) {
  const n = filter.mean.length
  return Array.from({ length: n }, (_one, at) => {
    const sd = Math.sqrt(filter.covariance[at * n + at]!)
    const given = measurement.slopes.reduce(
      (sum, slope, entry) => (measurement.places[entry] === at ? sum + slope : sum),
      0,
    )
    return { at, given: given * sd, found: difference(of, filter.mean, at) * sd }
  })
}

const phs = [4.6, 5.4, 5.9, 6.6, 7.2]

describe('a pH reading', () => {
  it.each(phs)('at pH %d leans on every unknown as the chemistry does', (ph) => {
    const levels = concentrations(fresh.mean, new Float64Array(ELEMENTS.length))
    const alkalinity = alkalinityFromPh(levels, ph, fresh.mean[LOG_PCO2]!)
    const untracked = (alkalinity - alkalinityMeqPerL(levels)) * fresh.mean[VOLUME]!
    const filter = withMean(fresh, { [UNTRACKED]: untracked })
    const measurement = phMeasurement(filter.mean, ph + 0.2, { ph: 0.01, unmixedMeqPerL: 0, lastPh: 6 })
    expect(measurement.innovation).toBeCloseTo(ph + 0.2 - shownPh(filter.mean), 6)
    const all = effects(filter, measurement, shownPh)
    const largest = Math.max(...all.map(({ found }) => Math.abs(found)))
    for (const { given, found } of all) expect(Math.abs(given - found)).toBeLessThan(0.005 * largest)
  })

  it('measures cations minus anions: potassium nitrate moves it hardly, potassium alone a lot', () => {
    const { places, slopes } = phMeasurement(fresh.mean, 5.9, { ph: 0.01, unmixedMeqPerL: 0, lastPh: 6 })
    const slopeOf = (name: (typeof ELEMENTS)[number]) => slopes[places.indexOf(ELEMENT_INDEX[name])]!
    expect(slopeOf('K')).toBeGreaterThan(0)
    expect(slopeOf('K') + slopeOf('NO3-N')).toBeCloseTo(0, 12)
    expect(slopeOf('Ca') / slopeOf('K')).toBeCloseTo(2, 1)
    expect(slopeOf('S') / slopeOf('K')).toBeCloseTo(-2, 1)
    expect(slopeOf('Fe')).toBe(0)
  })

  it('says nothing where the belief has a charge that no water has: a laboratory value must put that right', () => {
    const impossible = withMean(fresh, { [UNTRACKED]: 1e12 })
    expect(phMeasurementOf(impossible.mean, 5.9, { ph: 0.01, unmixedMeqPerL: 0, lastPh: 6 })).toBeUndefined()
    expect(
      phMeasurementOf(withMean(fresh, { [UNTRACKED]: -1e12 }).mean, 5.9, { ph: 0.01, unmixedMeqPerL: 0, lastPh: 6 }),
    ).toBeUndefined()
  })

  it('is expected only as far as an acid shot has mixed in, and less is made of it meanwhile', () => {
    const noise = (unmixedMeqPerL: number) => ({ ph: 0.01, unmixedMeqPerL, lastPh: 6 })
    const mixed = phMeasurement(fresh.mean, 5.9, noise(0))
    // The balance holds the acid; what has not reached the probe yet (−0.1 meq/L) leaves it higher.
    const unmixed = phMeasurement(fresh.mean, 5.9, noise(-0.1))
    expect(unmixed.innovation).toBeLessThan(mixed.innovation - 0.02)
    expect(unmixed.noiseVariance).toBeGreaterThan(mixed.noiseVariance)
  })
})

describe('a conductivity reading', () => {
  it.each(phs)('at pH %d leans on every unknown as the conductivity model does', (ph) => {
    const shownAtReading = (mean: Float64Array) => predictedConductivityDsPerM(mean, trueReadingPh(mean, ph))
    const own = trueReadingPh(fresh.mean, ph)
    const measurement = conductivityMeasurement(fresh.mean, own, 1.8, { relative: 0.004, unmixedDsPerM: 0 })
    expect(measurement.innovation).toBeCloseTo(1.8 - shownAtReading(fresh.mean), 12)
    const all = effects(fresh, measurement, shownAtReading)
    const largest = Math.max(...all.map(({ found }) => Math.abs(found)))
    for (const { at, given, found } of all) {
      // Carbon dioxide itself is left out of the slopes: below pH 7 bicarbonate carries next to nothing.
      expect(Math.abs(given - found), `place ${at}`).toBeLessThan((at === LOG_PCO2 ? 0.03 : 0.01) * largest)
    }
  })

  it('is expected only as far as a dose has mixed in, and less is made of it meanwhile', () => {
    const noise = (unmixedDsPerM: number) => ({ relative: 0.004, unmixedDsPerM })
    const mixed = conductivityMeasurement(fresh.mean, 5.9, 1.8, noise(0))
    const unmixed = conductivityMeasurement(fresh.mean, 5.9, 1.8, noise(0.05))
    const gain = Math.exp(fresh.mean[CONDUCTIVITY_GAIN]! + fresh.mean[CONDUCTIVITY_SHAPE]!)
    expect(unmixed.innovation - mixed.innovation).toBeCloseTo(0.05 * gain, 12)
    expect(unmixed.noiseVariance).toBeGreaterThan(mixed.noiseVariance)
    expect(unmixed.slopes).toEqual(mixed.slopes)
  })
})

describe('a laboratory value and a level', () => {
  it('lean on the amount and the volume of which they are the ratio, and on the volume', () => {
    const potassium = elementMeasurement(fresh.mean, ELEMENT_INDEX.K, 5, 0.1)
    const level = (mean: Float64Array) => mean[ELEMENT_INDEX.K]! / mean[VOLUME]!
    expect(potassium.innovation).toBeCloseTo(5 - level(fresh.mean), 12)
    for (const { given, found } of effects(fresh, potassium, level)) expect(given).toBeCloseTo(found, 6)
    expect(potassium.noiseVariance).toBeCloseTo(0.01, 12)
    const tank = levelMeasurement(fresh.mean, 215, 0.7)
    expect(tank).toEqual({
      innovation: 215 - fresh.mean[VOLUME]!,
      noiseVariance: 0.7 * 0.7,
      places: [VOLUME],
      slopes: [1],
    })
  })
})
