import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { AIM, HIGH, LOW, placeOf } from '../../../src/page/parts/channel-place.ts'

const BAND = { lowMgPerL: 150, aimMgPerL: 200, highMgPerL: 300 }

describe('the place of a value in its channel', () => {
  it('stands on the banks and the aim at their values, whatever the band', () => {
    expect([150, 200, 300].map((mgPerL) => placeOf(mgPerL, BAND))).toEqual([LOW, AIM, HIGH])
  })

  it('goes straight between aim and each bank, though the sides are not alike', () => {
    expect(placeOf(175, BAND)).toBeCloseTo((LOW + AIM) / 2)
    expect(placeOf(250, BAND)).toBeCloseTo((AIM + HIGH) / 2)
  })

  it('goes on beyond a bank, and stays on the drawing', () => {
    expect(placeOf(140, BAND)).toBeLessThan(LOW)
    expect(placeOf(0, BAND)).toBe(2)
    expect(placeOf(5000, BAND)).toBe(98)
  })

  it('never puts more to the left of less', () => {
    const mgPerL = fc.double({ min: 0, max: 1000, noNaN: true })
    fc.assert(
      fc.property(mgPerL, mgPerL, (one, other) => {
        expect(placeOf(Math.min(one, other), BAND)).toBeLessThanOrEqual(placeOf(Math.max(one, other), BAND))
      }),
    )
  })

  it('is on the drawing also where a band has no width below its aim', () => {
    const flat = { lowMgPerL: 0, aimMgPerL: 0, highMgPerL: 50 }
    expect(placeOf(0, flat)).toBe(AIM)
    expect(placeOf(25, flat)).toBeCloseTo((AIM + HIGH) / 2)
  })
})
