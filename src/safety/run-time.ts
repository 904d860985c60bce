import { isPositive } from './limits.ts'

/**
 * Between microlitres and the milliseconds a pump runs. Rounding errors of the division itself are far below these
 * two, and these two far below anything a pump can do.
 */
const SLACK_MS = 1e-7
const SLACK_UL = 1e-5

/** Run time for a volume, rounded down to whole milliseconds, so that a shot never delivers more than was judged. */
export function runMsOf(volumeUl: number, rateUlPerS: number): number {
  return Math.floor((volumeUl * 1000) / rateUlPerS + SLACK_MS)
}

/** Volume that surely came of a run, whole microlitres. */
export function surelyUlOf(runMs: number, rateUlPerS: number): number {
  return Math.floor((runMs * rateUlPerS) / 1000 + SLACK_UL)
}

/** Volume that may have come of a run, whole microlitres. */
export function possiblyUlOf(runMs: number, rateUlPerS: number): number {
  return Math.max(0, Math.ceil((runMs * rateUlPerS) / 1000 - SLACK_UL))
}

/** Largest whole volume whose run time is not above `maxRunMs`; 0 where there is none, or a node says it may run for ever. */
export function largestUlWithin(maxRunMs: number, rateUlPerS: number): number {
  if (!(maxRunMs >= 1 && isPositive(rateUlPerS))) return 0
  let volumeUl = Math.ceil(((maxRunMs + 1) * rateUlPerS) / 1000)
  // Past what a number tells to the last unit, one less is the same: looking for less would never end.
  if (!Number.isSafeInteger(volumeUl)) return 0
  while (runMsOf(volumeUl, rateUlPerS) > maxRunMs) volumeUl -= 1
  return volumeUl
}
