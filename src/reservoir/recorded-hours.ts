/** What the kept grid steps tell of each hour, for models that run over the same weeks again with other doses. */

import { ELEMENT_COUNT } from '../chemistry/element.ts'
import { advance } from '../core/estimate/advance.ts'
import type { FilterState } from '../core/estimate/filter-state.ts'
import type { Stretch } from '../core/estimate/history.ts'
import { predict } from '../core/estimate/predict.ts'
import type { CoreState } from '../core/state.ts'
import type { ReservoirSettings } from './state.ts'

const HOUR_MS = 3_600_000

export interface RecordedHour {
  /** the belief’s mean over the hour, in the order of the filter: its learned factors, what the stand drew */
  readonly mean: Float64Array
  /** what readings and reports moved the amounts by, against the balance alone, mmol by element */
  readonly correctedMmol: Float64Array
  /** what the next report after that hour showed the truth to have had beside the belief, mmol by element */
  readonly hindsightMmol: Float64Array
}

/** What one report did to the belief, by element. */
interface Shown {
  /** the hour of its bottle */
  readonly place: number
  readonly movedMmol: Float64Array
  /** doubt before and after it, mmol² */
  readonly before: Float64Array
  readonly after: Float64Array
}

/**
 * The hours from the first kept belief on, folded once more from the kept steps; each `yield` is a moment at which others
 * may have their turn. An hour without a step of its own has none of the corrections and the mean of the hour before.
 */
export function* recordedHours(
  settings: ReservoirSettings,
  core: CoreState,
  stretches: readonly Stretch[],
  untilMs: number,
): Generator<undefined, readonly RecordedHour[]> {
  const { start } = stretches[0]!
  const steps = stretches.flatMap((stretch) => stretch.steps)
  const hours: Omit<RecordedHour, 'hindsightMmol'>[] = []
  const reports: Shown[] = [{ place: 0, movedMmol: NOTHING, before: doubtOf(start), after: doubtOf(start) }]
  let filter = start
  let next = 0
  for (let atMs = start.atMs; atMs + HOUR_MS <= untilMs; atMs += HOUR_MS) {
    const sum = new Float64Array(start.mean.length)
    const correctedMmol = new Float64Array(ELEMENT_COUNT)
    let count = 0
    for (; next < steps.length && steps[next]!.endMs <= atMs + HOUR_MS; next++) {
      const balanced = predict(settings.core, core.cohorts, filter, steps[next]!)
      filter = advance(settings.core, core.cohorts, filter, steps[next]!)
      add(sum, filter.mean)
      const movedMmol = correctedMmol.map((_sum, at) => filter.mean[at]! - balanced.mean[at]!)
      add(correctedMmol, movedMmol)
      if (steps[next]!.laboratory.length > 0)
        reports.push({ place: hours.length, movedMmol, before: doubtOf(balanced), after: doubtOf(filter) })
      count++
    }
    hours.push({ mean: count > 0 ? sum.map((one) => one / count) : meanBefore(hours, start), correctedMmol })
    yield undefined
  }
  return hours.map((hour, place) => ({ ...hour, hindsightMmol: hindsightAt(reports, place) }))
}

const NOTHING = new Float64Array(ELEMENT_COUNT)

/**
 * What the report after an hour says of that hour. Between two reports the error of a balance grows with the time, from
 * what the first left in doubt; so its share of what the second showed goes in a straight line from the one doubt over the
 * other to the whole: the smoother of Rauch, Tung and Striebel (1965, from memory) for an error that
 * grows so.
 */
function hindsightAt(reports: readonly Shown[], place: number): Float64Array {
  const second = reports.findIndex((report) => report.place > place)
  if (second <= 0) return NOTHING
  const [from, to] = [reports[second - 1]!, reports[second]!]
  const way = (place + 1 - from.place) / (to.place - from.place)
  return to.movedMmol.map((moved, at) => {
    const left = Math.min(1, from.after[at]! / Math.max(to.before[at]!, Number.MIN_VALUE))
    return moved * (left + (1 - left) * way)
  })
}

/** Variances of the amounts, mmol². */
function doubtOf({ covariance, mean }: FilterState): Float64Array {
  return NOTHING.map((_none, at) => covariance[at * mean.length + at]!)
}

function add(sum: Float64Array, mean: Float64Array): void {
  for (const [at, value] of mean.entries()) sum[at]! += value
}

function meanBefore(hours: readonly Pick<RecordedHour, 'mean'>[], start: FilterState): Float64Array {
  return hours.at(-1)?.mean ?? start.mean
}
