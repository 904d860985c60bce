/** What the core remembers. Every field is replaced, never written. */

import { type FilterState, initialFilterState } from './estimate/filter-state.ts'
import type { StepDose, StepLaboratory, TimedAct } from './estimate/grid-step.ts'
import { type History, startHistory } from './estimate/history.ts'
import type { StepSpot } from './estimate/spot.ts'
import type { LearnedMark } from './learning/learned.ts'
import type { Plan, PlanShot } from './plan/plan.ts'
import { freshSolution, type RenewalState } from './plan/renewal-task.ts'
import type { SampleNeed } from './plan/sample-need.ts'
import type { StandingNote } from './plan/standing-note.ts'
import { initialSense, type SenseState } from './sense/sense.ts'
import type { CohortSettings, CoreSettings } from './settings.ts'

/** The step of the grid that is still filling. */
export interface OpenStep {
  readonly fromMs: number
  readonly untilMs: number
  readonly doses: readonly StepDose[]
  readonly acts: readonly TimedAct[]
  readonly laboratory: readonly StepLaboratory[]
  readonly spots?: readonly StepSpot[]
}

/** A dose whose outcome was unknown when its step closed; a later word about it amends that step. */
export interface DoubtfulDose {
  readonly commandId: string
  readonly settledAtMs: number
}

export interface UntoldReport {
  readonly id: string
  readonly sampledAtMs: number
  readonly before: FilterState
}

export interface CoreState {
  readonly sense: SenseState
  readonly history: History
  readonly cohorts: readonly CohortSettings[]
  readonly open: OpenStep
  readonly utcOffsetMin: number
  readonly plan: Plan | null
  /** shots of the plan not yet asked for, in order */
  readonly shots: readonly PlanShot[]
  /** what people should know of the plans of late, each told once */
  readonly notes: readonly StandingNote[]
  readonly renewal: RenewalState
  /** when the next bottle is needed, as last worked out */
  readonly sample: SampleNeed | null
  readonly nextPlanMs: number
  readonly planCount: number
  readonly doubtful: readonly DoubtfulDose[]
  /** reports whose effect on the belief has yet to be told, with the belief from before */
  readonly untold: readonly UntoldReport[]
  /** where the lasting factors stood after each report, oldest first */
  readonly learned: readonly LearnedMark[]
  /** when the newest accepted bottle was filled */
  readonly sampledAtMs: number | null
}

/** The core of a reservoir just filled as its configuration says. */
export function initialCoreState(settings: CoreSettings, atMs: number, utcOffsetMin: number): CoreState {
  const filter: FilterState = initialFilterState(settings, atMs)
  return {
    sense: initialSense(settings),
    history: startHistory(filter),
    cohorts: settings.cohorts,
    open: openStep(settings, atMs),
    utcOffsetMin,
    plan: null,
    shots: [],
    notes: [],
    renewal: freshSolution(atMs),
    sample: null,
    nextPlanMs: atMs + settings.grid.stepMs,
    planCount: 0,
    doubtful: [],
    untold: [],
    learned: [],
    sampledAtMs: null,
  }
}

/** An empty step from a moment to the next mark of the grid, which is counted from the epoch. */
export function openStep(settings: CoreSettings, fromMs: number): OpenStep {
  const { stepMs } = settings.grid
  return { fromMs, untilMs: (Math.floor(fromMs / stepMs) + 1) * stepMs, doses: [], acts: [], laboratory: [] }
}
