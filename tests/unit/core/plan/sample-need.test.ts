import { beforeAll, describe, expect, it } from 'vitest'
import { ELEMENT_INDEX } from '../../../../src/chemistry/element.ts'
import { benchBands } from '../../../../src/core/plan/bands.ts'
import { tracePaths } from '../../../../src/core/plan/level-path.ts'
import { plan } from '../../../../src/core/plan/planner.ts'
import { type SampleNeed, sampleNeed, sampleNote } from '../../../../src/core/plan/sample-need.ts'
import type { CoreSettings } from '../../../../src/core/settings.ts'
import { initialCoreState } from '../../../../src/core/state.ts'
import { NOON_MS } from '../../../support/loop/filter.ts'
import { quarryLaneCore } from '../../../support/loop/site.ts'
import { benchInput, doseMl, withLevels, withSettings } from './plan-fixture.ts'

const DAY_MS = 86_400_000
let settings: CoreSettings
let need: SampleNeed

const needWith = (sdMaxShare: number): SampleNeed => {
  const asked = { ...settings, planning: { ...settings.planning, sdMaxShare } }
  const core = initialCoreState(asked, NOON_MS, 0)
  return sampleNeed(asked, core.cohorts, core.history.filter, benchBands(asked, core.cohorts, NOON_MS).elements, null)
}

beforeAll(async () => {
  settings = await quarryLaneCore()
  need = needWith(0.3)
})

describe('the date by which a sample is needed', () => {
  it('lies ahead where the fill is well known, and one of the macronutrients decides it', () => {
    expect(need.first!.byMs).toBeGreaterThan(NOON_MS + 5 * DAY_MS)
    expect(['NO3-N', 'P', 'K', 'Ca', 'Mg', 'S']).toContain(need.first!.element)
    expect(need.first!.sdShare).toBeGreaterThan(0.3)
    const earlier = need.elements.filter(({ byMs }) => byMs !== undefined && byMs < need.first!.byMs)
    for (const { element } of earlier) expect(['Fe', 'Mn', 'Zn', 'B', 'Cu', 'Mo']).toContain(element)
  })

  it('comes sooner the less doubt is allowed', () => {
    expect(needWith(0.15).first!.byMs).toBeLessThan(need.first!.byMs)
    expect(needWith(0.001).first!.byMs).toBe(NOON_MS)
  })

  it('is said three days ahead and not before, with what would not be known then', () => {
    const { byMs } = need.first!
    expect(sampleNote(need, byMs - 4 * DAY_MS, 0.3)).toBeUndefined()
    expect(sampleNote(need, byMs - 1.5 * DAY_MS, 0.3)).toMatch(
      /^A laboratory sample is needed within 2 days: \S+ would then be known only to ± \d\d %, and beyond ± 30 % /,
    )
    expect(sampleNote(need, byMs + DAY_MS, 0.3)).toContain('needed now')
  })
})

describe('an element that is known too little', () => {
  const lost = (sdMgPerL: number) => {
    const input = withLevels(benchInput(), { K: 140 }, { K: sdMgPerL })
    return withSettings(input, { planning: { ...input.settings.planning, sdMaxShare: 0.3 } })
  }

  it('has no gap closed and no edge protected: nine tenths of what the crop should take are its target', () => {
    const path = tracePaths(lost(61))[ELEMENT_INDEX.K]!
    expect(path.isLost).toBe(true)
    const taken = path.presentMmolPerL - path.undosedMmolPerL
    expect(path.targetMmolPerL).toBeCloseTo(path.undosedMmolPerL + 0.9 * taken, 12)
    expect(tracePaths(lost(59))[ELEMENT_INDEX.K]!.isLost).toBe(false)
  })

  it('is dosed less than one that is known, and its reason says why', () => {
    const made = plan(lost(61))
    expect(doseMl(made, 'nitrate')).toBeLessThan(doseMl(plan(lost(5)), 'nitrate'))
    const reasons = made.doses.map(({ reason }) => reason).join(' ')
    if (made.doses.some(({ element }) => element === 'K')) expect(reasons).toContain('known only to ± 31 % of its aim')
  })
})
