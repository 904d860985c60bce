/** Rows of acid and base. */

import type { AcidLimits, BaseLimits, BufferingLimits, ReagentLimits } from '../../../src/safety/limits.ts'
import { litresOf } from './probe-story.ts'
import {
  type Asked,
  DAY_MS,
  flowingMs,
  HOUR_MS,
  highest,
  isFitted,
  isMarked,
  lowest,
  ofRole,
  type Rows,
  rateOf,
  shareOf,
  sinceMs,
  sumUl,
  surestL,
} from './wish-facts.ts'

export const ACID: Rows = {
  'acid-shot-bounded': ofAcid((it, acid) => it.wish.volumeUl <= shotUl(it, acid)),
  'acid-mixed': ofAcid((it) => sinceMs(it, isMarked(it, 'acid')) >= it.past.limits.mixingMs),
  'acid-ph-fresh': ofAcid((it, acid) => isPhFresh(it, acid)),
  'acid-ph-above-floor': ofAcid((it, acid) => acid.phFloor < lowest(it, 'ph') && lowest(it, 'ph') <= 14),
  'acid-after-flow': ofAcid((it, acid) => isAfterFlow(it, acid.afterFlowMs)),
  'acid-hour-buffered': ofAcid((it, acid) => isBuffered(it, acid, 'hour')),
  'acid-day-buffered': ofAcid((it, acid) => isBuffered(it, acid, 'day')),
  'acid-rate-bounded': ofAcid((it, acid) => it.wish.volumeUl <= rateMaxUl(it, acid)),
  'acid-base-apart': (it) => {
    const { past, entry } = it
    const waitMs = past.limits.base?.acidApartMs ?? NaN
    const hasBase = past.limits.stocks.some((stock) => stock.base === true)
    if (entry?.base === true && !(sinceMs(it, isMarked(it, 'acid')) >= waitMs)) return false
    return !(entry?.acid === true && hasBase) || sinceMs(it, isMarked(it, 'base')) >= waitMs
  },
}

export const BASE: Rows = {
  'base-shot-bounded': ofBase((it, base) => it.wish.volumeUl <= shotUl(it, base)),
  'base-mixed': ofBase((it) => sinceMs(it, isMarked(it, 'base')) >= it.past.limits.mixingMs),
  'base-ph-fresh': ofBase((it, base) => isPhFresh(it, base)),
  'base-ph-below-ceiling': ofBase((it, base) => highest(it, 'ph') >= 0 && highest(it, 'ph') < base.phCeiling),
  'base-after-flow': ofBase((it, base) => isAfterFlow(it, base.afterFlowMs)),
}

function ofAcid(holds: (it: Asked, acid: AcidLimits) => boolean): (it: Asked) => boolean {
  return (it) => it.entry?.acid !== true || (it.past.limits.acid !== undefined && holds(it, it.past.limits.acid))
}

function ofBase(holds: (it: Asked, base: BaseLimits) => boolean): (it: Asked) => boolean {
  return (it) => it.entry?.base !== true || (it.past.limits.base !== undefined && holds(it, it.past.limits.base))
}

function ulOf(meq: number, meqPerMl: number): number {
  return Math.floor((meq / meqPerMl) * 1000 + 1e-6)
}

function shotUl(it: Asked, of: ReagentLimits): number {
  return ulOf(of.shotMaxMeqPerL * surestL(it, of.reservoirMinL), of.meqPerMl)
}

/** The pH was read once the last acid or base had mixed. */
function isPhFresh(it: Asked, of: ReagentLimits): boolean {
  const ages = ofRole(it, 'ph').map(({ last }) => it.nowMs - (last?.atMs ?? NaN))
  const oldestMs = ages.length === 0 ? NaN : Math.max(...ages)
  const sinceAnyMs = Math.min(sinceMs(it, isMarked(it, 'acid')), sinceMs(it, isMarked(it, 'base')))
  return oldestMs >= 0 && oldestMs <= of.phFreshMs && sinceAnyMs - oldestMs >= it.past.limits.mixingMs
}

function isAfterFlow(it: Asked, waitMs: number): boolean {
  return !isFitted(it, 'flow') || flowingMs(it) >= waitMs
}

function isBuffered(it: Asked, acid: AcidLimits, span: 'hour' | 'day'): boolean {
  const { buffering } = acid
  if (buffering === undefined) return it.wish.volumeUl <= Infinity
  const windowMs = span === 'hour' ? HOUR_MS : DAY_MS
  const parts = [...ownMeq(it, acid, buffering, span), makeUpMeq(it, buffering, windowMs)]
  const mayUl = ulOf(
    parts.reduce((sum, part) => sum + part, 0),
    acid.meqPerMl,
  )
  return sumUl(it, windowMs, (one) => isMarked(it, 'acid')(one.stock)) + it.wish.volumeUl <= mayUl
}

function ownMeq(it: Asked, acid: AcidLimits, buffering: BufferingLimits, span: 'hour' | 'day'): number[] {
  if (span === 'hour') return [figure(buffering.trimMeqPerHour)]
  return [figure(buffering.trimMeqPerDay), figure(buffering.reservoirMeqPerL) * surestL(it, acid.reservoirMinL)]
}

function makeUpMeq({ past, nowMs }: Asked, buffering: BufferingLimits, windowMs: number): number {
  const { limits, meter } = past
  if (limits.meter === undefined) return figure(buffering.unmeteredMeqPerHour) * (windowMs / HOUR_MS)
  if (Number.isNaN(figure(limits.meter.maxLPerMin))) return NaN
  const litres = litresOf(meter, nowMs, windowMs)
  return litres * figure(buffering.sourceMeqPerL)
}

/** A figure of the limits that is negative or none refuses. */
function figure(declared: number | undefined): number {
  return declared !== undefined && declared >= 0 ? declared : NaN
}

/** All or nothing where it goes into the line, since no smaller shot is any slower there. */
function rateMaxUl(it: Asked, acid: AcidLimits): number {
  const { injection } = acid
  if (injection === undefined) return Infinity
  const mayMeqPerMin = figure(injection.rateMaxMeqPerL) * circulation(it, figure(injection.circulationLPerMin))
  if (injection.into === 'line') {
    const pumpMeqPerMin = ((rateOf(it) * 60) / 1000) * acid.meqPerMl
    if (!isFitted(it, 'flow') || !(pumpMeqPerMin > 0) || !(mayMeqPerMin >= 0)) return NaN
    return pumpMeqPerMin <= mayMeqPerMin ? Infinity : 0
  }
  return ulOf(mayMeqPerMin * (it.past.limits.mixingMs / 60_000), acid.meqPerMl)
}

function circulation(it: Asked, declaredLPerMin: number): number {
  if (!isFitted(it, 'flow')) return declaredLPerMin * shareOf(it)
  if (it.past.limits.flowIsSwitch === true) return declaredLPerMin
  return Math.min(declaredLPerMin, lowest(it, 'flow'))
}
