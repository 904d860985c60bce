/** Times for people, in the zone and language of this browser. */

const MINUTE_MS = 60_000
const HOUR_MS = 60 * MINUTE_MS
const DAY_MS = 24 * HOUR_MS

const CLOCK = new Intl.DateTimeFormat(undefined, { hour: '2-digit', minute: '2-digit', hourCycle: 'h23' })
const SHORT_DAY = new Intl.DateTimeFormat(undefined, { day: 'numeric', month: 'short' })
const DAY = new Intl.DateTimeFormat(undefined, { weekday: 'short', day: 'numeric', month: 'short' })

/** `14:30`. */
export function tellClock(atMs: number): string {
  return CLOCK.format(atMs)
}

/** `24 Mar`. */
export function tellDay(atMs: number): string {
  return SHORT_DAY.format(atMs)
}

/** `14:30` on the same day, else the day before it. */
export function tellMoment(atMs: number, nowMs: number): string {
  const at = new Date(atMs)
  const clock = CLOCK.format(at)
  return at.toDateString() === new Date(nowMs).toDateString() ? clock : `${DAY.format(at)} ${clock}`
}

/** `just now`, `12 min`, `3 h`, `9 days`. */
export function tellSpan(spanMs: number): string {
  const size = Math.abs(spanMs)
  if (size < MINUTE_MS) return 'under a minute'
  if (size < 2 * HOUR_MS) return `${Math.round(size / MINUTE_MS)} min`
  if (size < 2 * DAY_MS) return `${Math.round(size / HOUR_MS)} h`
  return `${Math.round(size / DAY_MS)} days`
}

/** `12 min ago` or `in 3 h`. */
export function tellDistance(atMs: number, nowMs: number): string {
  const span = tellSpan(atMs - nowMs)
  return atMs <= nowMs ? `${span} ago` : `in ${span}`
}

/** For a `datetime-local` field. */
export function fieldMoment(atMs: number): string {
  const at = new Date(atMs)
  return new Date(atMs - at.getTimezoneOffset() * MINUTE_MS).toISOString().slice(0, 16)
}
