/** What a hold costs: which element reaches the low edge of its band first while nothing is dosed, and when. */

import { ELEMENTS, type ElementName } from '../../chemistry/element.ts'
import { levelsOf } from '../estimate/summary.ts'
import type { CoreSettings } from '../settings.ts'
import type { CoreState } from '../state.ts'
import { benchBands } from './bands.ts'
import { forecastNext } from './forecast.ts'
import { milligrams, spoken } from './wording.ts'

const HOUR_MS = 3_600_000
const DAY_MS = 86_400_000
/** Long enough to follow day and night, short enough that a fortnight is some hundred steps. */
const STEP_MS = 3 * HOUR_MS
const HORIZON_MS = 14 * DAY_MS
/** One-sided 95 % of a normal distribution. */
const CAUTIOUS_SDS = 1.645

export interface RunningOut {
  readonly element: ElementName
  /** when it is believed to reach its low edge; now where it is below already */
  readonly atMs: number
  /** when it may do so at the earliest, at one chance in twenty */
  readonly earliestMs: number
  readonly mmolPerL: number
  readonly lowMmolPerL: number
}

/**
 * The element that reaches its low edge first from `atMs` on if nothing is dosed, with uptake and make-up as forecast
 * (water replaced as it is drunk).
 *
 * @returns null where none does within 14 days
 */
export function firstToRunOut(settings: CoreSettings, state: CoreState, atMs: number): RunningOut | null {
  const { filter } = state.history
  const levels = levelsOf(filter)
  const lows = benchBands(settings, state.cohorts, atMs).elements.map(({ low }) => low)
  const path = levels.mmolPerL.slice()
  const when = lows.map((low, at) => ({ atMs: low > 0 && path[at]! < low ? atMs : Infinity, earliestMs: Infinity }))
  const isWatched = lows.map((low) => low > 0)
  for (let at = 0; at < lows.length; at++)
    if (isWatched[at] && cautious(levels, path, at) < lows[at]!) when[at]!.earliestMs = atMs
  for (let fromMs = atMs; fromMs < atMs + HORIZON_MS && !when.some((one) => one.atMs < Infinity); fromMs += STEP_MS) {
    const interval = { fromMs, untilMs: fromMs + STEP_MS, utcOffsetMin: state.utcOffsetMin }
    const { uptakeMmol, makeUpMmol } = forecastNext(settings, state.cohorts, filter, interval)
    for (let at = 0; at < lows.length; at++) {
      const before = path[at]!
      path[at] = Math.max(0, before + (makeUpMmol[at]! - uptakeMmol[at]!) / levels.volumeL)
      if (!isWatched[at]) continue
      const fell = before - path[at]!
      const reach = (edge: number): number => fromMs + (fell > 0 ? STEP_MS * Math.max(0, (before - edge) / fell) : 0)
      if (path[at]! < lows[at]!) when[at]!.atMs = Math.min(when[at]!.atMs, reach(lows[at]!))
      const edge = lows[at]! + CAUTIOUS_SDS * levels.sdMmolPerL[at]!
      if (path[at]! < edge) when[at]!.earliestMs = Math.min(when[at]!.earliestMs, reach(edge))
    }
  }
  const firstMs = Math.min(...when.map((one) => one.atMs))
  const at = when.findIndex((one) => one.atMs === firstMs)
  if (firstMs === Infinity || at < 0) return null
  return {
    element: ELEMENTS[at]!,
    ...{ atMs: firstMs, earliestMs: Math.min(firstMs, when[at]!.earliestMs) },
    ...{ mmolPerL: levels.mmolPerL[at]!, lowMmolPerL: lows[at]! },
  }
}

function cautious({ sdMmolPerL }: { sdMmolPerL: Float64Array }, path: Float64Array, at: number): number {
  return path[at]! - CAUTIOUS_SDS * sdMmolPerL[at]!
}

/**
 * As a grower reads it: `potassium reaches its low edge first, in 2.3 days (Thu 18:00)`.
 *
 * @param nowMs the moment from which the days are counted; the clock time is that of the site
 */
export function runningOutText(running: RunningOut | null, nowMs: number, utcOffsetMin: number): string {
  if (!running) return 'no element reaches its low edge within 14 days'
  const { element, atMs, earliestMs, mmolPerL, lowMmolPerL } = running
  const name = spoken(element)
  if (atMs <= nowMs)
    return `${name} is below its low edge already (about ${milligrams(element, mmolPerL)} mg/L, low edge ${milligrams(element, lowMmolPerL)})`
  const early = earliestMs <= nowMs ? 'perhaps now' : `perhaps in ${inDays(earliestMs - nowMs)}`
  const doubt = atMs - earliestMs > STEP_MS ? `, ${early}` : ''
  return `${name} reaches its low edge first, in ${inDays(atMs - nowMs)} (${siteTime(atMs, utcOffsetMin)}${doubt})`
}

function inDays(ms: number): string {
  return ms < 2 * DAY_MS ? `${Math.max(1, Math.round(ms / HOUR_MS))} h` : `${(ms / DAY_MS).toFixed(1)} days`
}

/** The epoch began on a Thursday. */
const WEEKDAYS = ['Thu', 'Fri', 'Sat', 'Sun', 'Mon', 'Tue', 'Wed']

/** `Thu 18:00` in the site’s own time. */
export function siteTime(atMs: number, utcOffsetMin: number): string {
  const localMs = atMs + utcOffsetMin * 60_000
  const minutes = Math.floor((((localMs % DAY_MS) + DAY_MS) % DAY_MS) / 60_000)
  const two = (value: number) => String(value).padStart(2, '0')
  return `${WEEKDAYS[((Math.floor(localMs / DAY_MS) % 7) + 7) % 7]} ${two(Math.floor(minutes / 60))}:${two(minutes % 60)}`
}
