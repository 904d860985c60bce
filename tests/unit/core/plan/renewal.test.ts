import { describe, expect, it } from 'vitest'
import type { ElementName } from '../../../../src/chemistry/element.ts'
import { ELEMENT_INDEX } from '../../../../src/chemistry/element.ts'
import { toMmolPerL } from '../../../../src/chemistry/molar-mass.ts'
import { tracePaths } from '../../../../src/core/plan/level-path.ts'
import type { PlanInput } from '../../../../src/core/plan/plan-input.ts'
import { findRenewal, inSlices, type Renewal, renewalTask } from '../../../../src/core/plan/renewal.ts'
import { afterDrain, afterPlan, freshSolution, solutionAgeMs } from '../../../../src/core/plan/renewal-task.ts'
import { AT_MS, benchInput, forecastFor, SOURCE, VOLUME_L, withLevels, withSettings } from './plan-fixture.ts'

const DAY_MS = 86_400_000
const WEEK_MS = 7 * DAY_MS

/** 15 L drunk and made up in a day; calcium comes with the water faster than it is taken where `calciumTaken` is small. */
function bench(levels: Partial<Record<ElementName, number>>, sd: Partial<Record<ElementName, number>> = {}): PlanInput {
  const input = withSettings(benchInput(), { renewal: { serveMs: WEEK_MS } })
  return withLevels(input, levels, sd)
}
function dayOf(taken: Partial<Record<ElementName, number>>) {
  const day = { ...forecastFor(15), intervalMs: DAY_MS }
  const uptakeMmol = day.uptakeMmol.map((mmol) => mmol)
  for (const [element, mmol] of Object.entries(taken)) uptakeMmol[ELEMENT_INDEX[element as ElementName]] = mmol
  return { ...day, uptakeMmol }
}
function found(input: PlanInput, more: { day?: ReturnType<typeof dayOf>; ageMs?: number; isSet?: boolean } = {}) {
  const { day = dayOf({ Ca: 7 }), ageMs = 0, isSet = false } = more
  return findRenewal({ input, paths: tracePaths(input), day, ageMs, isSet })
}

describe('a renewal', () => {
  it('is not asked for while every element stands below its high edge by its margin', () => {
    expect(found(bench({ Ca: 190 }, { Ca: 5 }))).toBeUndefined()
  })

  it('is asked for when calcium, which the water brings faster than the crop takes it, comes within its doubt of the edge', () => {
    const renewal = found(bench({ Ca: 196 }, { Ca: 5 }))!
    expect(renewal).toMatchObject({ cause: 'build-up', element: 'Ca' })
    expect(renewal.volumeL).toBeLessThanOrEqual(0.1 * VOLUME_L)
    // The balance of 15 L at 1 mmol/L against 7 taken: 8 mmol or 1.46 mg/L a day; a week of it, and the 1 mg/L over 195.
    const served = 195 - 7 * ((8 / VOLUME_L) * 40.078)
    const source = SOURCE[ELEMENT_INDEX.Ca]! * 40.078
    const share = (196 - served) / (196 - source)
    expect(renewal.volumeL * renewal.slices).toBeCloseTo(share * VOLUME_L, 0)
  })

  it('is left to uptake where that brings the element down within a week', () => {
    expect(found(bench({ K: 303 }, { K: 1 }))).toBeUndefined()
    expect(found(bench({ K: 303 }, { K: 1 }), { day: dayOf({ K: 0 }) })).toMatchObject({ element: 'K' })
  })

  it('is not asked for where the water itself brings more than the edge: it would not help', () => {
    const salty = SOURCE.map((mmol, at) => (at === ELEMENT_INDEX.Na ? toMmolPerL('Na', 60) : mmol))
    const input = bench({ Na: 70 })
    const source = { ...input.settings.source, mmolPerL: salty }
    expect(found(withSettings(input, { source }))).toBeUndefined()
  })

  it('takes no more than a tenth at once, and says how many slices it needs', () => {
    const renewal = found(bench({ Na: 90 }, { Na: 1 }))!
    expect(renewal.slices).toBeGreaterThan(1)
    expect(renewal.volumeL).toBeLessThanOrEqual(0.1 * VOLUME_L + 1e-9)
    const { volumeL, slices } = inSlices(0.3, 100)
    expect(100 * (1 - volumeL / 100) ** slices).toBeCloseTo(70, 9)
  })

  it('is asked for by age where the site sets one, however good the ions look', () => {
    const input = withSettings(benchInput(), { renewal: { serveMs: WEEK_MS, hygieneMs: 56 * DAY_MS } })
    expect(found(input, { ageMs: 55 * DAY_MS })).toBeUndefined()
    expect(found(input, { ageMs: 56 * DAY_MS })).toMatchObject({ cause: 'hygiene' })
    expect(found(benchInput({ settings: input.settings }), { ageMs: 56 * DAY_MS })!.volumeL).toBeLessThanOrEqual(22.001)
  })

  it('of sodium that doubt alone puts over its edge waits: nothing goes while it is believed in the lower half', () => {
    expect(found(bench({ Na: 30 }, { Na: 40 }), { day: dayOf({ Na: 0 }) })).toBeUndefined()
  })

  it('tells a person what to do, how much, why, and what to log', () => {
    const text = renewalTask(found(bench({ Ca: 196 }, { Ca: 5 }))!, true)
    expect(text).toMatch(
      /^Let \d+(\.\d)? L of solution go and fill up with as much source water before the next doses: /,
    )
    expect(text).toContain('calcium is about 196 ± 5 mg/L, its high edge is 200')
    expect(text).toContain('the crop takes less, so it rises by 1.5 mg/L a day')
    expect(text).toMatch(/Then log \d+(\.\d)? L drained \(the meter counts what comes in\)\./)
  })
})

describe('the task of a renewal', () => {
  const renewal: Renewal = { cause: 'build-up', element: 'Ca', volumeL: 20, slices: 1, why: 'calcium builds up' }
  const asked = afterPlan(freshSolution(AT_MS), renewal, AT_MS, () => 'Let 20 L go.')

  it('stands unchanged from plan to plan until it is done, and then no other comes for a day', () => {
    expect(afterPlan(asked, { ...renewal, volumeL: 22 }, AT_MS + 1, () => 'other').task).toBe(asked.task)
    const half = afterDrain(asked, 10, 220, AT_MS + 2)
    expect(half.task).toMatchObject({ drainedL: 10 })
    const done = afterDrain(half, 9, 220, AT_MS + 3)
    expect(done.task).toBeNull()
    expect(afterPlan(done, renewal, AT_MS + DAY_MS, () => 'x').task).toBeNull()
    expect(afterPlan(done, renewal, AT_MS + 3 + DAY_MS, () => 'x').task).not.toBeNull()
  })

  it('goes when its cause has gone by itself', () => {
    expect(afterPlan(asked, undefined, AT_MS + 1, () => 'x').task).toBeNull()
  })

  it('lets the solution grow younger by the share that went', () => {
    const old = { ...freshSolution(AT_MS), ageMs: 40 * DAY_MS }
    const younger = afterDrain(old, 22, 220, AT_MS + 10 * DAY_MS)
    expect(solutionAgeMs(younger, AT_MS + 10 * DAY_MS)).toBeCloseTo(45 * DAY_MS, 0)
    expect(solutionAgeMs(afterDrain(old, 220, 220, AT_MS), AT_MS)).toBe(0)
  })
})
