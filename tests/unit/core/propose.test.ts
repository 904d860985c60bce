import { beforeAll, describe, expect, it } from 'vitest'
import type { StockHeadroom } from '../../../src/core/plan/headroom.ts'
import { hasDueShot, isPlanDue, nextShot, proposePlan } from '../../../src/core/propose.ts'
import type { CoreSettings } from '../../../src/core/settings.ts'
import { type CoreState, initialCoreState } from '../../../src/core/state.ts'
import { NOON_MS } from '../../support/loop/filter.ts'
import { quarryLaneCore } from '../../support/loop/site.ts'

let settings: CoreSettings
let fresh: CoreState

beforeAll(async () => {
  settings = await quarryLaneCore()
  fresh = initialCoreState(settings, NOON_MS, 0)
})

const ROOMY = {
  shotUl: 40_000,
  hourUl: 80_000,
  dayUl: 700_000,
  hourMaxUl: 80_000,
  shotMaxUl: 40_000,
  gapMs: 300_000,
  notBeforeMs: 0,
  blockedBy: [],
}
const room = (change: Partial<StockHeadroom> = {}) => ({
  stocks: settings.stocks.map(({ id }) => ({ stock: id, ...ROOMY, ...change })),
})
const roomUl = (shotUl: number) => () => shotUl
const withPh = (ph: number): CoreState => {
  const at = settings.probes.findIndex(({ role }) => role === 'ph')
  const probes = fresh.sense.probes.map((kept, place) =>
    place === at ? { value: ph, atMs: NOON_MS, window: [] } : kept,
  )
  return { ...fresh, sense: { ...fresh.sense, probes } }
}
const planned = (state: CoreState, isActing = true, headroom = room()) =>
  proposePlan(settings, state, headroom, { atMs: NOON_MS, isActing })

describe('a plan', () => {
  it('is due each interval, but never while an old belief is being run again', () => {
    expect(isPlanDue(fresh, fresh.nextPlanMs - 1)).toBe(false)
    expect(isPlanDue(fresh, fresh.nextPlanMs)).toBe(true)
    const rerun = { stretchIndex: 0, stepIndex: 0, filter: fresh.history.filter }
    expect(isPlanDue({ ...fresh, history: { ...fresh.history, rerun } }, fresh.nextPlanMs)).toBe(false)
    expect(planned(fresh).nextPlanMs).toBe(NOON_MS + settings.planning.intervalMs)
  })

  it('has a number and a name of its own, and every dose its reason', () => {
    const [first, second] = [planned(fresh), planned(planned(fresh))]
    expect(first.planCount).toBe(1)
    expect(second.plan?.id).not.toBe(first.plan?.id)
    expect(first.plan?.doses.length).toBeGreaterThan(0)
    for (const { reason } of first.plan!.doses) expect(reason.length).toBeGreaterThan(20)
  })

  it('shows what would be done while something blocks, unless it is to be carried out', () => {
    const blocked = room({ shotUl: 0, blockedBy: ['not-held'] })
    expect(planned(fresh, false, blocked).plan?.doses.length).toBeGreaterThan(0)
    expect(planned(fresh, true, blocked).plan?.doses).toEqual([])
  })

  it('that was blocked altogether is made again after a grid step, not after a whole interval', () => {
    const blocked = room({ shotUl: 0, blockedBy: ['probe-present'] })
    const first = planned(withPh(6.4), true, blocked)
    expect(first.nextPlanMs).toBe(NOON_MS + settings.grid.stepMs)
    const later = { atMs: first.nextPlanMs, isActing: true }
    expect(proposePlan(settings, first, blocked, later).plan).toBe(first.plan)
    expect(proposePlan(settings, first, room(), later).shots.length).toBeGreaterThan(0)
  })

  it('gives more acid the further pH stands above the band, as far as the estimate too shows alkalinity', () => {
    // 300 meq of untracked base: 1.4 meq/L, what hard water leaves behind.
    const mean = fresh.history.filter.mean.slice()
    mean[16]! += 300
    const alkaline = (ph: number): CoreState => ({
      ...withPh(ph),
      history: { ...fresh.history, filter: { ...fresh.history.filter, mean } },
    })
    const acidUl = (ph: number) =>
      planned(alkaline(ph)).plan!.doses.find(({ stock }) => stock === 'acid')?.volumeUl ?? 0
    expect(acidUl(6.4)).toBeGreaterThan(acidUl(5.9))
    // Beyond the band the buffering of bicarbonate is met as well: much more than the band’s edge asks for.
    expect(acidUl(7.4)).toBeGreaterThan(1.5 * acidUl(6.4))
  })
})

describe('the next shot', () => {
  it('is asked for once its time has come', () => {
    const state = planned(fresh)
    const firstMs = Math.min(...state.shots.map(({ notBeforeMs }) => notBeforeMs))
    expect(hasDueShot(state, firstMs - 1)).toBe(false)
    expect(nextShot(settings, state, roomUl(40_000), firstMs - 1)).toBeUndefined()
    expect(hasDueShot(state, firstMs)).toBe(true)
    const next = nextShot(settings, state, roomUl(40_000), firstMs)!
    expect(next.shot.planId).toBe(state.plan?.id)
    expect(next.state.shots).toHaveLength(state.shots.length - 1)
  })

  it('is cut to the room there is, and waits where that is less than the pump’s smallest shot', () => {
    const state = planned(fresh)
    const lateMs = NOON_MS + settings.planning.intervalMs
    expect(nextShot(settings, state, roomUl(1200), lateMs)?.shot.volumeUl).toBeLessThanOrEqual(1200)
    expect(nextShot(settings, state, roomUl(100), lateMs)).toBeUndefined()
    expect(nextShot(settings, state, roomUl(0), lateMs)).toBeUndefined()
  })

  it('is none without a plan', () => {
    expect(nextShot(settings, fresh, roomUl(40_000), NOON_MS)).toBeUndefined()
  })
})
