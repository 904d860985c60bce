import { describe, expect, it } from 'vitest'
import { utcOffsetMinutes } from '../../../src/shell/zone.ts'

/** Offsets as the IANA time zone database has them (https://www.iana.org/time-zones). */
const OFFSETS: readonly [zone: string, at: string, minutes: number][] = [
  ['UTC', '2026-03-02T06:00:00Z', 0],
  ['Europe/Lisbon', '2026-03-29T00:59:59Z', 0],
  ['Europe/Lisbon', '2026-03-29T01:00:00Z', 60],
  ['Asia/Kathmandu', '2026-03-02T06:00:00Z', 345],
  ['America/St_Johns', '2026-01-15T12:00:00Z', -210],
  ['America/St_Johns', '2026-07-15T12:00:00Z', -150],
  ['Pacific/Kiritimati', '2026-03-02T06:00:00Z', 840],
]

describe('a named zone', () => {
  it.each(OFFSETS)('%s at %s is %i minutes east of UTC', (zone, at, minutes) => {
    expect(utcOffsetMinutes(zone, Date.parse(at))).toBe(minutes)
  })

  it('that nobody has named is a fault: the configuration lets none through', () => {
    expect(() => utcOffsetMinutes('Quarry/Lane', 0)).toThrow(RangeError)
  })
})
