import { beforeAll, describe, expect, it } from 'vitest'
import { ELEMENT_INDEX, type ElementName } from '../../../../src/chemistry/element.ts'
import { initialFilterState } from '../../../../src/core/estimate/filter-state.ts'
import {
  CONDUCTIVITY_GAIN,
  CONDUCTIVITY_SHAPE,
  LOG_PCO2,
  PH_OFFSET,
  UNTRACKED,
} from '../../../../src/core/estimate/layout.ts'
import { conductivityMeasurement, phMeasurement } from '../../../../src/core/estimate/measure.ts'
import { NOISE } from '../../../../src/core/estimate/noise.ts'
import { type Belief, type ScalarMeasurement, updateScalar } from '../../../../src/core/estimate/update.ts'
import { NOON_MS } from '../../../support/loop/filter.ts'
import { quarryLaneCore } from '../../../support/loop/site.ts'
import { dense, math, product, transposed } from './matrix.ts'

const DOUBTED: readonly ElementName[] = ['NO3-N', 'K', 'Ca', 'Mg', 'S', 'P']
/** Each of the six known to a tenth. */
const PRIOR_SD = 0.1
const PH = 6

let prior: Belief
let n: number

beforeAll(async () => {
  const { mean } = initialFilterState(await quarryLaneCore(), NOON_MS)
  n = mean.length
  const covariance = new Float64Array(n * n)
  const doubt = (at: number, sd: number): void => {
    covariance[at * n + at] = sd * sd
  }
  for (const name of DOUBTED) doubt(ELEMENT_INDEX[name], PRIOR_SD * mean[ELEMENT_INDEX[name]]!)
  doubt(CONDUCTIVITY_GAIN, NOISE.conductivityGainSd)
  doubt(CONDUCTIVITY_SHAPE, NOISE.conductivityShapeSd)
  doubt(PH_OFFSET, NOISE.phOffsetSd)
  doubt(LOG_PCO2, NOISE.logPco2Sd)
  doubt(UNTRACKED, NOISE.untrackedSdMeqPerL * 220)
  prior = { mean, covariance }
})

/** A reading of exactly what is believed, so that the mean, and with it every slope, stays where it is. */
function conductivityOf({ mean }: Belief): ScalarMeasurement {
  return { ...conductivityMeasurement(mean, PH, 2, { relative: 0.004, unmixedDsPerM: 0 }), innovation: 0 }
}

function phOf({ mean }: Belief): ScalarMeasurement {
  const measurement = phMeasurement(mean, PH, { ph: 0.008, unmixedMeqPerL: 0, lastPh: PH })
  if (!measurement) throw new Error('the fill has a pH')
  return { ...measurement, innovation: 0 }
}

function rowOf({ places, slopes }: ScalarMeasurement): number[] {
  const row = new Array<number>(n).fill(0)
  places.forEach((at, entry) => {
    row[at] = slopes[entry]!
  })
  return row
}

/** Covariance after one reading of each row without any noise of its own: dense, by mathjs. */
function bound(rows: number[][]): number[][] {
  const full = dense(prior.covariance, n)
  const seen = product(rows, full, transposed(rows))
  const gain = product(full, transposed(rows), math.inv(seen) as number[][])
  return math.subtract(full, product(gain, rows, full)) as number[][]
}

const shareOf = (variance: number, name: ElementName): number => Math.sqrt(variance) / prior.mean[ELEMENT_INDEX[name]]!

/** Folds `times` readings of each and looks after every one. */
function read(take: readonly ((belief: Belief) => ScalarMeasurement)[], times: number, look: (belief: Belief) => void) {
  let belief = prior
  for (let time = 0; time < times; time++) {
    for (const one of take) {
      const updated = updateScalar(belief, one(belief), 5)
      if (updated.kind !== 'updated') throw new Error('a reading of what is believed was rejected')
      belief = updated.belief
    }
    look(belief)
  }
  return belief
}

describe('what an EC reading can and cannot tell', () => {
  it('any number of readings that share one gain leave each of six elements at least as doubtful as one perfect reading would', () => {
    const row = rowOf(conductivityOf(prior))
    const least = bound([row])
    const after = read([conductivityOf], 2000, ({ covariance }) => {
      for (const name of DOUBTED) {
        const at = ELEMENT_INDEX[name]
        expect(covariance[at * n + at]! / least[at]![at]!).toBeGreaterThan(1 - 1e-9)
      }
    })
    for (const name of DOUBTED) {
      const at = ELEMENT_INDEX[name]
      // And they come as near as readings whose noise averages out can.
      expect(after.covariance[at * n + at]! / least[at]![at]!).toBeLessThan(1 + 1e-3)
    }
  })

  it('from a tenth of doubt about each, no number of readings brings any element below 8 %, and phosphate stays where it was', () => {
    const { covariance } = read([conductivityOf], 2000, () => undefined)
    const left = DOUBTED.map((name) => shareOf(covariance[ELEMENT_INDEX[name] * (n + 1)]!, name))
    for (const share of left) expect(share).toBeGreaterThan(0.08)
    expect(left[DOUBTED.indexOf('P')]).toBeGreaterThan(0.0999)
    // The bound in closed form for nitrate: σ² − (hσ²)² / (Σ h²σ² + gain² + shape²).
    const row = rowOf(conductivityOf(prior))
    const at = ELEMENT_INDEX['NO3-N']
    const seen = row.reduce((sum, slope, place) => sum + slope * slope * prior.covariance[place * (n + 1)]!, 0)
    const variance = prior.covariance[at * (n + 1)]!
    const closed = variance - (row[at]! * variance) ** 2 / seen
    expect(covariance[at * (n + 1)]! / closed).toBeCloseTo(1, 3)
  })

  it('the gain itself cannot be told from the salts: what is known together is their sum alone', () => {
    const { covariance } = read([conductivityOf], 2000, () => undefined)
    const row = rowOf(conductivityOf(prior))
    const sum = product([row], dense(covariance, n), transposed([row]))[0]![0]!
    const before = product([row], dense(prior.covariance, n), transposed([row]))[0]![0]!
    expect(sum / before).toBeLessThan(1e-4)
    expect(Math.sqrt(covariance[CONDUCTIVITY_GAIN * (n + 1)]!)).toBeGreaterThan(0.5 * NOISE.conductivityGainSd)
  })
})

describe('what pH adds', () => {
  it('is one more sum, that of charge: both together never tell more than one perfect reading of each, and come near it', () => {
    const rows = [rowOf(conductivityOf(prior)), rowOf(phOf(prior))]
    const least = bound(rows)
    const alone = bound([rows[0]!])
    const after = read([conductivityOf, phOf], 3000, ({ covariance }) => {
      for (const name of DOUBTED) {
        const at = ELEMENT_INDEX[name]
        expect(covariance[at * n + at]! / least[at]![at]!).toBeGreaterThan(1 - 1e-9)
      }
    })
    for (const name of DOUBTED) {
      const at = ELEMENT_INDEX[name]
      expect(after.covariance[at * n + at]! / least[at]![at]!).toBeLessThan(1.01)
      expect(least[at]![at]!).toBeLessThanOrEqual(alone[at]![at]! * (1 + 1e-12))
    }
    // Nitrate carries the most charge, so charge closure tells the most of it.
    const nitrate = ELEMENT_INDEX['NO3-N']
    expect(Math.sqrt(least[nitrate]![nitrate]! / alone[nitrate]![nitrate]!)).toBeLessThan(0.97)
  })

  it('closes the charge of the six to what untracked ions, the probe’s offset and carbon leave open', () => {
    const rows = [rowOf(conductivityOf(prior)), rowOf(phOf(prior))]
    const { covariance } = read([conductivityOf, phOf], 3000, () => undefined)
    // The part of the row that the six carry: all else in it is what stays open.
    const six = rows[1]!.map((slope, at) => (DOUBTED.some((name) => ELEMENT_INDEX[name] === at) ? slope : 0))
    const open = rows[1]!.map((slope, at) => slope - six[at]!)
    const varianceOf = (row: number[], of: number[][]): number => product([row], of, transposed([row]))[0]![0]!
    const openPrior = varianceOf(open, dense(prior.covariance, n))
    const sixPrior = varianceOf(six, dense(prior.covariance, n))
    const sixAfter = varianceOf(six, dense(covariance, n))
    // Two normal doubts of one known sum: v₁v₂ / (v₁ + v₂); EC may tell a little more of it, never less.
    const closed = (openPrior * sixPrior) / (openPrior + sixPrior)
    expect(sixAfter).toBeLessThan(1.01 * closed)
    expect(sixAfter).toBeGreaterThan(varianceOf(six, bound(rows)) * (1 - 1e-9))
    expect(sixAfter).toBeLessThan(0.1 * sixPrior)
  })
})
