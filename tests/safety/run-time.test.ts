import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { largestUlWithin, possiblyUlOf, runMsOf, surelyUlOf } from '../../src/safety/run-time.ts'

const rates = fc.double({ min: 0.5, max: 20_000, noNaN: true })

describe('the run time of a volume', () => {
  it('never delivers more than was asked, and less by no more than a millisecond', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 5_000_000 }), rates, (volumeUl, rateUlPerS) => {
        const runMs = runMsOf(volumeUl, rateUlPerS)
        expect(possiblyUlOf(runMs, rateUlPerS)).toBeLessThanOrEqual(volumeUl)
        expect(possiblyUlOf(runMs + 1, rateUlPerS)).toBeGreaterThanOrEqual(volumeUl)
        expect(surelyUlOf(runMs, rateUlPerS)).toBeLessThanOrEqual(possiblyUlOf(runMs, rateUlPerS))
      }),
    )
  })

  it('is exact where it comes out even, though the rate has no end: 9.5 mL at 20 mL/min', () => {
    const rateUlPerS = 20_000 / 60
    expect(runMsOf(9500, rateUlPerS)).toBe(28_500)
    expect(surelyUlOf(28_500, rateUlPerS)).toBe(9500)
    expect(possiblyUlOf(28_500, rateUlPerS)).toBe(9500)
  })

  it('is nothing for no run', () => {
    expect(Object.is(possiblyUlOf(0, 500), 0)).toBe(true)
  })
})

describe('the largest volume within a run', () => {
  it('runs no longer, and one microlitre more would', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 600_000 }), rates, (maxRunMs, rateUlPerS) => {
        const volumeUl = largestUlWithin(maxRunMs, rateUlPerS)
        expect(runMsOf(volumeUl, rateUlPerS)).toBeLessThanOrEqual(maxRunMs)
        expect(runMsOf(volumeUl + 1, rateUlPerS)).toBeGreaterThan(maxRunMs)
      }),
    )
  })

  it('comes out even where it can: 500 µL in a second at 30 mL/min', () => {
    expect(largestUlWithin(1, 1000)).toBe(1)
    expect(largestUlWithin(1000, 500)).toBe(500)
  })

  it.each([
    [Number.NaN, 500],
    [0, 500],
    [0, 5000],
    [0.5, 500],
    [1000, Number.NaN],
    [1000, 0],
    [1000, -500],
    [1000, Infinity],
    [-1000, -500],
    [Number.MAX_SAFE_INTEGER, 20_000],
    [120_000, 1e15],
  ])('is nothing for a run of %s ms at %s µL/s', (maxRunMs, rateUlPerS) => {
    expect(largestUlWithin(maxRunMs, rateUlPerS)).toBe(0)
  })
})
