import { describe, expect, it } from 'vitest'
import { litShareBetween } from '../../../../src/core/sense/photoperiod.ts'

const sixToTen = { litFromMin: 360, litUntilMin: 1320, darkWaterShare: 0.1, darkGrowthShare: 0.37 }
const at = (time: string) => Date.parse(`2026-03-20T${time}:00Z`)
const share = (from: string, until: string, offsetMin = 0) => litShareBetween(sixToTen, offsetMin, at(from), at(until))

describe('light of a photoperiod from 06:00 to 22:00', () => {
  it('covers two thirds of a day, whenever the day is begun', () => {
    expect(share('00:00', '23:59') * (1439 / 1440)).toBeCloseTo(2 / 3, 9)
    expect(litShareBetween(sixToTen, 0, at('13:07'), at('13:07') + 86_400_000)).toBeCloseTo(2 / 3, 12)
  })

  it('covers noon, no midnight, and the part of a step on whose edge it comes', () => {
    expect(share('12:00', '12:10')).toBe(1)
    expect(share('02:00', '02:10')).toBe(0)
    expect(share('05:57', '06:07')).toBeCloseTo(0.7, 12)
    expect(share('21:58', '22:08')).toBeCloseTo(0.2, 12)
  })

  it('is told in local time: an hour east of Greenwich it comes at 05:00 UTC', () => {
    expect(share('05:00', '05:10', 60)).toBe(1)
    expect(share('05:00', '05:10')).toBe(0)
    expect(share('23:00', '23:10', -120)).toBe(1)
  })

  it('of no time at all is none', () => {
    expect(share('12:00', '12:00')).toBe(0)
  })
})
