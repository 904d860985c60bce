import { describe, expect, it } from 'vitest'
import { fieldMoment, tellDistance, tellMoment, tellSpan } from '../../../src/page/data/moment.ts'

const MINUTE_MS = 60_000
const HOUR_MS = 60 * MINUTE_MS
const DAY_MS = 24 * HOUR_MS
const NOON_MS = new Date(2026, 2, 24, 12).getTime()

describe('a moment for people', () => {
  it('is the clock alone on the same day, and has its day before it on another', () => {
    expect(tellMoment(NOON_MS - 90 * MINUTE_MS, NOON_MS)).toBe('10:30')
    expect(tellMoment(NOON_MS - DAY_MS, NOON_MS)).toMatch(/23.*12:00$/)
  })

  it('is told by its distance in the unit a person would use', () => {
    expect([20_000, 12 * MINUTE_MS, 3 * HOUR_MS, 9 * DAY_MS].map(tellSpan)).toEqual([
      'under a minute',
      '12 min',
      '3 h',
      '9 days',
    ])
    expect(tellDistance(NOON_MS - 3 * HOUR_MS, NOON_MS)).toBe('3 h ago')
    expect(tellDistance(NOON_MS + 3 * HOUR_MS, NOON_MS)).toBe('in 3 h')
  })

  it('goes into a field and comes back as the same minute', () => {
    expect(new Date(fieldMoment(NOON_MS)).getTime()).toBe(NOON_MS)
  })
})
