import { beforeAll, describe, expect, it } from 'vitest'
import type { Configuration } from '../../../src/config/configuration.ts'
import { DELIVERY_FACTOR } from '../../../src/core/estimate/layout.ts'
import { estimateOf } from '../../../src/core/estimate/summary.ts'
import type { SpotReading } from '../../../src/reservoir/input.ts'
import { recover } from '../../../src/reservoir/recover.ts'
import { initialReservoirState } from '../../../src/reservoir/state.ts'
import { LoopBench, MINUTE_MS } from '../../support/loop/bench.ts'
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
const read = (on: LoopBench, reading: Partial<SpotReading> & Pick<SpotReading, 'value'>) =>
  on.give({
    ...{ kind: 'spot-reading', atMs: on.nowMs, by: 'Ines, ion meter' },
    reading: { quantity: 'K', readAtMs: on.nowMs - MINUTE_MS, ...reading },
  })
const spoken = (effects: ReturnType<LoopBench['give']>) =>
  effects.flatMap((effect) => (effect.kind === 'notification' ? [effect.text] : [])).join(' ')
const potassium = (on: LoopBench) => estimateOf(on.state.core!.history.filter).elements.K

describe('a handheld reading', () => {
  it('on probation moves the estimate a little and says so', () => {
    const on = bench()
    const before = potassium(on)
    expect(spoken(read(on, { value: 235 }))).toContain('on probation')
    on.minutes(20)
    const moved = potassium(on).mgPerL - before.mgPerL
    expect(moved).toBeGreaterThan(0.2)
    expect(moved).toBeLessThan(0.15 * (235 - before.mgPerL))
  })

  it('repeated twenty times in a day is not twenty witnesses', () => {
    const on = bench()
    for (let at = 0; at < 20; at++) read(on, { value: 235 })
    on.minutes(20)
    const crowd = potassium(on)
    const alone = bench()
    read(alone, { value: 235 })
    alone.minutes(20)
    // 1 + 1/2 + … + 1/20 is 3.6: twenty readings are worth fewer than four.
    expect(crowd.sdMgPerL).toBeGreaterThan(0.7 * potassium(alone).sdMgPerL)
  })

  it('far off is kept, told and moves nothing', () => {
    const [on, quiet] = [bench(), bench()]
    expect(spoken(read(on, { value: 900 }))).toContain('moves nothing')
    on.minutes(20)
    quiet.minutes(20)
    expect(potassium(on)).toEqual(potassium(quiet))
  })

  it('is trusted once it has agreed with a laboratory three times, and counts for more', () => {
    const on = bench()
    on.report({ id: 'r1', sampledAtMs: on.nowMs - 30 * MINUTE_MS, values: [{ element: 'K', mgPerL: 204 }] })
    for (let at = 0; at < 3; at++) {
      read(on, { value: 205 })
      on.minutes(15)
    }
    expect(spoken(read(on, { value: 206 }))).toContain('taken with its own uncertainty')
  })

  it.each([
    ['an element nobody tracks', { quantity: 'Si' as never, value: 3 }, 'is not tracked'],
    ['a value below nothing', { value: -1 }, 'above 0'],
    ['the future', { value: 200, readAtMs: 9e15 }, 'in the future'],
  ])('of %s is refused', (_what, reading, why) => {
    const on = bench()
    expect(spoken(read(on, reading))).toContain(why)
  })

  it('late is worth what it would have been on time, and stands after a restart', () => {
    const [onTime, late] = [bench(), bench()]
    const readAtMs = onTime.nowMs - MINUTE_MS
    read(onTime, { value: 230, readAtMs })
    onTime.minutes(120)
    late.minutes(100)
    read(late, { value: 230, readAtMs })
    late.minutes(20)
    expect(late.state.core?.history.filter).toEqual(onTime.state.core?.history.filter)
    const since = late.log.flatMap(({ effects }) =>
      effects.flatMap((effect) => (effect.kind === 'record' ? [effect.record] : [])),
    )
    const snapshot = initialReservoirState(late.settings)
    const restarted = recover(late.settings, { snapshot, since, deliveries: [] }, late.nowMs)
    expect(restarted.core?.history.filter).toEqual(late.state.core?.history.filter)
  })
})

describe('a bottle on the scale', () => {
  it('that lost less than the book gave lowers what its pump is believed to deliver', () => {
    const on = bench()
    on.act({ act: 'bottle-weighed', doneAtMs: on.nowMs, stock: 'calcium', massG: 5000 })
    on.minutes(20)
    const [stock] = on.settings.core.stocks
    // 400 mL by the book, 360 mL by the scale, in one step of the grid.
    const { core } = on.state
    const doses = [{ atMs: on.nowMs, stockIndex: 0, commandId: 'c1', lowMl: 400, highMl: 400 }]
    on.state = { ...on.state, core: { ...core!, open: { ...core!.open, doses } } }
    on.minutes(20)
    const before = on.state.core!.history.filter.mean[DELIVERY_FACTOR]!
    const massG = 5000 - 360 * (1 + 0.6 * stock!.saltGPerMl)
    on.act({ act: 'bottle-weighed', doneAtMs: on.nowMs, stock: 'calcium', massG })
    on.minutes(20)
    const after = on.state.core!.history.filter.mean[DELIVERY_FACTOR]!
    expect(after).toBeLessThan(before - 0.02)
    expect(after).toBeGreaterThan(Math.log(0.9))
  })
})

describe('what people do by hand', () => {
  it('a complete change leaves the new fill, whatever was there before', () => {
    const on = bench()
    const fill = { K: 100, Ca: 60, 'NO3-N': 80 }
    on.act({ act: 'changed', doneAtMs: on.nowMs, drainedL: 220, filledL: 220, fill })
    on.minutes(20)
    const { elements } = estimateOf(on.state.core!.history.filter)
    expect(elements.K.mgPerL).toBeGreaterThan(85)
    expect(elements.K.mgPerL).toBeLessThan(115)
    expect(elements.P.mgPerL).toBeLessThan(6)
  })

  it('a part change for water dilutes every ion alike', () => {
    const on = bench()
    const before = estimateOf(on.state.core!.history.filter).elements
    on.shown['ec-1'] = undefined
    on.act({ act: 'changed', doneAtMs: on.nowMs, drainedL: 66, filledL: 66 })
    on.minutes(20)
    const after = estimateOf(on.state.core!.history.filter).elements
    expect(after.K.mgPerL / before.K.mgPerL).toBeCloseTo(0.7, 1)
    expect(after.P.mgPerL / before.P.mgPerL).toBeCloseTo(0.7, 1)
  })

  it('a batch of half strength is believed to deliver half', () => {
    const on = bench()
    const batch = { label: 'half a bag', strength: 0.5 }
    on.act({ act: 'stock-refilled', doneAtMs: on.nowMs, stock: 'nitrate', volumeMl: 5000, batch })
    on.minutes(20)
    const at = on.settings.core.stocks.findIndex(({ id }) => id === 'nitrate')
    expect(on.state.core!.history.filter.mean[DELIVERY_FACTOR + at]).toBeCloseTo(Math.log(0.5), 1)
  })
})
