import { beforeAll, describe, expect, it } from 'vitest'
import { ELEMENT_INDEX } from '../../../../src/chemistry/element.ts'
import { levelsOf } from '../../../../src/core/estimate/summary.ts'
import { benchBands } from '../../../../src/core/plan/bands.ts'
import { forecastNext } from '../../../../src/core/plan/forecast.ts'
import { firstToRunOut, runningOutText, siteTime } from '../../../../src/core/plan/running-out.ts'
import { HOUR_MS, LoopBench } from '../../../support/loop/bench.ts'
import { quarryLane } from '../../../support/loop/site.ts'

let bench: LoopBench
beforeAll(async () => {
  bench = new LoopBench(await quarryLane('automatic'))
  bench.start()
  bench.minutes(30)
})

describe('what runs out first', () => {
  it('is below its low edge just after the hour that was told, and nothing was before', () => {
    const { settings, state } = bench
    const core = state.core!
    const told = firstToRunOut(settings.core, core, state.atMs)!
    const lows = benchBands(settings.core, core.cohorts, state.atMs).elements.map(({ low }) => low)
    const { mmolPerL, volumeL } = levelsOf(core.history.filter)
    const path = mmolPerL.slice()
    const walk = (fromMs: number, untilMs: number): number[] => {
      const flow = forecastNext(settings.core, core.cohorts, core.history.filter, { fromMs, untilMs, utcOffsetMin: 0 })
      for (let at = 0; at < path.length; at++) path[at]! += (flow.makeUpMmol[at]! - flow.uptakeMmol[at]!) / volumeL
      return lows.flatMap((low, at) => (low > 0 && path[at]! < low ? [at] : []))
    }
    let atMs = state.atMs
    let short: number[] = []
    for (; short.length === 0 && atMs < state.atMs + 15 * 24 * HOUR_MS; atMs += HOUR_MS)
      short = walk(atMs, atMs + HOUR_MS)
    expect(short).toContain(ELEMENT_INDEX[told.element])
    expect(Math.abs(told.atMs - atMs)).toBeLessThan(4 * HOUR_MS)
    expect(told.earliestMs).toBeLessThanOrEqual(told.atMs)
  })

  it('stands in the status of a held site with its day and hour in the site’s own time', () => {
    bench.instruct({ instruction: 'hold' })
    const { standstill } = bench.state
    expect(standstill).toMatchObject({ why: 'on hold by Ines', sinceMs: bench.nowMs })
    expect(runningOutText(standstill!.runsOut, bench.nowMs, 60)).toMatch(
      /^[\w-]+ reaches its low edge first, in [\d.]+ (h|days) \((Mon|Tue|Wed|Thu|Fri|Sat|Sun) \d\d:\d\d/,
    )
    bench.instruct({ instruction: 'release' })
    expect(bench.state.standstill).toBeNull()
  })

  it('is told in the site’s weekday and hour', () => {
    expect(siteTime(Date.parse('2026-03-19T17:00:00Z'), 60)).toBe('Thu 18:00')
    expect(siteTime(Date.parse('2026-03-19T23:30:00Z'), 60)).toBe('Fri 00:30')
  })
})
