import type { Facts } from './facts.ts'
import type { Limits } from './limits.ts'

/** A rounding slack far below a microlitre, so that 0.04 meq/L in 200 L of 1 meq/mL is 8 mL and not 7.999. */
const SLACK_UL = 1e-6

/**
 * Largest acid shot, whole microlitres: the shot’s milliequivalents over the least volume that may be in the reservoir.
 * A level reading below the declared least volume counts in its place. NaN, and so refusing, without acid limits.
 */
export function acidShotMaxUl(facts: Facts, limits: Limits): number {
  const acid = limits.acid
  if (acid === undefined) return Number.NaN
  const waterL = facts.levelFitted ? Math.min(acid.reservoirMinL, facts.levelLowestL) : acid.reservoirMinL
  return Math.floor(((acid.shotMaxMeqPerL * waterL) / acid.meqPerMl) * 1000 + SLACK_UL)
}
