import { beforeAll, describe, expect, it } from 'vitest'
import type { Configuration } from '../../../src/config/configuration.ts'
import { continueRerun, finishRerun, type History, rerunFrom } from '../../../src/core/estimate/history.ts'
import type { LaboratoryResult } from '../../../src/reservoir/input.ts'
import { laboratoryPreview } from '../../../src/reservoir/laboratory-preview.ts'
import { recover } from '../../../src/reservoir/recover.ts'
import { initialReservoirState } from '../../../src/reservoir/state.ts'
import { HOUR_MS, LoopBench } from '../../support/loop/bench.ts'
import { quarryLane } from '../../support/loop/site.ts'

let configuration: Configuration
beforeAll(async () => {
  configuration = await quarryLane('observe')
})

function bench(): LoopBench {
  const on = new LoopBench(configuration)
  on.start()
  on.minutes(45)
  return on
}

/** Phosphorus as P2O5 and potassium as K2O: 92 mg/L for 40, 247 for 205. */
const inOxides = (sampledAtMs: number): LaboratoryResult => ({
  ...{ id: 'r1', sampledAtMs },
  values: [
    { element: 'NO3-N', mgPerL: 144 },
    { element: 'P', mgPerL: 92 },
    { element: 'K', mgPerL: 247 },
    { element: 'Ca', mgPerL: 133 },
  ],
})
const told = (effects: ReturnType<LoopBench['report']>, event: string) =>
  effects.flatMap((effect) => (effect.kind === 'notification' && effect.event === event ? [effect.text] : []))

describe('a report that disagrees with the estimate as no water does', () => {
  it('is held, moves nothing, and says which mistake of form would explain it', () => {
    const on = bench()
    const before = on.state.core?.history
    const effects = on.report(inOxides(on.nowMs - 30 * 60_000))
    expect(told(effects, 'laboratory-held')[0]).toContain('P looks as if it was given as P2O5')
    expect(on.state.core?.history.stretches).toBe(before?.stretches)
    expect(on.state.heldReports.map(({ result }) => result.id)).toEqual(['r1'])
  })

  it('is taken once a person accepts it, as if it had never been held', () => {
    const [held, straight] = [bench(), bench()]
    const result = inOxides(held.nowMs - 30 * 60_000)
    held.report(result)
    const decided = held.give({
      ...{ kind: 'laboratory-decision', atMs: held.nowMs, by: 'Ines', reason: 'asked the laboratory' },
      ...{ id: 'r1', decision: 'accept' },
    })
    straight.give({ kind: 'laboratory-result', atMs: straight.nowMs, by: 'laboratory', result, isAccepted: true })
    expect(told(decided, 'laboratory-accepted')).toHaveLength(1)
    expect(held.state.heldReports).toEqual([])
    expect(held.state.core).toEqual(straight.state.core)
  })

  it('is still held after a restart, and what a person decided stands', () => {
    const on = bench()
    on.report(inOxides(on.nowMs - 30 * 60_000))
    const records = () =>
      on.log.flatMap(({ effects }) => effects.flatMap((effect) => (effect.kind === 'record' ? [effect.record] : [])))
    const restarted = () =>
      recover(on.settings, { snapshot: initialReservoirState(on.settings), since: records(), deliveries: [] }, on.nowMs)
    expect(restarted().heldReports).toEqual(on.state.heldReports)
    on.give({
      ...{ kind: 'laboratory-decision', atMs: on.nowMs, by: 'Ines', reason: 'it is right' },
      ...{ id: 'r1', decision: 'accept' },
    })
    on.minutes(30)
    expect(restarted().heldReports).toEqual([])
    expect(restarted().core?.history.filter.mean).toEqual(on.state.core?.history.filter.mean)
  })

  it('is left alone by a decision on another', () => {
    const on = bench()
    on.report(inOxides(on.nowMs - 30 * 60_000))
    const effects = on.give({
      ...{ kind: 'laboratory-decision', atMs: on.nowMs, by: 'Ines', reason: 'a slip' },
      ...{ id: 'r7', decision: 'accept' },
    })
    expect(told(effects, 'refused')[0]).toContain('no report of this id is held')
    expect(on.state.heldReports).toHaveLength(1)
  })
})

describe('the preview of a report', () => {
  it('says from what to what it would move each element, and how surprising that is, and changes nothing', () => {
    const on = bench()
    const before = structuredClone(on.state.core?.history.filter.mean)
    const preview = laboratoryPreview(on.settings, on.state, inOxides(on.nowMs - 30 * 60_000))
    if (preview.kind === 'refused') throw new Error(preview.why)
    const potassium = preview.elements.find(({ element }) => element === 'K')!
    expect(potassium.from.mgPerL).toBeGreaterThan(190)
    expect(potassium.to.mgPerL).toBeGreaterThan(potassium.from.mgPerL)
    expect(potassium.to.sdMgPerL).toBeLessThan(potassium.from.sdMgPerL)
    expect(potassium.sigmas).toBeGreaterThan(2)
    expect(preview.heldBecause).toHaveLength(1)
    expect(on.state.core?.history.filter.mean).toEqual(before)
  })

  it('judges a report that comes while another is run again by what will be believed then, not by how far that has come', () => {
    const on = bench()
    const potassium = (id: string, mgPerL: number, sampledAtMs: number): LaboratoryResult => ({
      ...{ id, sampledAtMs },
      values: [{ element: 'K', mgPerL }],
    })
    on.minutes(120)
    const bottleMs = on.nowMs - 130 * 60_000
    on.give({
      ...{ kind: 'laboratory-result', atMs: on.nowMs, by: 'laboratory' },
      ...{ result: potassium('r1', 260, bottleMs), isAccepted: true },
    })
    const core = on.state.core!
    const asked = rerunFrom(core.history, bottleMs)
    const suspect = potassium('r2', 420, on.nowMs - 15 * 60_000)
    const previewOf = (history: History) =>
      laboratoryPreview(on.settings, { ...on.state, core: { ...core, history } }, suspect)
    const ended = previewOf(finishRerun(on.settings.core, core.cohorts, asked))
    for (const slots of [0, 1, 5, 12])
      expect(previewOf(continueRerun(on.settings.core, core.cohorts, asked, slots))).toEqual(ended)
  })

  it('tells what is beyond what one report may change: a second one must agree first', () => {
    const on = bench()
    const wild = (id: string): LaboratoryResult => ({
      ...{ id, sampledAtMs: on.nowMs - 20 * 60_000 },
      values: [{ element: 'Ca', mgPerL: 330 }],
    })
    const first = laboratoryPreview(on.settings, on.state, wild('r1'))
    if (first.kind === 'refused') throw new Error(first.why)
    const [calcium] = first.elements
    expect(calcium?.isBounded).toBe(true)
    // 0.4 of the highest aim of a crop, 150 mg/L, which is more than the level.
    expect(calcium!.to.mgPerL - calcium!.from.mgPerL).toBeCloseTo(60, 1)
    expect(calcium!.to.sdMgPerL).toBeGreaterThan(calcium!.from.sdMgPerL)
    on.give({ kind: 'laboratory-result', atMs: on.nowMs, by: 'laboratory', result: wild('r1'), isAccepted: true })
    on.minutes(HOUR_MS / 60_000)
    const second = laboratoryPreview(on.settings, on.state, wild('r2'))
    if (second.kind === 'refused') throw new Error(second.why)
    expect(second.elements[0]?.isBounded).toBe(false)
    expect(second.elements[0]!.to.mgPerL).toBeGreaterThan(250)
  })
})
