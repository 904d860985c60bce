/** When it is light, in the site’s own day. */

import type { PhotoperiodSettings } from '../settings.ts'

const MINUTE_MS = 60_000
const DAY_MS = 86_400_000

/**
 * Share of a stretch of time that is lit, 0 to 1.
 *
 * @param utcOffsetMin minutes east of UTC; the photoperiod is told in local time
 */
export function litShareBetween(
  photoperiod: PhotoperiodSettings,
  utcOffsetMin: number,
  fromMs: number,
  untilMs: number,
): number {
  if (!(untilMs > fromMs)) return 0
  const shift = utcOffsetMin * MINUTE_MS
  return (litBefore(photoperiod, untilMs + shift) - litBefore(photoperiod, fromMs + shift)) / (untilMs - fromMs)
}

/** Lit time since the local epoch; differences of it are lit time between two moments. */
function litBefore(photoperiod: PhotoperiodSettings, localMs: number): number {
  const litFromMs = photoperiod.litFromMin * MINUTE_MS
  const litUntilMs = photoperiod.litUntilMin * MINUTE_MS
  const day = Math.floor(localMs / DAY_MS)
  const inDayMs = localMs - day * DAY_MS
  const litToday = Math.min(Math.max(inDayMs - litFromMs, 0), litUntilMs - litFromMs)
  return day * (litUntilMs - litFromMs) + litToday
}
