import { describe, expect, test } from 'vitest'
import { localMidnightMs, zoneOffsetMs } from '../../../src/config/local-midnight.ts'

const HOUR_MS = 3_600_000

describe('the first moment of a local day', () => {
  test.each([
    ['2026-03-02', 'Etc/UTC', '2026-03-02T00:00:00Z'],
    ['2026-07-01', 'Europe/Lisbon', '2026-06-30T23:00:00Z'],
    ['2026-07-01', 'America/Denver', '2026-07-01T06:00:00Z'],
    ['2026-07-01', 'Asia/Kathmandu', '2026-06-30T18:15:00Z'],
    // clocks in Lisbon go forward at 01:00 on 29 March 2026, so that day still begins at UTC midnight
    ['2026-03-29', 'Europe/Lisbon', '2026-03-29T00:00:00Z'],
    ['2026-03-30', 'Europe/Lisbon', '2026-03-29T23:00:00Z'],
  ])('%s in %s is %s', (day, zone, expected) => {
    expect(new Date(localMidnightMs(day, zone)).toISOString()).toBe(expected.replace('Z', '.000Z'))
  })

  test('an offset is hours ahead of UTC', () => {
    expect(zoneOffsetMs(Date.UTC(2026, 6, 1), 'Europe/Lisbon')).toBe(HOUR_MS)
    expect(zoneOffsetMs(Date.UTC(2026, 6, 1), 'America/Denver')).toBe(-6 * HOUR_MS)
  })
})
