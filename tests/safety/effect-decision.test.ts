import { describe, expect, it } from 'vitest'
import { decide, withSeen } from '../../src/safety/effect-test.ts'
import { EFFECT } from './effect-bench.ts'

/** With these risks a verdict takes a ratio of 13.8055 to trip and of −4.6052 to verify. */
const LIMITS = { ...EFFECT, falseTripRisk: 1e-6, missRisk: 0.01, tolerance: 0.2 }
/** Here both are 0, so that the very edge can be met. */
const EVEN = { ...LIMITS, falseTripRisk: 0.5, missRisk: 0.5 }
/** Figures of this tolerance are exact in binary. */
const QUARTER = { ...LIMITS, tolerance: 0.25 }

const of = (information: number, agreement: number, against = 2) => ({ information, agreement, against })
const wrong = (what: string) => ({ decision: 'wrong', wrong: what })
const UNDECIDED = { decision: 'undecided' }
const DECLARED = { decision: 'as-declared' }
const UNSEEN = { decision: 'unseen' }

describe('the test of a response', () => {
  it('trips for the likeliest wrong one, from the declared risk on', () => {
    // nothing seen: 0.32 A against 0.8 of the declared response
    expect(decide(LIMITS, of(43.15, 0), false)).toEqual(wrong('none'))
    expect(decide(LIMITS, of(43.14, 0), false)).toEqual(UNDECIDED)
    // half: A / 2 − (0.4 A − 0.32 A) − A / 8
    expect(decide(LIMITS, of(400, 200), false)).toEqual(wrong('too-little'))
    expect(decide(LIMITS, of(400, 800), false)).toEqual(wrong('too-much'))
    expect(decide(LIMITS, of(400, -400), false)).toEqual(wrong('opposite'))
  })

  it('takes the first of two that are as likely', () => {
    expect(decide(LIMITS, of(200, 50), false)).toEqual(wrong('none'))
  })

  it('never trips for one contrast alone, however clear', () => {
    expect(decide(LIMITS, of(1e6, 0, 1), false)).toEqual(UNDECIDED)
    expect(decide(LIMITS, of(1e6, 0, 2), false)).toEqual(wrong('none'))
  })

  it('verifies from the declared risk on: an eighth of A against half the response', () => {
    expect(decide(LIMITS, of(36.85, 36.85), false)).toEqual(DECLARED)
    expect(decide(LIMITS, of(36.84, 36.84), false)).toEqual(UNDECIDED)
    // at either end of the tolerance as well
    for (const share of [0.8, 1, 1.2]) expect(decide(LIMITS, of(4000, 4000 * share), false)).toEqual(DECLARED)
  })

  it('at the very edge trips where it may, and verifies where it may not', () => {
    // 0.75 and 0.5 of the declared response are equally likely at 0.625 of it
    const even = { ...EVEN, tolerance: 0.25 }
    expect(decide(even, of(32, 20), false)).toEqual(wrong('too-little'))
    expect(decide(even, of(32, 20, 1), false)).toEqual(DECLARED)
    expect(decide(EVEN, of(0, 0), false)).toEqual(wrong('none'))
  })

  it('is cut off where no other shot has room: unseen below half of what a decision takes', () => {
    expect(decide(LIMITS, of(18.43, 18.43), true)).toEqual(DECLARED)
    expect(decide(LIMITS, of(18.41, 18.41), true)).toEqual(UNSEEN)
    expect(decide(LIMITS, of(Number.NaN, 1), true)).toEqual(UNSEEN)
    expect(decide(LIMITS, of(0, 0, 0), true)).toEqual(UNSEEN)
    expect(decide(LIMITS, of(0, 0, 0), false)).toEqual(UNDECIDED)
  })

  it('cut off at the very half of what a decision takes is seen', () => {
    // 0 of 0: with these risks nothing is needed
    expect(decide(EVEN, of(0, 5, 0), true)).toEqual(wrong('too-much'))
  })

  it('cut off takes the likelier side, and the wrong one where both are as likely', () => {
    expect(decide(LIMITS, of(20, 12, 0), true)).toEqual(wrong('too-little'))
    expect(decide(LIMITS, of(20, 14, 0), true)).toEqual(DECLARED)
    expect(decide(QUARTER, of(32, 20, 0), true)).toEqual(wrong('too-little'))
    expect(decide(QUARTER, of(32, 21, 0), true)).toEqual(DECLARED)
  })
})

describe('one contrast more', () => {
  const seen = (seenDsPerM: number) => ({ expectedDsPerM: 0.02, seenDsPerM, sdDsPerM: 0.005 })

  it('adds what it says to what was known', () => {
    const next = withSeen(LIMITS, of(100, 90, 1), seen(0.03))
    expect(next.information).toBeCloseTo(116, 9)
    expect(next.agreement).toBeCloseTo(114, 9)
  })

  it.each([
    [0, 2],
    [0.01, 2],
    [0.04, 2],
    [-0.02, 2],
    [0.016, 0],
    [0.02, 0],
    [0.024, 0],
  ])('of %s dS/m where 0.02 was declared counts as one against it, or ends the row: %s', (seenDsPerM, against) => {
    expect(withSeen(LIMITS, of(1000, 1000, 1), seen(seenDsPerM)).against).toBe(against)
    expect(withSeen(LIMITS, of(1000, 0, 1), seen(seenDsPerM)).against).toBe(against)
  })

  it('that speaks for both alike is none against', () => {
    const even = { expectedDsPerM: 8, seenDsPerM: 5, sdDsPerM: 1 }
    expect(withSeen(QUARTER, of(0, 0, 3), even).against).toBe(0)
  })
})
