/** Days of a site’s calendar as moments. */

/**
 * The first moment of a local day, epoch ms. Where clocks jump over midnight it is the moment of the jump, within an
 * hour.
 *
 * @param day a calendar day such as 2026-03-02
 * @param zone a time zone that Intl knows
 */
export function localMidnightMs(day: string, zone: string): number {
  const asUtc = Date.parse(`${day}T00:00:00Z`)
  if (Number.isNaN(asUtc)) throw new Error(`${day} is not a day of the calendar`)
  const first = asUtc - zoneOffsetMs(asUtc, zone)
  return asUtc - zoneOffsetMs(first, zone)
}

/** How far a zone is ahead of UTC at a moment, ms. */
export function zoneOffsetMs(atMs: number, zone: string): number {
  const format = new Intl.DateTimeFormat('en-US', {
    timeZone: zone,
    hourCycle: 'h23',
    year: 'numeric',
    month: '2-digit',
    day: '2-digit',
    hour: '2-digit',
    minute: '2-digit',
    second: '2-digit',
  })
  const parts = Object.fromEntries(format.formatToParts(atMs).map(({ type, value }) => [type, Number(value)]))
  const { year, month, day, hour, minute, second } = parts as Record<string, number>
  const wholeSecondMs = Math.floor(atMs / 1000) * 1000
  return Date.UTC(year!, month! - 1, day!, hour!, minute!, second!) - wholeSecondMs
}
