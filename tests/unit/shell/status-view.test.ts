import { beforeAll, describe, expect, it } from 'vitest'
import type { Configuration } from '../../../src/config/configuration.ts'
import { NORMAL } from '../../../src/core/alarm/alarm-board.ts'
import type { ReservoirState } from '../../../src/reservoir/state.ts'
import { createLockstepClock } from '../../../src/shell/clock.ts'
import { estimateView, statusView } from '../../../src/shell/status-view.ts'
import { LoopBench } from '../../support/loop/bench.ts'
import { quarryLane } from '../../support/loop/site.ts'

let configuration: Configuration
let bench: LoopBench
beforeAll(async () => {
  configuration = await quarryLane('automatic')
  bench = new LoopBench(configuration)
  bench.start()
  bench.minutes(30)
})

function viewOf(state: ReservoirState, changes: { nowMs?: number; configuration?: Configuration } = {}) {
  return statusView({
    ...{ configuration, reservoirId: 'quarry-lane', version: 'test', head: { sequence: 0, hash: '' }, state },
    clock: createLockstepClock(changes.nowMs ?? state.atMs),
    ...changes,
  })
}

const stands = (condition: 'unacknowledged' | 'acknowledged' | 'returned') => ({
  ...NORMAL,
  condition,
  holdsSinceMs: 0,
})
const held = { by: 'Ines', reason: 'smell of acid', atMs: 0 }

describe('the sentence', () => {
  it('speaks of an urgent alarm before anything else', () => {
    const alarms = { 'water-warm': stands('unacknowledged'), 'no-flow': stands('acknowledged') }
    const state = { ...bench.state, alarms, safety: { ...bench.state.safety, held } }
    expect(viewOf(state).sentence).toMatch(/^The circulation has stopped/)
  })

  it('speaks of a lesser alarm before a hold', () => {
    const state = { ...bench.state, alarms: { 'water-warm': stands('unacknowledged') } }
    expect(viewOf({ ...state, safety: { ...state.safety, held } }).sentence).toMatch(/too warm/)
  })

  it('does not say of an alarm whose cause is gone that it holds; the list still shows it', () => {
    const view = viewOf({ ...bench.state, alarms: { 'no-flow': stands('returned') } })
    expect(view.sentence).not.toMatch(/circulation has stopped/)
    expect(view.alarms).toMatchObject([{ alarm: 'no-flow', state: 'returned', priority: 'urgent' }])
  })

  it('of a hold says who, why, and how to go on', () => {
    const view = viewOf({ ...bench.state, safety: { ...bench.state.safety, held } })
    expect(view.sentence).toBe(
      'Dosing is on hold by Ines: smell of acid. When the reason is gone, release it: at the page, or by tarnward release.',
    )
    expect(view.held).toBe(true)
  })

  it('names the elements outside their bands, and what is dosed next', () => {
    const { sentence, nextDoses } = viewOf(bench.state)
    const outside = Object.entries(estimateView(configuration, bench.state)!.elements)
      .filter(([, { mgPerL, band }]) => band && (mgPerL < band.lowMgPerL || mgPerL > band.highMgPerL))
      .map(([name]) => name)
    if (outside.length > 0) expect(sentence).toContain(`${outside.join(', ')} believed outside the band`)
    else expect(sentence).toMatch(/^Every element is believed to be inside its band/)
    const [next] = nextDoses
    if (next) expect(sentence).toContain(`next, ${next.volumeMl.toFixed(1)} mL of ${next.stock}`)
    else expect(sentence).toMatch(/nothing is due/)
  })

  it('in the mode observe says that nothing is dosed', () => {
    const state = { ...bench.state, safety: { ...bench.state.safety, mode: 'observe' as const } }
    expect(viewOf(state).sentence).toMatch(/the mode is observe, so nothing is dosed\.$/)
  })
})

describe('readings', () => {
  it('are what the probes last said, with their unit', () => {
    const { readings } = viewOf(bench.state)
    expect(readings.map(({ quantity }) => quantity)).toEqual(['conductivity', 'ph', 'level', 'temperature'])
    expect(readings[0]).toMatchObject({ unit: 'mS/cm', value: expect.closeTo(1.72, 2) })
    expect(readings.every(({ abnormal }) => abnormal === undefined)).toBe(true)
  })

  it('say that they are old, bad or not there', () => {
    const { safety } = bench.state
    const { 'ph-1': _ph, ...others } = safety.readings
    const readings = { ...others, 'level-1': { ...safety.readings['level-1']!, quality: 'bad' as const } }
    const view = viewOf({ ...bench.state, safety: { ...safety, readings } }, { nowMs: bench.nowMs + 200_000 })
    expect(view.readings.map(({ abnormal }) => abnormal)).toEqual([
      '200 s old',
      'no reading yet',
      'the probe says its reading is bad',
      '200 s old',
    ])
  })
})

describe('the estimate', () => {
  it('is there from the first start on, in mg/L with each element’s band around its aim', () => {
    expect(estimateView(configuration, new LoopBench(configuration).state)).toBeUndefined()
    const { K, Na } = estimateView(configuration, bench.state)!.elements
    expect(K!.mgPerL).toBeGreaterThan(190)
    expect(K!.mgPerL).toBeLessThan(220)
    expect(K!.band!.lowMgPerL).toBeLessThan(K!.band!.aimMgPerL)
    expect(K!.band!.aimMgPerL).toBeLessThan(K!.band!.highMgPerL)
    expect(Na!.mgPerL).toBeCloseTo(14, 0)
  })
})
