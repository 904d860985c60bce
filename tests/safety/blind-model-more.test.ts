import { describe, expect, it } from 'vitest'
import { askMany, tellDifference } from './blind-model/compare.ts'
import { ROW_NAMES } from './blind-model/rows.ts'

/** `npm run campaign -- gate 10000000` asks more. As many more are asked in the other file. */
const WISHES = 500_000
/** Every row must have decided at least this often, else the comparison would say nothing of it. */
const ALONE_MIN = 1

describe('the dosing gate and a model of it that was written from its rules alone', () => {
  it('answer another half million wishes alike, and every interlock was the only one to refuse some', {
    timeout: 900_000,
  }, () => {
    const tally = askMany(1_000_001, WISHES)
    expect(tally.differences.map(tellDifference)).toEqual([])
    expect(tally.asked).toBeGreaterThanOrEqual(WISHES)
    expect(tally.permitted).toBeGreaterThan(WISHES / 8)
    const seldom = ROW_NAMES.filter((row) => (tally.alone.get(row) ?? 0) < ALONE_MIN)
    expect(seldom).toEqual([])
  })
})
