/** What is believed, was believed, or would be. */

import { advance } from '../../../core/estimate/advance.ts'
import type { FilterState } from '../../../core/estimate/filter-state.ts'
import { continueRerun } from '../../../core/estimate/history.ts'
import { type Estimate, estimateOf } from '../../../core/estimate/summary.ts'
import type { CoreState } from '../../../core/state.ts'
import type { Slices } from '../../slices.ts'
import type { Site } from '../site.ts'

/** The standard normal’s 95 % point: 90 % lie within this many standard deviations. */
export const SDS_90 = 1.645

/** The belief at the end of the last kept step before a moment, without the reports of some ids; undefined where none is kept. */
export function beliefAt(
  site: Site,
  core: CoreState,
  atMs: number,
  without: readonly string[] = [],
): Estimate | undefined {
  const stretch = core.history.stretches.findLast(({ start }) => start.atMs <= atMs)
  if (!stretch) return undefined
  let filter: FilterState = stretch.start
  for (const step of stretch.steps) {
    if (step.endMs > atMs) break
    const laboratory = step.laboratory.filter(({ id }) => !without.includes(id))
    filter = advance(
      site.settings.core,
      core.cohorts,
      filter,
      laboratory.length < step.laboratory.length ? { ...step, laboratory } : step,
    )
  }
  return estimateOf(filter)
}

/**
 * Beliefs of a period, one about every interval, oldest first; long periods are told by the kept beliefs alone. Run again
 * in slices, so that the loop is not kept waiting.
 */
export async function beliefsBetween(
  site: Site,
  core: CoreState,
  period: { fromMs: number; untilMs: number },
  slices: Slices,
): Promise<readonly Estimate[]> {
  const stretches = core.history.stretches.filter(
    ({ start, steps }) => start.atMs <= period.untilMs && (steps.at(-1)?.endMs ?? start.atMs) >= period.fromMs,
  )
  const isLong = stretches.length > STRETCHES_RUN_AGAIN
  const beliefs: Estimate[] = []
  const add = (filter: FilterState): void => {
    if (filter.atMs >= period.fromMs && filter.atMs <= period.untilMs) beliefs.push(estimateOf(filter))
  }
  for (const { start, steps } of stretches) {
    add(start)
    let filter = start
    for (const step of isLong ? [] : steps) {
      filter = advance(site.settings.core, core.cohorts, filter, step)
      add(filter)
      await slices.next()
    }
  }
  const { filter } = core.history
  if (beliefs.at(-1)?.atMs !== filter.atMs) add(filter)
  return beliefs
}

/** Two days of half-day stretches: some 300 steps, 30 ms and ten times that on a small board. Beyond it, two beliefs a day are as much as a chart shows. */
const STRETCHES_RUN_AGAIN = 5

/** The belief once everything is run again, a slice at a time so that the loop keeps its pace. */
export async function caughtUp(site: Site, core: CoreState): Promise<Estimate> {
  let { history } = core
  const { slotsPerSlice } = site.settings.core.grid
  while (history.rerun) {
    history = continueRerun(site.settings.core, core.cohorts, history, Math.min(slotsPerSlice, SLOTS_MAX))
    await new Promise((done) => setImmediate(done))
  }
  return estimateOf(history.filter)
}

const SLOTS_MAX = 72
