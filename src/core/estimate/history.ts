/**
 * The grid steps that are kept, with a belief at the start of each stretch to run again from. A late report, a
 * corrected one, an act logged afterwards: each changes a step in the past and asks for a re-run from there.
 */

import type { CohortSettings, CoreSettings } from '../settings.ts'
import { advance } from './advance.ts'
import type { FilterState } from './filter-state.ts'
import type { GridStep } from './grid-step.ts'

/** Steps after a belief, oldest first. */
export interface Stretch {
  readonly start: FilterState
  readonly steps: readonly GridStep[]
}

/** A re-run under way: stretches already run again, and where it stands. */
export interface Rerun {
  readonly stretchIndex: number
  readonly stepIndex: number
  readonly filter: FilterState
}

export interface History {
  /** the belief now; while a re-run is under way it is the old one, carried on */
  readonly filter: FilterState
  readonly stretches: readonly Stretch[]
  readonly rerun?: Rerun
}

/** A history that begins with a belief and has no steps yet. */
export function startHistory(filter: FilterState): History {
  return { filter, stretches: [{ start: filter, steps: [] }] }
}

/** Adds the newest step and carries the belief over it. */
export function appendStep(
  settings: CoreSettings,
  cohorts: readonly CohortSettings[],
  history: History,
  step: GridStep,
): History {
  const filter = advance(settings, cohorts, history.filter, step)
  const last = history.stretches.at(-1)!
  const isFull = step.endMs - last.start.atMs >= settings.grid.checkpointMs
  const grown: Stretch = { start: last.start, steps: [...last.steps, step] }
  const stretches = [...history.stretches.slice(0, -1), grown, ...(isFull ? [{ start: filter, steps: [] }] : [])]
  return { ...history, filter, stretches: forgetOld(settings, stretches, step.endMs, history.rerun) }
}

/** Stretches that lie wholly outside the kept time go, unless a re-run still stands on them. */
function forgetOld(
  settings: CoreSettings,
  stretches: readonly Stretch[],
  nowMs: number,
  rerun: Rerun | undefined,
): readonly Stretch[] {
  const second = stretches[1]
  if (rerun || !second || nowMs - second.start.atMs < settings.grid.keptMs) return stretches
  return stretches.slice(1)
}

/** When the oldest kept belief was; a bottle filled before it can no longer correct anything. */
export function oldestMs(history: History): number {
  return history.stretches[0]!.start.atMs
}

/**
 * Changes the step in which a moment lies and asks for a re-run from there.
 *
 * @returns undefined when the moment lies outside the closed steps that are kept
 */
export function amendStep(history: History, atMs: number, change: (step: GridStep) => GridStep): History | undefined {
  return amendPlace(history, findStep(history, atMs), change)
}

/** The same for the newest kept step that `holds`, wherever its mark lies. */
export function amendStepThat(
  history: History,
  holds: (step: GridStep) => boolean,
  change: (step: GridStep) => GridStep,
): History | undefined {
  for (let stretchIndex = history.stretches.length - 1; stretchIndex >= 0; stretchIndex--) {
    const stepIndex = history.stretches[stretchIndex]!.steps.findLastIndex(holds)
    if (stepIndex >= 0) return amendPlace(history, { stretchIndex, stepIndex }, change)
  }
  return undefined
}

interface StepPlace {
  readonly stretchIndex: number
  readonly stepIndex: number
}

function amendPlace(
  history: History,
  place: StepPlace | undefined,
  change: (step: GridStep) => GridStep,
): History | undefined {
  if (!place) return undefined
  const stretch = history.stretches[place.stretchIndex]!
  const steps = stretch.steps.map((step, at) => (at === place.stepIndex ? change(step) : step))
  const stretches = history.stretches.map((kept, at) => (at === place.stretchIndex ? { ...kept, steps } : kept))
  return { ...history, stretches, rerun: earlierRerun(history.rerun, place.stretchIndex, stretch.start) }
}

/** Asks for a re-run of the step that a moment lies in or ends, and all since, e.g. after a cohort was logged late. */
export function rerunFrom(history: History, atMs: number): History {
  const at = Math.max(
    0,
    history.stretches.findLastIndex((stretch) => stretch.start.atMs < atMs),
  )
  return { ...history, rerun: earlierRerun(history.rerun, at, history.stretches[at]!.start) }
}

function earlierRerun(rerun: Rerun | undefined, stretchIndex: number, filter: FilterState): Rerun {
  // A re-run that already passed this place starts again from here; one still before it will come by.
  if (rerun && rerun.stretchIndex < stretchIndex) return rerun
  return { stretchIndex, stepIndex: 0, filter }
}

/** The closed step that contains a moment (after its start, up to and with its end). */
function findStep(history: History, atMs: number): StepPlace | undefined {
  for (let stretchIndex = history.stretches.length - 1; stretchIndex >= 0; stretchIndex--) {
    const stretch = history.stretches[stretchIndex]!
    if (atMs <= stretch.start.atMs) continue
    const stepIndex = stretch.steps.findIndex((step) => atMs <= step.endMs)
    return stepIndex < 0 ? undefined : { stretchIndex, stepIndex }
  }
  return undefined
}

/** Runs at most `slots` steps of a re-run; when it has caught up with the present, its belief becomes the belief. */
export function continueRerun(
  settings: CoreSettings,
  cohorts: readonly CohortSettings[],
  history: History,
  slots: number,
): History {
  if (!history.rerun) return history
  let { stretchIndex, stepIndex, filter } = history.rerun
  const stretches = [...history.stretches]
  for (let left = slots; left > 0; ) {
    const stretch = stretches[stretchIndex]!
    if (stepIndex < stretch.steps.length) {
      filter = advance(settings, cohorts, filter, stretch.steps[stepIndex]!)
      stepIndex++
      left--
    } else if (stretchIndex + 1 < stretches.length) {
      stretchIndex++
      stepIndex = 0
      stretches[stretchIndex] = { ...stretches[stretchIndex]!, start: filter }
    } else {
      return { filter, stretches }
    }
  }
  return { ...history, stretches, rerun: { stretchIndex, stepIndex, filter } }
}

/** The history with any re-run finished. */
export function finishRerun(settings: CoreSettings, cohorts: readonly CohortSettings[], history: History): History {
  return history.rerun ? continueRerun(settings, cohorts, history, Number.POSITIVE_INFINITY) : history
}
