import { describe, expect, it } from 'vitest'
import { makeUpWithinL, NO_MAKE_UP, takeMeter } from '../../src/safety/make-up.ts'
import { DAY, HOUR, MINUTE } from './bench.ts'

const METER = { id: 'meter-1', node: 'bench', maxLPerMin: 4 }
const SPAN = 5 * MINUTE

/** A counter that was read like this: minute and litres. */
function read(...readings: readonly (readonly [min: number, counterL: number, isGood?: boolean])[]) {
  return readings.reduce(
    (makeUp, [min, counterL, isGood = true]) => takeMeter(METER, makeUp, { counterL, isGood, atMs: min * MINUTE }),
    NO_MAKE_UP,
  )
}

describe('make-up water by its counter', () => {
  it('begins at the first reading, which credits nothing', () => {
    expect(read([0, 7])).toEqual({ last: { counterL: 7, atMs: 0 }, sumL: 0, marks: [{ atMs: 0, sumL: 0 }] })
  })

  it('credits what the counter grew', () => {
    expect(read([0, 7], [1, 9]).sumL).toBe(2)
  })

  it('credits no more than the valve can bring in the time', () => {
    expect(read([0, 7], [1, 100]).sumL).toBe(4)
  })

  it('begins anew at a counter of 0 and at one that fell, and credits nothing for the fall', () => {
    expect(read([0, 7], [1, 9], [2, 0])).toMatchObject({ sumL: 2, last: { counterL: 0, atMs: 2 * MINUTE } })
    expect(read([0, 7], [1, 9], [2, 0], [3, 1]).sumL).toBe(3)
  })

  it.each([
    ['is no number', 1, Number.NaN],
    ['is negative', 1, -1],
    ['has no end', 1, Number.POSITIVE_INFINITY],
    ['came at the same moment', 0, 8],
    ['came from before', -1, 8],
  ])('is not moved by a reading that %s', (_what, min, counterL) => {
    const before = read([0, 7])
    expect(takeMeter(METER, before, { counterL, isGood: true, atMs: min * MINUTE })).toBe(before)
  })

  it('is not moved by a reading that is not good', () => {
    expect(read([0, 7], [1, 9, false])).toEqual(read([0, 7]))
  })

  it('credits nothing where the limits do not say what the valve can bring, or say less than nothing', () => {
    for (const maxLPerMin of [Number.NaN, -4]) {
      const meter = { ...METER, maxLPerMin }
      expect(takeMeter(meter, read([0, 7]), { counterL: 9, isGood: true, atMs: MINUTE }).sumL).toBe(0)
    }
  })

  it('marks its sum every five minutes and not sooner', () => {
    const marks = read([0, 7], [4, 8], [4.5, 9], [5, 10], [9, 11], [10, 12]).marks
    expect(marks).toEqual([
      { atMs: 0, sumL: 0 },
      { atMs: SPAN, sumL: 3 },
      { atMs: 2 * SPAN, sumL: 5 },
    ])
  })

  it('keeps the marks of a day to the millisecond', () => {
    const dayMin = DAY / MINUTE
    expect(read([0, 7], [dayMin, 8]).marks).toHaveLength(2)
    expect(read([0, 7], [dayMin + 1 / MINUTE, 8]).marks).toEqual([{ atMs: DAY + 1, sumL: 1 }])
  })

  it('came in a window from the first mark inside it, at its very edge too', () => {
    const makeUp = read([0, 7], [60, 9])
    expect(makeUpWithinL(makeUp, HOUR, HOUR)).toBe(2)
    expect(makeUpWithinL(makeUp, HOUR + 1, HOUR)).toBe(0)
    expect(makeUpWithinL(NO_MAKE_UP, HOUR, HOUR)).toBe(0)
  })
})
