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
  const hours: RecordedHour[] = []
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
      for (let at = 0; at < ELEMENT_COUNT; at++) correctedMmol[at]! += filter.mean[at]! - balanced.mean[at]!
      count++
    }
    hours.push({ mean: count > 0 ? sum.map((one) => one / count) : meanBefore(hours, start), correctedMmol })
    yield undefined
  }
  return hours
}

function add(sum: Float64Array, mean: Float64Array): void {
  for (const [at, value] of mean.entries()) sum[at]! += value
}

function meanBefore(hours: readonly RecordedHour[], start: FilterState): Float64Array {
  return hours.at(-1)?.mean ?? start.mean
}
