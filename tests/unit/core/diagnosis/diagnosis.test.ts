import { beforeAll, describe, expect, it } from 'vitest'
import { type Diagnosis, diagnose } from '../../../../src/core/diagnosis/diagnosis.ts'
import { excessAtPh, heldCo2MmolPerL } from '../../../../src/core/estimate/carbon-dioxide.ts'
import { type FilterState, initialFilterState } from '../../../../src/core/estimate/filter-state.ts'
import type { GridStep, TimedAct } from '../../../../src/core/estimate/grid-step.ts'
import { appendStep, startHistory } from '../../../../src/core/estimate/history.ts'
import { DELIVERY_FACTOR, VOLUME } from '../../../../src/core/estimate/layout.ts'
import { phMeasurement, predictedConductivityDsPerM } from '../../../../src/core/estimate/measure.ts'
import { predict } from '../../../../src/core/estimate/predict.ts'
import { litShareBetween } from '../../../../src/core/sense/photoperiod.ts'
import type { CoreSettings } from '../../../../src/core/settings.ts'
import { chance, normal } from '../../../support/loop/chance.ts'
import { NOON_MS, quietStep, STEP_MS, withMean } from '../../../support/loop/filter.ts'
import { quarryLaneCore } from '../../../support/loop/site.ts'

const DAYS = 5
const STEPS = (DAYS * 86_400_000) / STEP_MS
/** what happens, happens at the middle of the five days */
const ONSET = STEPS / 2
let settings: CoreSettings
let fresh: FilterState

beforeAll(async () => {
  settings = await quarryLaneCore()
  fresh = initialFilterState(settings, NOON_MS)
})

interface Trouble {
  /** what truly was done, not recorded */
  readonly acts?: (number: number) => readonly TimedAct[]
  /** what a stock truly delivers of what is recorded */
  readonly delivery?: readonly [stock: string, factor: number]
  /** what the probes show of what is there */
  readonly shown?: (number: number, true_: { dsPerM: number; ph: number; temperatureC: number }) => Partial<GridStep>
  /** recorded and true alike */
  readonly recorded?: (number: number) => readonly TimedAct[]
}

/** Five days of a plant that obeys the filter’s own balance, with noise on its probes and one trouble in it. */
function diagnosisOf(trouble: Trouble): Diagnosis {
  const uniform = chance(2001)
  const random = () => normal(uniform)
  const indexOf = (id: string) => settings.stocks.findIndex((stock) => stock.id === id)
  const stocks = ['calcium', 'nitrate'].map(indexOf)
  let truth = fresh
  let history = startHistory(fresh)
  for (let number = 1; number <= STEPS; number++) {
    const endMs = NOON_MS + number * STEP_MS
    const doses = stocks.flatMap((stockIndex, at) =>
      number % 12 === 4 * at
        ? [{ atMs: endMs - STEP_MS / 2, stockIndex, commandId: `${number}-${at}`, lowMl: 12, highMl: 12 }]
        : [],
    )
    const known = trouble.recorded?.(number) ?? []
    const temperatureC = 20 + 4 * Math.sin((2 * Math.PI * endMs) / 86_400_000)
    const litShare = litShareBetween(settings.photoperiod, 0, endMs - STEP_MS, endMs)
    const step = quietStep(endMs, { litShare, topUpL: 0.1, flowing: true, temperatureC, doses, acts: known })
    const [stock, factor] = trouble.delivery ?? ['', 1]
    const place = DELIVERY_FACTOR + indexOf(stock)
    const differs = indexOf(stock) >= 0 && number > ONSET ? { [place]: Math.log(factor) } : {}
    const happened = { ...step, acts: [...known, ...(trouble.acts?.(number) ?? [])] }
    truth = withMean(predict(settings, settings.cohorts, withMean(truth, differs), happened), differs)
    const dsPerM = predictedConductivityDsPerM(truth.mean, 5.9) * (1 + 0.002 * random())
    const noise = { ph: 1, unmixedMeqPerL: 0, lastPh: 5.9, heldCo2MmolPerL: heldCo2MmolPerL(truth) }
    const ph = 5.9 - (phMeasurement(truth.mean, 5.9, noise)?.innovation ?? 0) + 0.01 * random()
    truth = { ...truth, ph, carbonExcessMmolPerL: excessAtPh(truth, ph) }
    const shown = trouble.shown?.(number, { dsPerM, ph, temperatureC }) ?? {}
    const levelL = truth.mean[VOLUME]! - settings.reservoir.filmL + 0.3 * random()
    const read = { ...step, levelL, conductivityDsPerM: dsPerM, ph, ...shown }
    history = appendStep(settings, settings.cohorts, history, read)
  }
  const run = diagnose(settings, settings.cohorts, history)
  for (;;) {
    const next = run.next()
    if (next.done === true) return next.value!
  }
}

const days = (number: number) => Math.max(0, (number - ONSET) * STEP_MS) / 86_400_000
const since = (number: number) => number === ONSET

describe('what may have gone wrong unseen', () => {
  it('is nothing where nothing did', () => {
    const { nothingShare, explanations } = diagnosisOf({})
    expect(nothingShare).toBeGreaterThan(0.5)
    expect(explanations.every(({ share }) => share < 0.3)).toBe(true)
  })

  it.each<[string, string, Trouble]>([
    [
      'an EC probe that walks',
      'ec-walks',
      { shown: (n, { dsPerM }) => ({ conductivityDsPerM: dsPerM * Math.exp(0.05 * days(n)) }) },
    ],
    ['a pH probe that walks', 'ph-walks', { shown: (n, { ph }) => ({ ph: ph + 0.15 * days(n) }) }],
    [
      'an EC reading corrected for temperature twice',
      'ec-compensated-twice',
      {
        shown: (_n, { dsPerM, temperatureC }) => ({ conductivityDsPerM: dsPerM / (1 + 0.02 * (temperatureC - 25)) }),
      },
    ],
    ['a pump of nitrate that delivers nothing', 'pump-weak nitrate', { delivery: ['nitrate', 0] }],
    [
      'a quarter of the water changed and not written down',
      'water-changed',
      {
        acts: (n) =>
          since(n)
            ? [
                { act: 'drained', volumeL: 55, doneAtMs: NOON_MS + n * STEP_MS - 1 },
                { act: 'topped-up', volumeL: 55, doneAtMs: NOON_MS + n * STEP_MS - 1 },
              ]
            : [],
      },
    ],
    [
      'a float valve stuck open',
      'top-up-stuck-open',
      {
        acts: (n) =>
          n > ONSET
            ? [
                { act: 'drained', volumeL: 0.15, doneAtMs: NOON_MS + n * STEP_MS - 1 },
                { act: 'topped-up', volumeL: 0.15, doneAtMs: NOON_MS + n * STEP_MS - 1 },
              ]
            : [],
      },
    ],
    [
      'a batch of calcium mixed from the other hydrate',
      'batch calcium',
      {
        delivery: ['calcium', 1.44],
        recorded: (n) =>
          since(n)
            ? [
                {
                  act: 'stock-refilled',
                  stockIndex: settings.stocks.findIndex(({ id }) => id === 'calcium'),
                  doneAtMs: NOON_MS + n * STEP_MS - 1,
                },
              ]
            : [],
      },
    ],
  ])('names %s first', (_what, id, trouble) => {
    const { explanations } = diagnosisOf(trouble)
    expect(explanations.map((explanation) => explanation.id).slice(0, 2)).toContain(id)
    expect(explanations[0]?.sentence).toMatch(/seem/)
    expect(explanations[0]?.check.length).toBeGreaterThan(20)
  })

  it('is left unsaid while less than a day is kept', () => {
    const run = diagnose(settings, settings.cohorts, startHistory(fresh))
    expect(run.next()).toEqual({ done: true, value: undefined })
  })
})
