import type { Facts } from './facts.ts'
import type { Limits, ReagentLimits } from './limits.ts'

/** A rounding slack far below a microlitre, so that 0.04 meq/L in 200 L of 1 meq/mL is 8 mL and not 7.999. */
const SLACK_UL = 1e-6

/**
 * Largest acid shot, whole microlitres: the shot’s milliequivalents over the least volume that may be in the reservoir.
 * A level reading below the declared least volume counts in its place. NaN, and so refusing, without acid limits.
 */
export function acidShotMaxUl(facts: Facts, limits: Limits): number {
  return reagentShotMaxUl(facts, limits.acid)
}

/** The same for a base, by its own limits. */
export function baseShotMaxUl(facts: Facts, limits: Limits): number {
  return reagentShotMaxUl(facts, limits.base)
}

function reagentShotMaxUl(facts: Facts, reagent: ReagentLimits | undefined): number {
  if (reagent === undefined) return Number.NaN
  return microlitresOf(reagent.shotMaxMeqPerL * countedWaterL(facts, reagent.reservoirMinL), reagent.meqPerMl)
}

/** The volume that a rule for acid or base may count on, L. */
export function countedWaterL(facts: Facts, reservoirMinL: number): number {
  return facts.levelFitted ? Math.min(reservoirMinL, facts.levelLowestL) : reservoirMinL
}

/** Whole microlitres of a reagent that bring no more than `meq`. */
export function microlitresOf(meq: number, meqPerMl: number): number {
  return Math.floor((meq / meqPerMl) * 1000 + SLACK_UL)
}
