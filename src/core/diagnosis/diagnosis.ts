/**
 * What may have gone wrong unseen, ranked: the recorded days are run again as if each suspicion were true, and what
 * explains the readings best comes first. Asked for by a person, never by the loop: it moves no estimate and no pump.
 */

import { advanceTelling, type Surprise } from '../estimate/advance.ts'
import type { FilterState } from '../estimate/filter-state.ts'
import type { GridStep } from '../estimate/grid-step.ts'
import type { History } from '../estimate/history.ts'
import type { CohortSettings, CoreSettings } from '../settings.ts'
import { logLikelihood, logMean, type Scales, usualScales, WITNESS_SHARE } from './evidence.ts'
import { probeSuspicions } from './probe-suspicions.ts'
import { stockSuspicions } from './stock-suspicions.ts'
import type { Suspicion, Variant } from './suspicion.ts'
import { waterSuspicions } from './water-suspicions.ts'

const DAY_MS = 86_400_000
/** Long enough for a drift to show, short enough that the days before it are still right. A judgement. */
const WINDOW_MS = 6 * DAY_MS
/** Where in the window a trouble may have begun, as shares of it. */
const ONSETS = [0.1, 0.45, 0.75] as const
/** Below this share a suspicion is not worth a sentence. */
const TOLD_LEAST = 0.05

export interface Explanation {
  readonly id: string
  /** posterior share among all suspicions and "nothing is wrong", 0 to 1 */
  readonly share: number
  readonly sinceMs: number
  /** what seems to have happened */
  readonly sentence: string
  /** how to find out */
  readonly check: string
}

export interface Diagnosis {
  readonly fromMs: number
  readonly untilMs: number
  /** share of "nothing out of the ordinary" */
  readonly nothingShare: number
  /** likeliest first; empty where nothing is worth a sentence */
  readonly explanations: readonly Explanation[]
}

/**
 * Compares every suspicion over the last days that are kept, a few milliseconds between two pauses, so that a caller can
 * let other work by: `for (const pause of …)` or `next()` until done.
 *
 * @returns by way of the generator: undefined where less than a day is kept
 *
 * Bayesian comparison of models by their marginal likelihood, with Kalman innovations; Kass & Raftery 1995, J. Am.
 * Stat. Assoc. 90:773 (from memory).
 */
export function* diagnose(
  settings: CoreSettings,
  cohorts: readonly CohortSettings[],
  history: History,
): Generator<undefined, Diagnosis | undefined> {
  const course = courseOf(history)
  const untilMs = course.steps.at(-1)?.endMs
  if (untilMs === undefined || untilMs - course.start.atMs < DAY_MS) return undefined
  const fromMs = course.start.atMs
  const asRecorded = yield* runAll(settings, cohorts, course)
  const onsetsMs = [...ONSETS.map((share) => fromMs + share * (untilMs - fromMs)), strangestMs(course, asRecorded)]
  const weighed: { suspicion: Suspicion; best: Variant; log: number }[] = []
  for (const suspicion of suspicionsOf(settings, course.steps, onsetsMs)) {
    const gains: number[] = []
    for (const variant of suspicion.variants) {
      gains.push(yield* gainOf({ settings, cohorts, course, asRecorded }, variant))
    }
    const best = suspicion.variants[gains.indexOf(Math.max(...gains))]!
    weighed.push({ suspicion, best, log: Math.log(suspicion.prior) + WITNESS_SHARE * logMean(gains) })
  }
  return { fromMs, untilMs, ...rank(weighed) }
}

function suspicionsOf(
  settings: CoreSettings,
  steps: readonly GridStep[],
  onsetsMs: readonly number[],
): readonly Suspicion[] {
  return [
    ...probeSuspicions(settings, onsetsMs),
    ...stockSuspicions(settings, steps, onsetsMs),
    ...waterSuspicions(settings, onsetsMs),
  ]
}

interface Course {
  readonly start: FilterState
  readonly steps: readonly GridStep[]
}

/** The kept steps of the window, from the belief at its start. */
function courseOf(history: History): Course {
  const nowMs = history.filter.atMs
  const at = Math.max(
    0,
    history.stretches.findLastIndex((stretch) => stretch.start.atMs <= nowMs - WINDOW_MS),
  )
  const kept = history.stretches.slice(at)
  return { start: kept[0]!.start, steps: kept.flatMap((stretch) => stretch.steps) }
}

interface Run {
  /** belief before each step */
  readonly before: readonly FilterState[]
  /** log likelihood of each step’s readings */
  readonly logs: readonly number[]
  readonly scales: Scales
}

/** Steps between two pauses: about a millisecond, four on a small board. */
const STEPS_A_PAUSE = 12

function* runAll(
  settings: CoreSettings,
  cohorts: readonly CohortSettings[],
  course: Course,
): Generator<undefined, Run> {
  const before: FilterState[] = []
  const surprises: (readonly Surprise[])[] = []
  let filter = course.start
  for (const step of course.steps) {
    if (before.length % STEPS_A_PAUSE === 0) yield
    before.push(filter)
    const told = advanceTelling(settings, cohorts, filter, step)
    surprises.push(told.surprises)
    filter = told.filter
  }
  const scales = usualScales(surprises.flat())
  return { before, logs: surprises.map((one) => logLikelihood(one, scales)), scales }
}

/** A moment in the first step that surprised about as much as any: what happened all at once, happened there. */
function strangestMs({ steps }: Course, { logs }: Run): number {
  const least = Math.min(...logs)
  return steps[logs.findIndex((log) => log <= ABOUT_AS_MUCH * least)]!.endMs - 1
}

const ABOUT_AS_MUCH = 0.8

/** How much better the readings since the variant’s onset are explained by it than by nothing. */
function* gainOf(
  {
    settings,
    cohorts,
    course,
    asRecorded,
  }: {
    readonly settings: CoreSettings
    readonly cohorts: readonly CohortSettings[]
    readonly course: Course
    readonly asRecorded: Run
  },
  variant: Variant,
): Generator<undefined, number> {
  const first = course.steps.findIndex((step) => step.endMs >= variant.sinceMs)
  if (first < 0) return 0
  let filter = asRecorded.before[first]!
  let gain = 0
  for (let at = first; at < course.steps.length; at++) {
    if (at % STEPS_A_PAUSE === 0) yield
    const recorded = course.steps[at]!
    const changed = variant.change(recorded)
    const told = advanceTelling(settings, cohorts, filter, changed)
    gain += logLikelihood(told.surprises, scaledBy(recorded, changed, asRecorded.scales)) - asRecorded.logs[at]!
    filter = told.filter
  }
  return gain
}

/** A reading made smaller is not a better one: its surprises count in its own, smaller measure. */
function scaledBy(recorded: GridStep, changed: GridStep, scales: Scales): Scales {
  const { conductivityDsPerM: from } = recorded
  const { conductivityDsPerM: to } = changed
  if (from === undefined || to === undefined || from === to || !(from > 0 && to > 0)) return scales
  return { ...scales, conductivity: (scales.conductivity * to) / from }
}

function rank(
  weighed: readonly { suspicion: Suspicion; best: Variant; log: number }[],
): Pick<Diagnosis, 'nothingShare' | 'explanations'> {
  const nothing = 1 - weighed.reduce((sum, { suspicion }) => sum + suspicion.prior, 0)
  const logNothing = Math.log(Math.max(nothing, 0.2))
  const largest = Math.max(logNothing, ...weighed.map(({ log }) => log))
  const total = weighed.reduce((sum, { log }) => sum + Math.exp(log - largest), Math.exp(logNothing - largest))
  const explanations = weighed
    .map(({ suspicion, best, log }): Explanation => {
      const share = Math.exp(log - largest) / total
      return { id: suspicion.id, share, sinceMs: best.sinceMs, sentence: suspicion.tell(best), check: suspicion.check }
    })
    .filter(({ share }) => share >= TOLD_LEAST)
    .sort((one, other) => other.share - one.share)
  return { nothingShare: Math.exp(logNothing - largest) / total, explanations }
}
