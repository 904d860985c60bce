import { beforeAll, describe, expect, it } from 'vitest'
import { ELEMENT_COUNT, ELEMENT_INDEX } from '../../../../src/chemistry/element.ts'
import { advance } from '../../../../src/core/estimate/advance.ts'
import { demandBetween } from '../../../../src/core/estimate/demand.ts'
import { type FilterState, initialFilterState } from '../../../../src/core/estimate/filter-state.ts'
import type { GridStep } from '../../../../src/core/estimate/grid-step.ts'
import { VOLUME, WATER_LASTING } from '../../../../src/core/estimate/layout.ts'
import { predictedConductivityDsPerM } from '../../../../src/core/estimate/measure.ts'
import { predict } from '../../../../src/core/estimate/predict.ts'
import { levelsOf } from '../../../../src/core/estimate/summary.ts'
import { drawnOverCurve } from '../../../../src/core/estimate/uptake.ts'
import { litShareBetween } from '../../../../src/core/sense/photoperiod.ts'
import type { CoreSettings, ProbeRole } from '../../../../src/core/settings.ts'
import { NOON_MS, quietStep, STEP_MS, sdOf, withMean } from '../../../support/loop/filter.ts'
import { quarryLaneCore } from '../../../support/loop/site.ts'

const DAY_STEPS = 86_400_000 / STEP_MS
/** The crop draws a quarter more than its curve says, for good. */
const MORE = Math.log(1.25)
let settings: CoreSettings
let fresh: FilterState

beforeAll(async () => {
  settings = await quarryLaneCore()
  fresh = initialFilterState(settings, NOON_MS)
})

interface Lived {
  readonly truth: FilterState
  readonly belief: FilterState
  readonly told: CoreSettings
}

interface Watched {
  readonly days: number
  /** probes that the site does without */
  readonly without: readonly ProbeRole[]
}

/** A crop that draws more, over a float valve that holds the volume, watched by probes that tell the truth. */
function lived({ days, without }: Watched): Lived {
  const told = { ...settings, probes: settings.probes.filter(({ role }) => !without.includes(role)) }
  let truth = withMean(fresh, { [WATER_LASTING]: MORE })
  let belief = fresh
  for (let number = 1; number <= days * DAY_STEPS; number++) {
    const endMs = NOON_MS + number * STEP_MS
    const litShare = litShareBetween(settings.photoperiod, 0, endMs - STEP_MS, endMs)
    const demand = demandBetween(settings, settings.cohorts, { fromMs: endMs - STEP_MS, untilMs: endMs, litShare })
    const topUpL = demand.waterL * drawnOverCurve(truth.mean)
    const step: GridStep = quietStep(endMs, { litShare, topUpL, flowing: true })
    truth = withMean(predict(settings, settings.cohorts, truth, step), { [WATER_LASTING]: MORE })
    const conductivityDsPerM = predictedConductivityDsPerM(truth.mean, 5.9)
    const levelL = truth.mean[VOLUME]! - settings.reservoir.filmL
    const { topUpL: _unseen, ...unmetered } = step
    const seen = { ...(without.includes('top-up') ? unmetered : step), conductivityDsPerM }
    belief = advance(told, told.cohorts, belief, without.includes('level') ? seen : { ...seen, levelL })
  }
  return { truth, belief, told }
}

function reported({ truth, belief, told }: Lived): FilterState {
  const { mmolPerL } = levelsOf(truth)
  const values = Array.from(mmolPerL, (level, elementIndex) => {
    return { elementIndex, mmolPerL: level, sdMmolPerL: 0.04 * level + 1e-5 }
  })
  const laboratory = [{ id: 'r1', sampledAtMs: belief.atMs + 1, values }]
  const step = quietStep(belief.atMs + STEP_MS, { laboratory })
  return advance(told, told.cohorts, belief, step)
}

describe('a crop that draws a quarter more than its file says', () => {
  it.each<readonly [string, readonly ProbeRole[]]>([
    ['with a level', ['top-up']],
    ['with EC alone', ['top-up', 'level']],
  ])('is covered by the intervals without a meter, and one report shows it, %s', (_probes, without) => {
    const season = lived({ days: 14, without })
    const [is, believed] = [levelsOf(season.truth), levelsOf(season.belief)]
    for (const name of ['NO3-N', 'P', 'K', 'Ca', 'Mg', 'S', 'Na', 'Cl'] as const) {
      const at = ELEMENT_INDEX[name]
      const off = Math.abs(believed.mmolPerL[at]! - is.mmolPerL[at]!)
      expect(off / believed.sdMmolPerL[at]!, name).toBeLessThan(1.645)
    }
    const [before, after] = [season.belief.mean[WATER_LASTING]!, reported(season).mean[WATER_LASTING]!]
    expect(after).toBeGreaterThan(before + 0.03)
    expect(Math.abs(after - MORE)).toBeLessThan(Math.abs(before - MORE))
    expect(sdOf(reported(season), WATER_LASTING)).toBeLessThan(0.95 * sdOf(season.belief, WATER_LASTING))
  })

  it.each<readonly [string, readonly ProbeRole[]]>([
    ['with a level', []],
    ['over the float valve alone', ['level']],
  ])('is known within a day by a meter, and as a habit of the crop within a week, %s', (_probes, without) => {
    expect(Math.abs(drawnOverCurve(lived({ days: 1, without }).belief.mean) - 1.25)).toBeLessThan(0.07)
    const { mean } = lived({ days: 7, without }).belief
    expect(mean[WATER_LASTING]).toBeGreaterThan(0.5 * MORE)
    expect(mean[WATER_LASTING]).toBeLessThan(1.2 * MORE)
  })
})

describe('make-up water that no meter saw', () => {
  it('leaves more doubt about what the water brings than about what it does not', () => {
    const doubt = (without: readonly ProbeRole[], name: 'Na' | 'P') => {
      const { mmolPerL, sdMmolPerL } = levelsOf(lived({ days: 7, without }).belief)
      return sdMmolPerL[ELEMENT_INDEX[name]]! / mmolPerL[ELEMENT_INDEX[name]]!
    }
    expect(doubt(['top-up'], 'Na') / doubt([], 'Na')).toBeGreaterThan(1.2)
    expect(doubt(['top-up'], 'P') / doubt([], 'P')).toBeLessThan(1.05)
  })

  it('is less by what doses filled up: their litres do not pile up in the tank', () => {
    const dose = { atMs: NOON_MS, stockIndex: 0, commandId: '1', lowMl: 400, highMl: 400 }
    let belief = fresh
    for (let number = 1; number <= DAY_STEPS; number++)
      belief = predict(settings, settings.cohorts, belief, quietStep(NOON_MS + number * STEP_MS, { doses: [dose] }))
    expect(belief.mean[VOLUME]).toBeCloseTo(fresh.mean[VOLUME]!, 6)
  })

  it('fills up to half a burst below nominal where no level tells otherwise, and thins what was there', () => {
    const low = withMean(fresh, { [VOLUME]: 0.9 * settings.reservoir.volumeL })
    const told = { ...settings, probes: settings.probes.filter(({ role }) => role !== 'level' && role !== 'top-up') }
    let belief = low
    for (let number = 1; number <= DAY_STEPS; number++)
      belief = predict(told, told.cohorts, belief, quietStep(NOON_MS + number * STEP_MS))
    expect(belief.mean[VOLUME]! / settings.reservoir.volumeL).toBeCloseTo(0.995, 3)
    const [was, is] = [levelsOf(low), levelsOf(belief)]
    for (let at = 0; at < ELEMENT_COUNT; at++) expect(is.mmolPerL[at]).toBeLessThan(Math.max(was.mmolPerL[at]!, 1))
    expect(is.sdVolumeL).toBeLessThan(0.01 * settings.reservoir.volumeL)
  })
})
