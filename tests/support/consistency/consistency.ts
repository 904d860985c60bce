// NIS of every probe and NEES of the six macronutrients over a season that was lived before.

import { advanceTelling, type Surprise } from '../../../src/core/estimate/advance.ts'
import { initialFilterState } from '../../../src/core/estimate/filter-state.ts'
import { estimateOf } from '../../../src/core/estimate/summary.ts'
import type { LivedSeason } from './lived-season.ts'

const MACROS = ['NO3-N', 'P', 'K', 'Ca', 'Mg', 'S'] as const

export interface Consistency {
  /** mean squared surprise, 1 where the noise believed is the noise there is */
  readonly nis: Partial<Record<Surprise['of'], number>>
  /** mean squared error in standard deviations over the macronutrients, hour by hour; 1 likewise */
  readonly nees: number
}

/** Every report counts from the moment its bottle was filled. */
export function consistencyOf({ settings, cohorts, startMs, steps, truths }: LivedSeason): Consistency {
  const truthAt = new Map(truths.map((truth) => [truth.atMs, truth]))
  const sums: Partial<Record<Surprise['of'], { sum: number; count: number }>> = {}
  const nees = { sum: 0, count: 0 }
  let filter = initialFilterState(settings, startMs)
  for (const step of steps) {
    const told = advanceTelling(settings, cohorts, filter, step)
    filter = told.filter
    for (const { of, sigmas } of told.surprises) {
      const kind = sums[of] ?? { sum: 0, count: 0 }
      sums[of] = kind
      add(kind, sigmas)
    }
    const truth = truthAt.get(step.endMs)
    if (!truth) continue
    const { elements } = estimateOf(filter)
    for (const name of MACROS) add(nees, ((truth.mgPerL[name] ?? 0) - elements[name].mgPerL) / elements[name].sdMgPerL)
  }
  const nis = Object.fromEntries(Object.entries(sums).map(([of, { sum, count }]) => [of, sum / count]))
  return { nis, nees: nees.sum / nees.count }
}

function add(into: { sum: number; count: number }, sigmas: number): void {
  into.sum += sigmas * sigmas
  into.count++
}
