import { describe, expect, it } from 'vitest'
import { lookAtWater, type WaterWatch, waterLossLPerH } from '../../../../src/core/alarm/water-watch.ts'
import { MINUTE_MS } from './alarm-bench.ts'

/** Minutes of a tank that loses so much an hour, with a valve that makes up every 2 L where there is one. */
function afterAnHour(lossLPerH: number, hasMakeUp: boolean): number | undefined {
  let watch: WaterWatch = []
  let levelL = 200
  let meterL = 500
  for (let minute = 0; minute <= 90; minute++) {
    levelL -= lossLPerH / 60
    if (hasMakeUp && levelL < 198) {
      meterL += 200 - levelL
      levelL = 200
    }
    watch = lookAtWater(watch, { atMs: minute * MINUTE_MS, levelL, meterL, isFlowing: true })
  }
  return waterLossLPerH(watch)
}

describe('water that leaves', () => {
  it.each([
    [1.6, true],
    [1.6, false],
    [20, true],
    [20, false],
  ])('%d L an hour is seen, made up or not (%s)', (lossLPerH, hasMakeUp) => {
    expect(afterAnHour(lossLPerH, hasMakeUp)).toBeCloseTo(lossLPerH, 6)
  })

  it('is not told in the first half hour, nor across a stop of the circulation, when film drains back and fills again', () => {
    let watch: WaterWatch = []
    const look = (minute: number, levelL: number, isFlowing: boolean) => {
      watch = lookAtWater(watch, { atMs: minute * MINUTE_MS, levelL, meterL: 0, isFlowing })
    }
    for (let minute = 0; minute < 25; minute += 5) look(minute, 212, true)
    expect(waterLossLPerH(watch)).toBeUndefined()
    look(25, 212, false)
    for (let minute = 30; minute < 55; minute += 5) look(minute, 200, true)
    expect(waterLossLPerH(watch)).toBeUndefined()
    for (let minute = 55; minute < 70; minute += 5) look(minute, 200, true)
    expect(waterLossLPerH(watch)).toBeCloseTo(0, 9)
  })

  it('begins anew where the meter was changed for one that counts from nothing', () => {
    let watch: WaterWatch = []
    for (let minute = 0; minute < 60; minute += 5)
      watch = lookAtWater(watch, {
        atMs: minute * MINUTE_MS,
        levelL: 200,
        meterL: minute < 30 ? 900 : 1,
        isFlowing: true,
      })
    expect(watch).toHaveLength(6)
  })
})
