import { beforeAll, describe, expect, it } from 'vitest'
import { finishRerun } from '../../../src/core/estimate/history.ts'
import { fuseOpenStep, takeObservation, takeScan, takeSettled } from '../../../src/core/observe.ts'
import type { CoreSettings } from '../../../src/core/settings.ts'
import { type CoreState, initialCoreState, openStep } from '../../../src/core/state.ts'
import { NOON_MS, STEP_MS } from '../../support/loop/filter.ts'
import { bits } from '../../support/loop/recorded-week.ts'
import { quarryLaneCore } from '../../support/loop/site.ts'

let settings: CoreSettings
let fresh: CoreState

beforeAll(async () => {
  settings = await quarryLaneCore()
  fresh = initialCoreState(settings, NOON_MS, 0)
})

const scanned = (state: CoreState, value: number) =>
  takeScan(settings, state, {
    atMs: state.open.fromMs + 1,
    node: 'bench',
    readings: [
      { id: 'ec-1', value, unit: 'mS/cm' },
      { id: 'ph-1', value: 5.9, unit: '[pH]' },
      { id: 'level-1', value: 208, unit: 'L' },
    ],
  })
/** The observation of the open step at its end. */
const fuse = (state: CoreState, now: { isShotOpen?: boolean; laterMs?: number } = {}) =>
  fuseOpenStep(settings, state, { atMs: state.open.untilMs + (now.laterMs ?? 0), isShotOpen: now.isShotOpen ?? false })
const closed = (state: CoreState, steps = 1): CoreState => {
  let next = state
  for (let step = 0; step < steps; step++) next = takeObservation(settings, next, fuse(scanned(next, 1.7)))
  return next
}
const settled = (state: CoreState, atMs: number, lowUl: number, highUl: number, isFinal: boolean) =>
  takeSettled(settings, state, { atMs, commandId: '1-1', stock: 'nitrate', isFinal, lowUl, highUl })
const beliefOf = ({ history, cohorts }: CoreState) => bits(finishRerun(settings, cohorts, history).filter)

describe('the grid', () => {
  it('is counted from the epoch, so that a restart keeps its marks', () => {
    expect(openStep(settings, NOON_MS + 1).untilMs).toBe(NOON_MS + STEP_MS)
    expect(openStep(settings, NOON_MS).untilMs).toBe(NOON_MS + STEP_MS)
    expect(openStep(settings, NOON_MS - 1).untilMs).toBe(NOON_MS)
  })

  it('takes EC and pH only while no shot is on its way: they may show what the balance does not know yet', () => {
    const seen = scanned(fresh, 1.7)
    expect(fuse(seen)).toMatchObject({ conductivityDsPerM: 1.7, ph: 5.9, levelL: 208 })
    const watched = fuse(seen, { isShotOpen: true })
    expect(watched).not.toHaveProperty('conductivityDsPerM')
    expect(watched).not.toHaveProperty('ph')
    expect(watched.levelL).toBe(208)
  })
})

describe('a silence', () => {
  it('of hours is closed in steps of six hours, so that a winter without power is not run through in minutes', () => {
    const long = fuse(fresh, { laterMs: 9 * 3_600_000 })
    expect(long.endMs).toBe(fresh.open.untilMs + 6 * 3_600_000)
    expect(fuse(fresh, { laterMs: 5 * 3_600_000 }).endMs).toBe(fresh.open.untilMs)
    expect(fuse(scanned(fresh, 1.7), { laterMs: 9 * 3_600_000 }).endMs).toBe(fresh.open.untilMs)
  })
})

describe('a shot whose outcome comes late', () => {
  // At a mark of the grid, in the middle of a step, and just before the next mark.
  it.each([0, 1, 7 * 60_000, STEP_MS - 1])(
    'and ran %d ms into a step counts once, as if it had been known at once',
    (intoMs) => {
      const atMs = NOON_MS + 3 * STEP_MS + intoMs
      const known = closed(settled(closed(fresh, 3), atMs, 9000, 9500, true), 9)
      const doubted = closed(settled(closed(fresh, 3), atMs, 0, 20_000, false), 9)
      const late = settled(doubted, doubted.open.fromMs + 1000, 9000, 9500, true)
      expect(beliefOf(doubted)).not.toBe(beliefOf(known))
      expect(beliefOf(late)).toBe(beliefOf(known))
      expect(late.doubtful).toEqual([])
      expect(late.open.doses).toEqual([])
    },
  )

  it('and ran in the step that is still open counts once', () => {
    const atMs = NOON_MS + 1000
    const late = settled(settled(fresh, atMs, 0, 20_000, false), atMs + 60_000, 9000, 9500, true)
    expect(late.open.doses).toEqual([{ atMs, stockIndex: 2, commandId: '1-1', lowMl: 9, highMl: 9.5 }])
  })

  it('and never ran leaves nothing behind', () => {
    const doubted = closed(settled(fresh, NOON_MS + 1000, 0, 20_000, false), 5)
    expect(beliefOf(settled(doubted, doubted.open.fromMs, 0, 0, true))).toBe(beliefOf(closed(fresh, 5)))
  })

  it('of a stock that is not here changes nothing', () => {
    const shot = { atMs: NOON_MS, commandId: '1-1', stock: 'other', isFinal: true, lowUl: 1, highUl: 1 }
    expect(takeSettled(settings, fresh, shot)).toBe(fresh)
  })
})

describe('steps read back from the ledger', () => {
  it('move the make-up meter’s count on, so that nothing is counted twice when the probe speaks again', () => {
    const metered = (state: CoreState, value: number) =>
      takeScan(settings, state, { atMs: 1, node: 'bench', readings: [{ id: 'meter-1', value, unit: 'L' }] })
    const take = (state: CoreState) => takeObservation(settings, state, fuse(state))
    const base = take(metered(fresh, 100))
    const read = takeObservation(settings, base, { endMs: base.open.untilMs, litShare: 1, topUpL: 4 })
    expect(fuse(metered(read, 105)).topUpL).toBeCloseTo(1, 9)
  })
})
