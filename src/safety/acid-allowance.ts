import { countedWaterL, microlitresOf } from './acid-shot.ts'
import { notFittedShare } from './caps.ts'
import type { Facts } from './facts.ts'
import type { BufferingLimits, InjectionLimits, Limits } from './limits.ts'

const HOURS_PER_DAY = 24
const MINUTE_MS = 60_000

/**
 * Acid that all acid stocks together may bring in an hour, whole microlitres: what the hour’s metered make-up water
 * takes up, and a small trim. Infinity where the limits do not declare it, NaN where a figure is none.
 */
export function acidHourMaxUl(facts: Facts, limits: Limits): number {
  const { acid } = limits
  if (acid?.buffering === undefined) return Number.POSITIVE_INFINITY
  return microlitresOf(
    notNegative(acid.buffering.trimMeqPerHour) + makeUpMeq(acid.buffering, limits, facts.makeUpHourL, 1),
    acid.meqPerMl,
  )
}

/** The same for a day, with what the reservoir itself surely takes up. */
export function acidDayMaxUl(facts: Facts, limits: Limits): number {
  const { acid } = limits
  if (acid?.buffering === undefined) return Number.POSITIVE_INFINITY
  const { trimMeqPerDay, reservoirMeqPerL } = acid.buffering
  const reservoirMeq = notNegative(reservoirMeqPerL) * countedWaterL(facts, acid.reservoirMinL)
  const makeUp = makeUpMeq(acid.buffering, limits, facts.makeUpDayL, HOURS_PER_DAY)
  return microlitresOf(notNegative(trimMeqPerDay) + reservoirMeq + makeUp, acid.meqPerMl)
}

/**
 * A meter that is fitted and silent credits nothing: only a site that has none counts on the declared constant. One of
 * which nobody says what its valve can bring is no meter, and no acid goes by it, not even the trim.
 */
function makeUpMeq(buffering: BufferingLimits, limits: Limits, litres: number, hours: number): number {
  const { meter } = limits
  if (meter !== undefined && !(meter.maxLPerMin >= 0)) return Number.NaN
  if (meter !== undefined) return notNegative(buffering.sourceMeqPerL) * litres
  return notNegative(buffering.unmeteredMeqPerHour ?? Number.NaN) * hours
}

/**
 * Largest shot by the rate over circulation, whole microlitres. Into the line the pump’s own rate counts, which no
 * smaller shot makes any slower: then all or nothing. Into the reservoir the shot spreads over a mixing time before the
 * roots see it. Infinity where the limits do not declare it, NaN where a figure is none.
 */
export function acidRateMaxUl(facts: Facts, limits: Limits): number {
  const { acid } = limits
  if (acid?.injection === undefined) return Number.POSITIVE_INFINITY
  const { into, rateMaxMeqPerL } = acid.injection
  const passingMeqPerMin = notNegative(rateMaxMeqPerL) * circulationLPerMin(facts, limits, acid.injection)
  if (into === 'reservoir') return microlitresOf((passingMeqPerMin * limits.mixingMs) / MINUTE_MS, acid.meqPerMl)
  const pumpMeqPerMin = (facts.rateUlPerS * 60 * acid.meqPerMl) / 1000
  // No number bounds nothing, a shot of nothing included.
  if (!(facts.flowFitted && pumpMeqPerMin > 0 && passingMeqPerMin >= 0)) return Number.NaN
  return pumpMeqPerMin <= passingMeqPerMin ? Number.POSITIVE_INFINITY : 0
}

/** Without a flow probe the declared circulation is halved, or whatever share the limits take for what is not fitted. */
function circulationLPerMin(facts: Facts, limits: Limits, injection: InjectionLimits): number {
  const declared = notNegative(injection.circulationLPerMin)
  if (!facts.flowFitted) return declared * notFittedShare(limits)
  return limits.flowIsSwitch === true ? declared : Math.min(declared, facts.flowLowestLPerMin)
}

function notNegative(value: number): number {
  return value >= 0 ? value : Number.NaN
}
