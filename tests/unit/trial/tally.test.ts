import { describe, expect, it } from 'vitest'
import { SCORED, type Scored, type ScoredBand, scoredBands } from '../../../src/trial/bands.ts'
import { emptyTally, markHour, scoreOf, type Tally } from '../../../src/trial/tally.ts'
import { quarryLaneCore } from '../../support/loop/site.ts'

const BAND: ScoredBand = { low: 90, aim: 100, high: 110 }
const BANDS = Object.fromEntries(SCORED.map((name) => [name, BAND])) as Record<Scored, ScoredBand>
const TRUTH = { 'NO3-N': 98, 'NH4-N': 2, P: 100, K: 100, Ca: 100, Mg: 100, S: 100 }
const believing = (potassium: number, sdMgPerL: number) => {
  const exact = { mgPerL: 100, sdMgPerL }
  return {
    'NO3-N': { mgPerL: 98, sdMgPerL },
    'NH4-N': { mgPerL: 2, sdMgPerL: 0 },
    P: exact,
    K: { mgPerL: potassium, sdMgPerL },
    Ca: exact,
    Mg: exact,
    S: exact,
  }
}
const marked = (hours: readonly [number, number][]): Tally => {
  const tally = emptyTally()
  for (const [potassium, sd] of hours) markHour(tally, TRUTH, believing(potassium, sd), BANDS)
  return tally
}

describe('the score of an element', () => {
  it('is the median and the 90th percentile of its error over the aim', () => {
    // Errors of 0, 1, 2 … 10 % of the aim.
    const { K } = scoreOf(marked(Array.from({ length: 11 }, (_hour, at) => [100 + at, 1]))).elements
    expect(K.medianError).toBeCloseTo(0.05, 12)
    expect(K.p90Error).toBeCloseTo(0.09, 12)
  })

  it('counts an error alike on either side, and takes the middle of two', () => {
    const { K } = scoreOf(
      marked([
        [96, 1],
        [102, 1],
      ]),
    ).elements
    expect(K.medianError).toBeCloseTo(0.03, 12)
    expect(K.p90Error).toBeCloseTo(0.038, 12)
  })

  it('covers the truth while that lies within 1.645 standard deviations, and reports how wide that is', () => {
    const { K } = scoreOf(
      marked([
        [101.64, 1],
        [101.65, 1],
        [98.36, 1],
        [98.35, 1],
        [100, 2],
      ]),
    ).elements
    expect(K.coverage90).toBeCloseTo(3 / 5, 12)
    expect(K.halfWidth90).toBeCloseTo((1.645 * 6) / 5 / 100, 4)
  })

  it('takes the doubt of nitrogen from a belief that knows how nitrate and ammonium go together', () => {
    const tally = emptyTally()
    const belief = { ...believing(100, 1), N: { mgPerL: 98, sdMgPerL: 2 } }
    markHour(tally, { ...TRUTH, 'NO3-N': 95, 'NH4-N': 3 }, belief, BANDS)
    expect(scoreOf(tally).elements.N.medianError).toBe(0)
    expect(scoreOf(tally).elements.N.halfWidth90).toBeCloseTo((1.6449 * 2) / 100, 4)
  })

  it('takes nitrogen as nitrate and ammonium together, in truth, belief and doubt', () => {
    const tally = emptyTally()
    const belief = { ...believing(100, 1), 'NO3-N': { mgPerL: 90, sdMgPerL: 3 }, 'NH4-N': { mgPerL: 4, sdMgPerL: 4 } }
    markHour(tally, { ...TRUTH, 'NO3-N': 95, 'NH4-N': 3 }, belief, BANDS)
    const { N } = scoreOf(tally).elements
    expect(N.medianError).toBeCloseTo(0.04, 12)
    expect(N.halfWidth90).toBeCloseTo((1.6449 * 5) / 100, 4)
  })

  it('is in band with its edges', () => {
    const tally = emptyTally()
    for (const K of [90, 110, 89.99, 110.01]) markHour(tally, { ...TRUTH, K }, undefined, BANDS)
    expect(scoreOf(tally).elements.K.inBandShare).toBe(0.5)
  })
})

describe('the score of all', () => {
  it('is in band only while all six are', () => {
    const tally = emptyTally()
    markHour(tally, TRUTH, undefined, BANDS)
    markHour(tally, { ...TRUTH, K: 80 }, undefined, BANDS)
    markHour(tally, { ...TRUTH, Mg: 120 }, undefined, BANDS)
    markHour(tally, { ...TRUTH, K: 80, Mg: 120 }, undefined, BANDS)
    const { overall } = scoreOf(tally)
    expect(overall.allInBandShare).toBe(0.25)
    expect(overall.inBandShare).toBeCloseTo(20 / 24, 12)
  })

  it('has a root mean square in meq/L over the six, by charge: 39.1 mg/L of potassium are 1 meq/L', () => {
    const { overall } = scoreOf(marked([[100 + 39.098, 1]]))
    expect(overall.rmseMeqPerL).toBeCloseTo(Math.sqrt(1 / 6), 6)
  })

  it('of a controller that believes nothing has bands and no errors', () => {
    const tally = emptyTally()
    markHour(tally, TRUTH, undefined, BANDS)
    expect(scoreOf(tally).overall).toMatchObject({
      medianError: null,
      p90Error: null,
      coverage90: null,
      halfWidth90: null,
      rmseMeqPerL: null,
      allInBandShare: 1,
    })
  })
})

describe('the bands that are scored', () => {
  it('are those of what grows there, in mg/L; ammonium adds to the top of nitrogen and not to its foot', async () => {
    const settings = await quarryLaneCore()
    const bands = scoredBands(settings, Date.parse('2026-03-20T12:00:00Z'))
    expect(Object.keys(bands)).toEqual([...SCORED])
    for (const { low, aim, high } of Object.values(bands)) {
      expect(low).toBeLessThan(aim)
      expect(aim).toBeLessThan(high)
    }
    const crop = settings.crops.find(({ id }) => id === 'butterhead-lettuce')!
    const only = { ...settings, cohorts: settings.cohorts.filter(({ crop: id }) => id === crop.id) }
    const { N } = scoredBands(only, Date.parse('2026-03-20T12:00:00Z'))
    const [nitrate, ammonium] = crop.bands
    expect(N.low).toBeCloseTo(nitrate!.low * 14.007, 2)
    expect(N.high).toBeCloseTo((nitrate!.high + ammonium!.high) * 14.007, 2)
  })
})
