import { describe, expect, it } from 'vitest'
import { type Dosable, findDosables } from '../../../../src/core/plan/dosable.ts'
import { layShots } from '../../../../src/core/plan/shot-layout.ts'
import { toShots } from '../../../../src/core/plan/shot-volume.ts'
import { AT_MS, benchInput, HOUR_MS, MINUTE_MS, withHeadroom } from './plan-fixture.ts'

const stockOf = (id: string, input = benchInput()): Dosable =>
  findDosables(input).find(({ settings }) => settings.id === id)!

describe('a dose becomes shots', () => {
  const nitrate = stockOf('nitrate')

  it.each([
    ['a dose below the smallest shot is left', 999, [], 999],
    ['the smallest shot is one shot', 1000, [1000], 0],
    ['the largest shot is one shot', 40_000, [40_000], 0],
    ['a microlitre more is two', 40_001, [20_001, 20_000], 0],
    ['fractions of a microlitre are dropped', 1500.9, [1500], 0],
    ['three shots take up the odd microlitres', 100_001, [33_334, 33_334, 33_333], 0],
    ['nothing is nothing', 0, [], 0],
  ])('%s', (_, volumeUl, shotsUl, leftUl) => {
    expect(toShots(volumeUl, nitrate)).toEqual({ shotsUl, leftUl })
  })

  it('gives one full shot and leaves the rest where two would each be too small', () => {
    const narrow = { ...nitrate, shotMinUl: 30_000 }
    expect(toShots(50_000, narrow)).toEqual({ shotsUl: [40_000], leftUl: 10_000 })
  })
})

describe('shots are laid out', () => {
  const lay = (doses: Record<string, number[]>, acidFirst = false, input = benchInput()) => {
    const batches = Object.entries(doses).map(([id, shotsUl]) => ({ dosable: stockOf(id, input), shotsUl }))
    const layout = layShots({ atMs: AT_MS, untilMs: AT_MS + HOUR_MS, waits: input.waits, acidFirst, batches })
    return {
      ...layout,
      minutes: layout.shots.map(({ stock, notBeforeMs }) => [stock, Math.floor((notBeforeMs - AT_MS) / MINUTE_MS)]),
    }
  }

  it('calcium first, then a wait, then phosphate; potassium nitrate fits between', () => {
    // 30 mL at 30 mL/min run a minute.
    expect(lay({ nitrate: [30_000], phosphate: [30_000], calcium: [30_000] }).minutes).toEqual([
      ['calcium', 0],
      ['nitrate', 1],
      ['phosphate', 21],
    ])
  })

  it('acid before calcium and phosphate when pH is above its band', () => {
    expect(lay({ calcium: [30_000], acid: [3000] }, true).minutes).toEqual([
      ['acid', 0],
      ['calcium', 5],
    ])
    expect(lay({ calcium: [30_000], acid: [3000] }, false).minutes).toEqual([
      ['calcium', 0],
      ['acid', 6],
    ])
  })

  it('two shots of acid a full mixing apart, spread over the interval as the make-up water is', () => {
    const { shots } = lay({ acid: [8000, 8000] })
    expect((shots[1]!.notBeforeMs - shots[0]!.notBeforeMs) / MINUTE_MS).toBeGreaterThanOrEqual(25)
    expect((shots[1]!.notBeforeMs - AT_MS) / MINUTE_MS).toBe(30)
  })

  it('two shots of one stock by its own gap after the first has ended', () => {
    expect(lay({ calcium: [30_000, 30_000, 30_000] }).minutes).toEqual([
      ['calcium', 0],
      ['calcium', 6],
      ['calcium', 12],
    ])
  })

  it('not before the headroom allows', () => {
    const input = withHeadroom(benchInput(), 'calcium', { notBeforeMs: AT_MS + 10 * MINUTE_MS })
    expect(lay({ calcium: [30_000] }, false, input).minutes).toEqual([['calcium', 10]])
  })

  it('a shot that would end after the interval is dropped and counted', () => {
    const input = withHeadroom(benchInput(), 'phosphate', { notBeforeMs: AT_MS + 58 * MINUTE_MS })
    const layout = lay({ phosphate: [30_000, 20_000] }, false, input)
    expect(layout.shots).toHaveLength(1)
    expect([...layout.dropped]).toEqual([['phosphate', 20_000]])
  })

  it('nothing when a wait is without end', () => {
    const waits = { mixingMs: 0, apartMs: () => Infinity }
    const layout = lay({ calcium: [30_000], phosphate: [30_000] }, false, { ...benchInput(), waits })
    expect(layout.minutes).toEqual([['calcium', 0]])
  })
})
