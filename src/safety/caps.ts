import type { Limits, ProbeRole, StockLimits } from './limits.ts'

export interface Caps {
  readonly shotMaxUl: number
  readonly hourMaxUl: number
  readonly dayMaxUl: number
}

/** A site may lack these, if it says so with a reason. Conductivity and pH it may not lack. */
const MAY_BE_MISSING: readonly ProbeRole[] = ['level', 'flow']
const NEVER_MISSING: readonly ProbeRole[] = ['conductivity', 'ph']

/**
 * A stock’s caps, whole microlitres, tightened once for each sensor the site lacks.
 * Each is NaN, and so refuses, where the share or the cap is no number.
 */
export function capsOf(limits: Limits, entry: StockLimits): Caps {
  const share = capShare(limits)
  return {
    shotMaxUl: Math.floor(entry.shotMaxUl * share),
    hourMaxUl: Math.floor(entry.hourMaxUl * share),
    dayMaxUl: Math.floor(entry.dayMaxUl * share),
  }
}

/** Sensors that are neither fitted nor declared as not fitted: with one of these nothing is dosed. */
export function missingSensors(limits: Limits): readonly ProbeRole[] {
  const missing: ProbeRole[] = NEVER_MISSING.filter((role) => !isFitted(limits, role))
  return missing.concat(MAY_BE_MISSING.filter((role) => !isFitted(limits, role) && !isDeclared(limits, role)))
}

function capShare(limits: Limits): number {
  let share = 1
  for (const role of MAY_BE_MISSING) if (!isFitted(limits, role)) share *= notFittedShare(limits)
  return share
}

/** What is left of a bound for each sensor the site lacks. A share above one would loosen it, so it is none: NaN. */
export function notFittedShare({ notFittedCapShare: share }: Limits): number {
  return share >= 0 && share <= 1 ? share : Number.NaN
}

function isFitted(limits: Limits, role: ProbeRole): boolean {
  return limits.probes.some((probe) => probe.role === role)
}

function isDeclared(limits: Limits, role: ProbeRole): boolean {
  return limits.notFitted.some((sensor) => sensor.role === role && sensor.reason.trim() !== '')
}
