import { beforeAll, describe, expect, it } from 'vitest'
import type { Configuration } from '../../../src/config/configuration.ts'
import { PH_OFFSET } from '../../../src/core/estimate/layout.ts'
import { estimateOf } from '../../../src/core/estimate/summary.ts'
import { LoopBench } from '../../support/loop/bench.ts'
import { quarryLane } from '../../support/loop/site.ts'

let configuration: Configuration
beforeAll(async () => {
  configuration = await quarryLane('observe')
})

function bench(): LoopBench {
  const on = new LoopBench(configuration)
  on.start()
  on.minutes(60)
  // The probe’s own reading of the fill as it is believed, so that nothing but the story below surprises.
  on.shown['ec-1'] = estimate(on).conductivityDsPerM
  on.minutes(120)
  return on
}
const estimate = (on: LoopBench) => estimateOf(on.state.core!.history.filter)
const events = (on: LoopBench) =>
  on.log.flatMap(({ effects }) =>
    effects.flatMap((effect) => (effect.kind === 'record' && effect.record.kind === 'event' ? [effect.record] : [])),
  )

describe('readings that disagree with the estimate for an hour', () => {
  it('of the level alone: solution was lost, amounts went with it and concentrations stay', () => {
    const on = bench()
    const before = estimate(on)
    on.shown['level-1'] = 158
    on.minutes(150)
    const after = estimate(on)
    expect(events(on).map(({ event }) => event)).toEqual(['solution-lost'])
    expect(events(on)[0]?.text).toMatch(/stood (49|50|51) L below/)
    expect(after.volumeL).toBeGreaterThan(160)
    expect(after.volumeL).toBeLessThan(180)
    for (const name of ['NO3-N', 'K', 'Ca'] as const)
      expect(Math.abs(after.elements[name].mgPerL / before.elements[name].mgPerL - 1)).toBeLessThan(0.03)
  })

  it('of level, EC and pH together: water came in, and every ion is diluted alike', () => {
    const on = bench()
    const before = estimate(on)
    on.shown['level-1'] = on.shown['level-1']! + 44
    on.shown['ec-1'] = on.shown['ec-1']! * 0.86
    on.shown['ph-1'] = 6.4
    on.minutes(150)
    const after = estimate(on)
    expect(events(on).map(({ event }) => event)[0]).toMatch(/^water/)
    expect(after.volumeL).toBeGreaterThan(before.volumeL + 25)
    expect(after.elements.K.mgPerL).toBeLessThan(0.93 * before.elements.K.mgPerL)
  })

  it('of EC alone, too high: no water explains it, so both salt and probe become doubtful', () => {
    const on = bench()
    const before = estimate(on)
    on.shown['ec-1'] = on.shown['ec-1']! * 1.6
    on.minutes(150)
    expect(events(on).map(({ event }) => event)).toEqual(['salt-or-conductivity-probe'])
    expect(estimate(on).elements.K.sdMgPerL).toBeGreaterThan(before.elements.K.sdMgPerL)
  })

  it('call a person to a probe that may have walked, until it is calibrated and what was learned of its error forgotten', () => {
    const on = bench()
    on.shown['ph-1'] = on.shown['ph-1']! + 0.8
    on.minutes(150)
    const isCalled = () => on.state.alarms['probe-walked:ph-1']?.condition === 'unacknowledged'
    expect(events(on).map(({ event }) => event)).toEqual(['ph-probe'])
    expect(isCalled()).toBe(true)
    expect(on.state.core!.history.filter.mean[PH_OFFSET]).toBeGreaterThan(0.4)
    on.instruct({ instruction: 'calibrate', probe: 'ph-1', slope: 1, offset: -0.8 })
    on.minutes(30)
    expect(isCalled()).toBe(false)
    expect(Math.abs(on.state.core!.history.filter.mean[PH_OFFSET]!)).toBeLessThan(0.15)
  })

  it('of a level probe that goes up and down again and again never ratchet the volume down', () => {
    const on = bench()
    const before = estimate(on).volumeL
    for (let time = 0; time < 6; time++) {
      on.shown['level-1'] = 232
      on.minutes(120)
      on.shown['level-1'] = 208
      on.minutes(120)
    }
    const causes = new Set(events(on).map(({ event }) => event))
    expect(causes.has('level-probe-returned')).toBe(true)
    expect(Math.abs(estimate(on).volumeL - before)).toBeLessThan(0.15 * before)
  })

  it('makes no plan meanwhile, and plans again once the estimate gave way', () => {
    const on = bench()
    on.shown['ec-1'] = on.shown['ec-1']! * 1.6
    const plans = () => on.state.core!.planCount
    on.minutes(25)
    const held = plans()
    on.minutes(30)
    expect(plans()).toBe(held)
    on.minutes(120)
    expect(plans()).toBeGreaterThan(held)
  })

  it('is no more than a splash where it returns within the hour', () => {
    const on = bench()
    on.shown['level-1'] = 158
    on.minutes(30)
    on.shown['level-1'] = 208
    on.minutes(120)
    expect(events(on)).toEqual([])
  })
})
