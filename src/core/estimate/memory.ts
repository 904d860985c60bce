/**
 * What the filter remembers beside its unknowns and their covariance: whom it may trust, what a bottle weighed, how long
 * a probe has disagreed. Part of the belief, so that a re-run comes to the same trust as the first run did.
 */

import { ELEMENT_COUNT } from '../../chemistry/element.ts'
import type { AppetiteSurprises } from './appetite-doubt.ts'

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
  'level-probe-returned',
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

/** By probe, what made the estimate doubt it last. */
export type Walked = Readonly<Partial<Record<keyof Strain, Reopened>>>

const WALKS: Readonly<Partial<Record<ReopenCause, keyof Strain>>> = {
  'water-or-level-probe': 'level',
  'level-probe-moved': 'level',
  'diluted-or-conductivity-probe': 'conductivity',
  'conductivity-probe': 'conductivity',
  'salt-or-conductivity-probe': 'conductivity',
  'ph-probe': 'ph',
}

/** Which probes may have walked once the estimate gave way again. A level probe that came back is out of doubt. */
export function walkedAfter(walked: Walked | undefined, reopened: Reopened): Walked | undefined {
  if (reopened.cause === 'level-probe-returned') return walkedWithout(walked, 'level')
  const probe = WALKS[reopened.cause]
  return probe === undefined ? walked : { ...walked, [probe]: reopened }
}

/** The same memory with other probes in doubt; the very same where nothing changed. */
export function withWalked(memory: FilterMemory, walked: Walked | undefined): FilterMemory {
  if (walked === memory.walked) return memory
  const { walked: _before, ...others } = memory
  return walked === undefined ? others : { ...others, walked }
}

/** A calibrated probe is out of doubt, and nothing is taken off a level that was set right. */
export function afterCalibration(memory: FilterMemory, role: keyof Strain): FilterMemory {
  const cleared = withWalked(memory, walkedWithout(memory.walked, role))
  return role === 'level' && cleared.levelShiftL !== 0 ? { ...cleared, levelShiftL: 0 } : cleared
}

/** What a site has taught of its crop is over. */
export function withoutAppetite({ appetite: _learned, ...others }: FilterMemory): FilterMemory {
  return others
}

/** The others, once one was calibrated; undefined where none is left. */
export function walkedWithout(walked: Walked | undefined, probe: keyof Strain): Walked | undefined {
  if (!walked?.[probe]) return walked
  const { [probe]: _right, ...others } = walked
  return Object.keys(others).length === 0 ? undefined : others
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
  /** probes that may have walked away since they were last calibrated; absent while none has */
  readonly walked?: Walked
  /** how far the bottles lay from what was expected of them; absent before the first */
  readonly appetite?: AppetiteSurprises
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
