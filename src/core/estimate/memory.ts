/**
 * What the filter remembers beside its unknowns and their covariance: whom it may trust, what a bottle weighed, how long
 * a probe has disagreed. Part of the belief, so that a re-run comes to the same trust as the first run did.
 */

import { ELEMENT_COUNT } from '../../chemistry/element.ts'

/** What is known of one person’s or device’s readings of one kind. */
export interface SpotTrust {
  /** readings that agreed with an estimate that a laboratory had confirmed shortly before */
  readonly agreed: number
  /** how many of its readings were taken in the last day, and when the newest was */
  readonly inDay: number
  readonly lastMs: number
}

/** A stock bottle since it was last weighed. */
export interface WeighedBottle {
  readonly massG: number
  /** what the book says was given since, mL at the configured rate */
  readonly givenMl: number
}

/** Grid steps in a row whose reading was rejected, negative where it read too low; 0 once one was taken. */
export interface Strain {
  readonly level: number
  readonly ph: number
  readonly conductivity: number
}

export const REOPEN_CAUSES = [
  'solution-lost',
  'water-added',
  'water-or-level-probe',
  'level-probe-moved',
  'diluted',
  'diluted-or-conductivity-probe',
  'conductivity-probe',
  'salt-or-conductivity-probe',
  'ph-probe',
] as const
export type ReopenCause = (typeof REOPEN_CAUSES)[number]

/** The newest time that readings which disagreed for long made the estimate give way. */
export interface Reopened {
  readonly atMs: number
  readonly cause: ReopenCause
  /** litres lost or added, share diluted, share of conductivity or units of pH, as the cause has it */
  readonly amount: number
}

export interface FilterMemory {
  readonly spots: Readonly<Record<string, SpotTrust>>
  /** by place in settings.stocks; null before a first weighing of the bottle that stands there */
  readonly bottles: readonly (WeighedBottle | null)[]
  /** when the newest bottle with a value of each element was filled, epoch ms; 0 where none was */
  readonly sampledMs: readonly number[]
  /** what a report said of each element beyond what one report may change, mmol/L with its sign; 0 where nothing waits */
  readonly waiting: readonly number[]
  readonly strain: Strain
  /** what is taken off a level reading since the probe was found to have moved, L */
  readonly levelShiftL: number
  readonly reopened: Reopened | null
}

export const NO_STRAIN: Strain = { level: 0, ph: 0, conductivity: 0 }

/** Nothing to remember yet. */
export function emptyMemory(stockCount: number): FilterMemory {
  return {
    spots: {},
    bottles: new Array<null>(stockCount).fill(null),
    sampledMs: new Array<number>(ELEMENT_COUNT).fill(0),
    waiting: new Array<number>(ELEMENT_COUNT).fill(0),
    strain: NO_STRAIN,
    levelShiftL: 0,
    reopened: null,
  }
}

/** A disagreement of so many steps in a row holds dosing: the estimate is about to give way or the reading to return. */
const UNSETTLED_STEPS = 2

/** Whether readings just now contradict the estimate for longer than a splash or a bubble does. */
export function isUnsettled({ strain }: FilterMemory): boolean {
  return [strain.level, strain.ph, strain.conductivity].some((steps) => Math.abs(steps) >= UNSETTLED_STEPS)
}
