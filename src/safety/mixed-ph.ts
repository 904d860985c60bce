import type { Facts } from './facts.ts'
import { stillToWait } from './interlock.ts'
import type { Limits } from './limits.ts'

/**
 * How long until a probe that goes on reading as it does has read what the last acid or base left, ms; null where
 * mixing is not what is missing, since no waiting mends a probe that fell silent.
 */
export function waitForMixedPh(facts: Facts, limits: Limits, freshMs: number): number | null {
  const { phOldestAgeMs, sinceAcidMs, sinceBaseMs } = facts
  if (!(phOldestAgeMs >= 0 && phOldestAgeMs <= freshMs)) return null
  return stillToWait(limits.mixingMs, Math.min(sinceAcidMs, sinceBaseMs) - phOldestAgeMs)
}
