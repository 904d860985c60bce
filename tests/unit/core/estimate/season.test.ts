import { beforeAll, describe, expect, it } from 'vitest'
import { ELEMENT_COUNT, ELEMENT_INDEX } from '../../../../src/chemistry/element.ts'
import { advance } from '../../../../src/core/estimate/advance.ts'
import { type FilterState, initialFilterState } from '../../../../src/core/estimate/filter-state.ts'
import type { GridStep } from '../../../../src/core/estimate/grid-step.ts'
import { VOLUME } from '../../../../src/core/estimate/layout.ts'
import { predictedConductivityDsPerM } from '../../../../src/core/estimate/measure.ts'
import { predict } from '../../../../src/core/estimate/predict.ts'
import { estimateOf, levelsOf } from '../../../../src/core/estimate/summary.ts'
import { litShareBetween } from '../../../../src/core/sense/photoperiod.ts'
import type { CoreSettings } from '../../../../src/core/settings.ts'
import { chance, normal } from '../../../support/loop/chance.ts'
import { NOON_MS, quietStep, STEP_MS, withMean } from '../../../support/loop/filter.ts'
import { quarryLaneCore } from '../../../support/loop/site.ts'
import { correlationEigenvalues } from './matrix.ts'

let settings: CoreSettings
let fresh: FilterState

beforeAll(async () => {
  settings = await quarryLaneCore()
  fresh = initialFilterState(settings, NOON_MS)
})

const run = (filter: FilterState, step: GridStep) => advance(settings, settings.cohorts, filter, step)

/** A step with everything in it that a season brings, some of it nonsense. */
function anyStep(filter: FilterState, random: () => number, number: number): GridStep {
  const endMs = NOON_MS + number * STEP_MS
  const one = (share: number): boolean => random() < share
  const stockIndex = Math.floor(random() * settings.stocks.length)
  const lowMl = random() * 5
  const dose = { atMs: endMs - 1, stockIndex, commandId: `1-${number}`, lowMl, highMl: lowMl + (one(0.1) ? 10 : 0.01) }
  const litres = { volumeL: 20 * random(), doneAtMs: endMs }
  const acts = [
    { act: 'drained', ...litres },
    { act: 'topped-up', ...litres },
    { act: 'added', mmol: new Float64Array(ELEMENT_COUNT).fill(random()), relativeSd: 0.03, doneAtMs: endMs },
    { act: 'stock-refilled', stockIndex, doneAtMs: endMs },
  ] as const
  const values = Array.from({ length: ELEMENT_COUNT }, (_value, elementIndex) => {
    const mmolPerL = Math.max(0, filter.mean[elementIndex]! / filter.mean[VOLUME]!) * (1 + 0.1 * normal(random))
    return { elementIndex, mmolPerL: Math.max(0, mmolPerL), sdMmolPerL: 0.03 * mmolPerL + 1e-5 }
  })
  return quietStep(endMs, {
    litShare: litShareBetween(settings.photoperiod, 0, endMs - STEP_MS, endMs),
    ...(one(0.9)
      ? { conductivityDsPerM: predictedConductivityDsPerM(filter.mean, 5.9) * (1 + 0.01 * normal(random)) }
      : {}),
    ...(one(0.9) ? { ph: 5.9 + 0.2 * normal(random) } : {}),
    ...(one(0.9) ? { levelL: filter.mean[VOLUME]! - 12 + normal(random), flowing: true } : {}),
    ...(one(0.9) ? { topUpL: one(0.02) ? 3 : 0 } : {}),
    ...(one(0.03) ? { conductivityDsPerM: 9 * random() } : {}),
    doses: one(0.1) ? [dose] : [],
    acts: one(0.005) ? [acts[Math.floor(random() * 4)]!] : [],
    laboratory: number % 1000 === 0 ? [{ id: `r${number}`, sampledAtMs: endMs, values }] : [],
  })
}

describe('a long season of readings, doses, reports, acts and nonsense', () => {
  it('leaves a covariance that is symmetric to the bit and no less than nothing in any direction', () => {
    const random = chance(11)
    const n = fresh.mean.length
    let filter = fresh
    for (let number = 1; number <= 8_000; number++) {
      filter = run(filter, anyStep(filter, random, number))
      if (number % 2000 !== 0) continue
      const { mean, covariance } = filter
      expect([...mean, ...covariance].every(Number.isFinite)).toBe(true)
      for (let row = 0; row < n; row++)
        for (let column = 0; column < row; column++)
          expect(covariance[row * n + column]).toBe(covariance[column * n + row])
      const eigenvalues = correlationEigenvalues(covariance, n)
      expect(eigenvalues).toHaveLength(n)
      expect(Math.min(...eigenvalues), `step ${number}`).toBeGreaterThan(-1e-9)
    }
  })
})

describe('a reading', () => {
  const like = () => ({ levelL: 208, conductivityDsPerM: predictedConductivityDsPerM(fresh.mean, 5.9), ph: 5.9 })
  /** A belief that has seen a day of good readings, so that nonsense is known as such. */
  let settled: FilterState
  beforeAll(() => {
    settled = fresh
    for (let step = 1; step <= 144; step++)
      settled = run(settled, quietStep(NOON_MS + step * STEP_MS, { flowing: true, ...like() }))
  })
  const quiet = (over: Partial<GridStep> = {}) =>
    quietStep(settled.atMs + STEP_MS, { topUpL: 0, flowing: true, ...over })
  const first = quietStep(NOON_MS + STEP_MS, { topUpL: 0 })
  const beliefOf = ({ mean, covariance }: FilterState) => ({ mean, covariance })

  it.each([
    ['of EC', { conductivityDsPerM: 9 }],
    ['of pH', { ph: 9.5 }],
    ['of level', { levelL: 20 }],
    ['of EC that is not a number', { conductivityDsPerM: Number.NaN }],
    ['of pH that is not a number', { ph: Number.NaN }],
    ['of level that is not a number', { levelL: Number.NaN }],
  ])('%s that is rejected leaves the belief bit for bit what the balance made it', (_what, nonsense) => {
    const balance = predict(settings, settings.cohorts, settled, quiet())
    expect(beliefOf(run(settled, quiet(nonsense)))).toEqual(beliefOf(balance))
  })

  it('that is believed moves it', () => {
    const balance = predict(settings, settings.cohorts, settled, quiet())
    for (const [name, value] of Object.entries(like()))
      expect(run(settled, quiet({ [name]: value })).covariance, name).not.toEqual(balance.covariance)
  })

  it('of level counts the film that hangs in the channels while the circulation runs, and not once it has drained back', () => {
    const read = (flowing: boolean) => run(fresh, { ...first, levelL: 210, flowing }).mean[VOLUME]!
    expect(read(true) - read(false)).toBeGreaterThan(10)
  })

  it('of level is left alone while nobody knows whether the circulation runs', () => {
    const { flowing: _flowing, ...unknown } = quiet({ levelL: 190 })
    const { levelL: _levelL, ...without } = unknown
    expect(beliefOf(run(settled, unknown))).toEqual(beliefOf(run(settled, without)))
  })

  it('of level counts as with running circulation at a site without a flow sensor', () => {
    const unflowed = { ...settings, probes: settings.probes.filter(({ role }) => role !== 'flow') }
    const read = advance(unflowed, settings.cohorts, fresh, { ...first, levelL: 215 }).mean[VOLUME]!
    expect(read).toBeGreaterThan(224)
  })
})

describe('a laboratory value', () => {
  const bottle = (mmolPerL: number): GridStep =>
    quietStep(NOON_MS + STEP_MS, {
      topUpL: 0,
      laboratory: [
        { id: 'r', sampledAtMs: NOON_MS, values: [{ elementIndex: ELEMENT_INDEX.K, mmolPerL, sdMmolPerL: 0.1 }] },
      ],
    })
  const level = (filter: FilterState) => filter.mean[ELEMENT_INDEX.K]! / filter.mean[VOLUME]!

  it('wins over a wrong crop prior for weeks: one far off reopens its element instead of being turned away', () => {
    const wrong = withMean(fresh, { [ELEMENT_INDEX.K]: 2 * 220 })
    // One report moves it by 0.4 of the aim at most; a second that agrees brings it all the way.
    const once = run(wrong, bottle(6))
    expect(level(once)).toBeGreaterThan(4.5)
    const { laboratory } = bottle(6)
    const second = laboratory.map((report) => ({ ...report, id: 'r2', sampledAtMs: NOON_MS + 2 * STEP_MS }))
    const twice = run(once, quietStep(NOON_MS + 2 * STEP_MS, { topUpL: 0, laboratory: second }))
    expect(level(twice)).toBeGreaterThan(5.5)
    expect(level(run(fresh, bottle(5)))).toBeLessThan(5.1)
  })

  it('of one element hardly touches another that it has nothing to do with', () => {
    const [before, after] = [run(fresh, quietStep(NOON_MS + STEP_MS, { topUpL: 0 })), run(fresh, bottle(5.6))]
    const share = after.mean[ELEMENT_INDEX.Mg]! / before.mean[ELEMENT_INDEX.Mg]!
    expect(share).toBeCloseTo(1, 2)
  })
})

describe('the estimate as people read it', () => {
  it('shows nitrate and ammonium as nitrogen, and no element below nothing', () => {
    const odd = withMean(fresh, { [ELEMENT_INDEX['NH4-N']]: -0.02 * 220, [ELEMENT_INDEX['NO3-N']]: 10 * 220 })
    const { elements, volumeL } = estimateOf(odd)
    expect(volumeL).toBe(220)
    expect(elements['NH4-N'].mgPerL).toBe(0)
    // 10 mmol/L of nitrate are 140.07 mg/L of nitrogen (IUPAC 14.007 g/mol).
    expect(elements['NO3-N'].mgPerL).toBeCloseTo(140.07, 2)
  })

  it('knows a concentration better than amount and volume, whose errors go together', () => {
    const n = fresh.mean.length
    const covariance = fresh.covariance.slice()
    const [amount, volume] = [fresh.mean[ELEMENT_INDEX.K]!, fresh.mean[VOLUME]!]
    const sd = 0.1
    covariance[ELEMENT_INDEX.K * n + ELEMENT_INDEX.K] = (sd * amount) ** 2
    covariance[VOLUME * n + VOLUME] = (sd * volume) ** 2
    covariance[ELEMENT_INDEX.K * n + VOLUME] = sd * amount * sd * volume
    covariance[VOLUME * n + ELEMENT_INDEX.K] = sd * amount * sd * volume
    const { sdMmolPerL, sdVolumeL } = levelsOf({ ...fresh, covariance })
    expect(sdVolumeL).toBeCloseTo(22, 9)
    expect(sdMmolPerL[ELEMENT_INDEX.K]).toBeLessThan(1e-6)
  })
})
