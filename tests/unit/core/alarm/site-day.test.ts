import { describe, expect, it } from 'vitest'
import { siteDay } from '../../../../src/core/alarm/site-day.ts'

const DAY_MS = 86_400_000

describe('the day of a moment at the site', () => {
  it('is that of the calendar of the platform, for every day of 130 years', () => {
    const firstMs = Date.UTC(1970, 0, 1)
    for (let day = 0; day < 130 * 366; day++) {
      const atMs = firstMs + day * DAY_MS + DAY_MS / 3
      const told = siteDay(atMs, 0)
      if (told !== new Date(atMs).toISOString().slice(0, 10)) expect(told).toBe(new Date(atMs).toISOString())
    }
  })

  it('begins at the site’s own midnight', () => {
    const atMs = Date.UTC(2028, 1, 28, 23, 30)
    expect(siteDay(atMs, 0)).toBe('2028-02-28')
    expect(siteDay(atMs, 30)).toBe('2028-02-29')
    expect(siteDay(atMs, -24 * 60)).toBe('2028-02-27')
  })
})
