import { beforeAll, describe, expect, it } from 'vitest'
import { ELEMENT_COUNT, ELEMENT_INDEX } from '../../../../src/chemistry/element.ts'
import type { Configuration } from '../../../../src/config/configuration.ts'
import { type AppetiteSurprises, NO_SURPRISES } from '../../../../src/core/estimate/appetite-doubt.ts'
import { CONDUCTIVITY_GAIN, GROWTH, UPTAKE_FACTOR, WATER_LASTING } from '../../../../src/core/estimate/layout.ts'
import { factorHistory, learnedFactors, learnedText } from '../../../../src/core/learning/learned.ts'
import type { CoreState } from '../../../../src/core/state.ts'
import { recover } from '../../../../src/reservoir/recover.ts'
import { initialReservoirState } from '../../../../src/reservoir/state.ts'
import { HOUR_MS, LoopBench } from '../../../support/loop/bench.ts'
import { quarryLane } from '../../../support/loop/site.ts'

let configuration: Configuration
let bench: LoopBench
const core = (): CoreState => bench.state.core!

const recordsOf = ({ log }: LoopBench) =>
  log.flatMap(({ effects }) => effects.flatMap((effect) => (effect.kind === 'record' ? [effect.record] : [])))

/** A day of living, a report that says more potassium was taken than the crop’s prior has it, and an hour to take it in. */
beforeAll(async () => {
  configuration = await quarryLane('observe')
  bench = new LoopBench(configuration)
  bench.start()
  bench.minutes(24 * 60)
  const values = [
    { element: 'NO3-N', mgPerL: 135 },
    { element: 'K', mgPerL: 182 },
    { element: 'Ca', mgPerL: 136 },
  ]
  bench.report({ id: 'r1', sampledAtMs: bench.nowMs - 2 * HOUR_MS, values })
  bench.minutes(60)
})

describe('what a site has taught', () => {
  it('is nothing at first, and is said to have begun as in the crops file', () => {
    const settings = bench.settings.core
    const fresh = new LoopBench(configuration)
    fresh.start()
    const factors = learnedFactors(settings, fresh.state.core!.history.filter)
    expect(factors.find(({ id }) => id === 'growth')).toMatchObject({ value: 1, isLearned: false })
    expect(learnedText(factors, [])).toMatch(/began as in the crops file/)
  })

  it('leaves a mark after each report, with every factor and its doubt', () => {
    expect(core().learned.map(({ reportId }) => reportId)).toEqual(['r1'])
    const [mark] = factorHistory(bench.settings.core, core().learned, 'uptake K')
    expect(mark!.low90).toBeLessThan(mark!.value)
    expect(mark!.high90).toBeGreaterThan(mark!.value)
    expect(factorHistory(bench.settings.core, core().learned, 'no such factor')).toEqual([])
  })

  it('tells how much the crop draws, and reads marks that were kept before anybody told that', () => {
    const settings = bench.settings.core
    const { filter } = core().history
    const water = learnedFactors(settings, filter).find(({ id }) => id === 'water drawn')
    expect(water!.value).toBeCloseTo(Math.exp(filter.mean[WATER_LASTING]!), 12)
    const [mark] = core().learned
    expect(factorHistory(settings, [mark!], 'water drawn')).toHaveLength(1)
    const before = { ...mark!, means: mark!.means.slice(0, -2), sds: mark!.sds.slice(0, -2) }
    const newer = ['water drawn', 'doubt of uptake']
    for (const id of newer) expect(factorHistory(settings, [before], id)).toEqual([])
    for (const { id } of learnedFactors(settings, filter).filter((factor) => !newer.includes(factor.id)))
      expect(factorHistory(settings, [before], id)).toEqual(factorHistory(settings, [mark!], id))
  })

  it('tells how doubtful uptake is here against the crops file, once bottles have surprised or have not', () => {
    const settings = bench.settings.core
    const { filter } = core().history
    const doubtOf = (appetite: AppetiteSurprises) =>
      learnedFactors(settings, { ...filter, memory: { ...filter.memory, appetite } }).find(
        ({ kind }) => kind === 'doubt',
      )!
    expect(doubtOf(NO_SURPRISES)).toMatchObject({ value: 1, isLearned: false })
    const quiet = doubtOf({ bottles: 4, values: 15, squares: 5 })
    expect(quiet).toMatchObject({ isLearned: true })
    expect(quiet.value).toBeCloseTo(Math.sqrt((5 + 5) / (5 + 15)), 9)
    expect(quiet.high90).toBeLessThan(1)
    expect(quiet.high90 - quiet.low90).toBeLessThan(quiet.priorHigh90 - quiet.priorLow90)
  })

  it('outlives a restart from records alone', () => {
    const recovery = {
      snapshot: initialReservoirState(bench.settings),
      since: recordsOf(bench),
      deliveries: recordsOf(bench),
    }
    const recovered = recover(bench.settings, recovery, bench.nowMs)
    expect(recovered.core!.learned).toEqual(core().learned)
  })

  it('is forgotten on a technician’s word: factors go back to their priors, what is in the water stays', () => {
    const before = core().history.filter
    bench.instruct({ instruction: 'reset-learning' }, 'another crop from today')
    bench.minutes(20)
    const { mean, covariance } = core().history.filter
    const n = mean.length
    const priorSd = bench.settings.core.crops.reduce(
      (most, crop) => Math.max(most, crop.elementSd[ELEMENT_INDEX.K]!),
      0.05,
    )
    const at = UPTAKE_FACTOR + ELEMENT_INDEX.K
    expect(Math.abs(mean[at]!)).toBeLessThan(0.02)
    expect(Math.sqrt(covariance[at * n + at]!)).toBeGreaterThan(0.9 * priorSd)
    expect(Math.abs(mean[GROWTH]!)).toBeLessThan(0.05)
    expect(Math.abs(mean[CONDUCTIVITY_GAIN]!)).toBeLessThan(0.06)
    for (let element = 0; element < ELEMENT_COUNT; element++)
      expect(mean[element]! / Math.max(before.mean[element]!, 1)).toBeCloseTo(
        before.mean[element]! / Math.max(before.mean[element]!, 1),
        1,
      )
  })
})
