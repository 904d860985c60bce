/** Beliefs and steps to try the filter with. */

import type { ElementName } from '../../../src/chemistry/element.ts'
import { ELEMENT_INDEX } from '../../../src/chemistry/element.ts'
import type { FilterState } from '../../../src/core/estimate/filter-state.ts'
import type { GridStep } from '../../../src/core/estimate/grid-step.ts'

export const STEP_MS = 600_000
/** noon of a day on which both cohorts of the test site stand */
export const NOON_MS = Date.parse('2026-03-20T12:00:00Z')

/** A step in which nothing was seen and nothing came. */
export function quietStep(endMs: number, over: Partial<GridStep> = {}): GridStep {
  return { endMs, litShare: 1, doses: [], acts: [], laboratory: [], ...over }
}

export function sdOf(filter: FilterState, at: number): number {
  return Math.sqrt(filter.covariance[at * filter.mean.length + at]!)
}

/** The belief with some places of its mean changed. */
export function withMean(filter: FilterState, changes: Readonly<Record<number, number>>): FilterState {
  const mean = filter.mean.slice()
  for (const [at, value] of Object.entries(changes)) mean[Number(at)] = value
  return { ...filter, mean }
}

export function mmolOf(filter: FilterState, name: ElementName): number {
  return filter.mean[ELEMENT_INDEX[name]]!
}
