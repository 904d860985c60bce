// What one stock could do in the interval: how much of it the limits leave, and what a millilitre does here.

import { ELEMENT_COUNT } from '../../chemistry/element.ts'
import type { StockSettings } from '../settings.ts'
import type { StockHeadroom } from './headroom.ts'
import type { PlanInput } from './plan-input.ts'

export interface Dosable {
  readonly settings: StockSettings
  readonly headroom: StockHeadroom
  /** whole microlitres that may be planned, 0 where the stock may not run */
  readonly maxUl: number
  /** why it may not run at all; empty when it may */
  readonly blockedBy: readonly string[]
  /** rise of each element per millilitre as delivered, mmol/L */
  readonly mmolPerLPerMl: Float64Array
  /** alkalinity per millilitre as delivered, meq */
  readonly meqPerMl: number
  /** least time between two of its shots; acid and base are given a full mixing in between */
  readonly gapMs: number
  /** least volume of a shot: what the pump can do, or what the limits want to see */
  readonly shotMinUl: number
  /** the next shot is to be seen on the probes, so no other such shot runs until it is measured */
  readonly shows: boolean
}

const HOUR_MS = 3_600_000

/** One per stock of the settings, in their order. A stock that no headroom is told for may not run. */
export function findDosables(input: PlanInput): Dosable[] {
  return input.settings.stocks.map((settings, at) => {
    const factor = input.deliveryFactor[at]!
    const told = input.headroom.stocks.find((headroom) => headroom.stock === settings.id)
    const headroom = told ?? noHeadroom(settings.id)
    const strong = settings.kind === 'acid' || settings.kind === 'base'
    const gapMs = strong ? Math.max(headroom.gapMs, input.waits.mixingMs) : headroom.gapMs
    const blockedBy = blocks(input, settings, headroom, factor)
    return {
      settings,
      headroom,
      maxUl: blockedBy.length > 0 ? 0 : volumeLeftUl(input, settings, headroom, gapMs),
      blockedBy,
      mmolPerLPerMl: settings.mmolPerMl.map((mmol) => (mmol * factor) / input.estimate.volumeL),
      meqPerMl: settings.alkalinityMeqPerMl * factor,
      gapMs,
      shotMinUl: smallestUl(settings, headroom),
      shows: (headroom.shotMinUl ?? 0) > 0,
    }
  })
}

/** What is wanted to be seen never keeps a stock from running: a shot as large as permitted is large enough. */
function smallestUl(settings: StockSettings, headroom: StockHeadroom): number {
  return Math.max(settings.shotMinUl, Math.min(headroom.shotMinUl ?? 0, headroom.shotMaxUl))
}

function noHeadroom(stock: string): StockHeadroom {
  const nothing = { shotUl: 0, hourUl: 0, dayUl: 0, shotMaxUl: 0, gapMs: 0, notBeforeMs: 0 }
  return { stock, ...nothing, blockedBy: ['no limits are set for it'] }
}

/** Every line says what must hold, so that a number that is none blocks. */
function blocks(input: PlanInput, settings: StockSettings, headroom: StockHeadroom, factor: number): string[] {
  const why = input.ignoreBlocks === true ? [] : [...(headroom.blockedWhy ?? headroom.blockedBy)]
  const sound = [headroom.hourUl, headroom.dayUl, headroom.gapMs, headroom.notBeforeMs, settings.rateUlPerS]
  if (!sound.every(Number.isFinite)) why.push('its limits are not numbers')
  if (!(factor > 0 && factor < Infinity)) why.push(`its delivery factor is ${factor}`)
  if (
    settings.mmolPerMl.length !== ELEMENT_COUNT ||
    !settings.mmolPerMl.every((mmol) => mmol >= 0 && mmol < Infinity)
  ) {
    why.push('its composition is not known')
  }
  if (!Number.isFinite(settings.alkalinityMeqPerMl)) why.push('its alkalinity is not known')
  if (!(headroom.shotMaxUl >= settings.shotMinUl && settings.shotMinUl > 0)) {
    why.push(
      `its largest permitted shot of ${headroom.shotMaxUl} uL is less than its smallest of ${settings.shotMinUl} uL`,
    )
  }
  return why
}

/** The hour’s room spread over the interval, the day’s, and what the shots that fit can carry: the least of these. */
function volumeLeftUl(input: PlanInput, settings: StockSettings, headroom: StockHeadroom, gapMs: number): number {
  const { intervalMs } = input.forecast
  const openMs = input.atMs + intervalMs - Math.max(input.atMs, headroom.notBeforeMs)
  if (!(openMs > 0)) return 0
  const runMs = (headroom.shotMaxUl / settings.rateUlPerS) * 1000
  const shots = Math.max(1, Math.floor((openMs + gapMs) / (runMs + gapMs)))
  const leftUl = Math.floor(
    Math.min(
      (headroom.hourMaxUl ?? headroom.hourUl) * (intervalMs / HOUR_MS),
      headroom.dayUl,
      shots * headroom.shotMaxUl,
    ),
  )
  return leftUl >= smallestUl(settings, headroom) ? leftUl : 0
}
