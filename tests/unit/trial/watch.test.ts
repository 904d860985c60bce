import { beforeAll, describe, expect, it } from 'vitest'
import type { Configuration } from '../../../src/config/configuration.ts'
import { createWatch, type Watch } from '../../../src/trial/watch.ts'
import { NODE, START_MS } from '../../support/loop/bench.ts'
import { quarryLane } from '../../support/loop/site.ts'

const MINUTE_MS = 60_000
let configuration: Configuration

beforeAll(async () => {
  configuration = await quarryLane('automatic')
})

/** A plant whose pumps run as told; 30 mL/min, so 2 s are a millilitre. Caps: 40 mL a shot, 80 an hour, 700 a day. */
function plant() {
  const watch = createWatch(configuration)
  const totals: Record<string, number> = {}
  return {
    watch,
    runs(pump: string, volumeMl: number, minute: number, state: 'done' | 'stopped' | 'accepted' = 'done'): void {
      const ranMs = (volumeMl / 30) * MINUTE_MS
      totals[pump] = (totals[pump] ?? 0) + ranMs
      const report = { id: '1-1', boot: 'a', uptimeMs: 1, state, ranMs, totalRunMs: totals[pump] }
      watch.look(START_MS + minute * MINUTE_MS, NODE, { kind: 'report', pump, message: report })
    },
  }
}
const violationsOf = ({ watch }: { watch: Watch }) =>
  watch.violations.map((text) => text.split(' ').slice(1, 3).join(' '))

describe('the watch over what really ran', () => {
  it('finds nothing in a day within the limits', () => {
    const one = plant()
    for (let hour = 0; hour < 17; hour++) one.runs('pump-3', 40, hour * 60)
    expect(one.watch.violations).toEqual([])
    expect(one.watch.shots).toBe(17)
    expect(one.watch.dosedMl['nitrate']).toBeCloseTo(680, 6)
  })

  it('finds a planted shot that is too large', () => {
    const one = plant()
    one.runs('pump-3', 41, 0)
    expect(violationsOf(one)).toEqual(['nitrate shot:'])
    expect(one.watch.violations[0]).toMatch(/^2026-03-20T05:00.* nitrate shot: 41\.00 mL, allowed 40$/)
  })

  it('finds a planted third shot in an hour, and no fault in one that comes when the first has left the hour', () => {
    const one = plant()
    for (const minute of [0, 30, 60]) one.runs('pump-3', 40, minute)
    expect(violationsOf(one)).toEqual([])
    one.runs('pump-3', 40, 89)
    expect(violationsOf(one)).toEqual(['nitrate hour:'])
  })

  it('finds a planted day', () => {
    const one = plant()
    for (let hour = 0; hour < 18; hour++) one.runs('pump-3', 40, hour * 60)
    expect(violationsOf(one)).toEqual(['nitrate day:'])
  })

  it('finds planted neighbours that must stay apart, either way round', () => {
    const one = plant()
    one.runs('pump-1', 5, 0)
    one.runs('pump-2', 5, 24)
    one.runs('pump-1', 5, 49)
    one.runs('pump-2', 5, 73)
    expect(one.watch.violations.map((text) => text.slice(25))).toEqual([
      'phosphate 24 min after calcium, 25 must pass',
      'phosphate 24 min after calcium, 25 must pass',
    ])
    one.runs('pump-1', 5, 80)
    expect(one.watch.violations.at(-1)).toMatch(/calcium 7 min after phosphate, 25 must pass$/)
  })

  it('believes the totaliser, not the report: a run that was never reported shows in the next one', () => {
    const one = plant()
    one.runs('pump-3', 30, 0, 'accepted')
    one.runs('pump-3', 30, 5)
    expect(violationsOf(one)).toEqual(['nitrate shot:'])
  })

  it('counts what ran before a stop', () => {
    const one = plant()
    one.runs('pump-3', 12, 0, 'stopped')
    expect(one.watch.dosedMl['nitrate']).toBeCloseTo(12, 6)
  })

  it('finds a pump without any limit', () => {
    const { nitrate: _nitrate, ...stocks } = configuration.limits.stocks
    const watch = createWatch({ ...configuration, limits: { ...configuration.limits, stocks } })
    const report = { id: '1-1', boot: 'a', uptimeMs: 1, state: 'done' as const, ranMs: 1000, totalRunMs: 1000 }
    watch.look(START_MS, NODE, { kind: 'report', pump: 'pump-3', message: report })
    expect(watch.violations).toEqual(['nitrate ran without a limit'])
  })
})
