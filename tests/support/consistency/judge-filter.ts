// What a filter believed through a season that was lived before, against the truth: coverage of its intervals, and the
// consistency statistics NEES and NIS (Bar-Shalom, Li & Kirubarajan 2001, Estimation with Applications, ch. 5).

import { advance } from '../../../src/core/estimate/advance.ts'
import { type FilterState, initialFilterState } from '../../../src/core/estimate/filter-state.ts'
import type { GridStep } from '../../../src/core/estimate/grid-step.ts'
import { estimateOf } from '../../../src/core/estimate/summary.ts'
import { scoredBands } from '../../../src/trial/bands.ts'
import { emptyTally, markHour, type Tally } from '../../../src/trial/tally.ts'
import type { LivedSeason, Truth } from './lived-season.ts'

/**
 * Marks every hour from the arrival of the first report as the belief of that hour stood: a bottle counts from the day
 * its report was told, not from the day it was filled.
 */
export function judgeFilter(season: LivedSeason, tally: Tally = emptyTally()): Tally {
  const { settings, startMs, steps, truths, arrivals } = season
  const truthAt = new Map(truths.map((truth) => [truth.atMs, truth]))
  const firstMs = Math.min(...Object.values(arrivals))
  let known = initialFilterState(settings, startMs)
  // Between bottle and report the belief stood without it.
  let standing: { filter: FilterState; untilMs: number } | undefined
  for (const step of steps) {
    const bottle = step.laboratory[0]
    if (bottle) {
      const untilMs = arrivals[bottle.id] ?? Number.POSITIVE_INFINITY
      standing = { filter: standing?.filter ?? known, untilMs }
    }
    known = advance(settings, season.cohorts, known, step)
    if (standing && step.endMs >= standing.untilMs) standing = undefined
    if (standing)
      standing = { ...standing, filter: advance(settings, season.cohorts, standing.filter, unsampled(step)) }
    const truth = truthAt.get(step.endMs)
    if (truth && step.endMs >= firstMs) mark(season, tally, truth, standing?.filter ?? known)
  }
  return tally
}

function unsampled(step: GridStep): GridStep {
  return { ...step, laboratory: [] }
}

function mark({ settings }: LivedSeason, tally: Tally, truth: Truth, filter: FilterState): void {
  markHour(tally, truth.mgPerL, estimateOf(filter).elements, scoredBands(settings, truth.atMs))
}
