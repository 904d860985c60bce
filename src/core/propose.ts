/** From belief to plan, and from plan to the next shot worth asking for. */

import { alkalinityFromPh } from '../chemistry/acidity.ts'
import { conductivityGradient, GRADIENT_LENGTH } from '../chemistry/conductivity.ts'
import { ELEMENT_COUNT } from '../chemistry/element.ts'
import { logPco2Of } from './estimate/carbon-dioxide.ts'
import { DELIVERY_FACTOR } from './estimate/layout.ts'
import { isUnsettled } from './estimate/memory.ts'
import { levelsOf } from './estimate/summary.ts'
import { benchBands } from './plan/bands.ts'
import { forecastNext } from './plan/forecast.ts'
import type { Headroom } from './plan/headroom.ts'
import { tracePaths } from './plan/level-path.ts'
import type { Plan, PlanShot } from './plan/plan.ts'
import { findPlanFault } from './plan/plan-fault.ts'
import type { PlanInput } from './plan/plan-input.ts'
import { plan } from './plan/planner.ts'
import { findRenewal, renewalTask } from './plan/renewal.ts'
import { afterPlan, type RenewalState, type RenewalTask, solutionAgeMs } from './plan/renewal-task.ts'
import { type SampleNeed, sampleNeed, sampleNote } from './plan/sample-need.ts'
import { standingNotes } from './plan/standing-note.ts'
import { latestOf } from './sense/sense.ts'
import type { CoreSettings } from './settings.ts'
import type { CoreState } from './state.ts'

const DAY_MS = 86_400_000

/**
 * Whether it is time for a new plan: none is made while an old belief is still being run again, nor while readings
 * contradict it; within the hour they return or the estimate gives way.
 */
export function isPlanDue(state: CoreState, atMs: number): boolean {
  return atMs >= state.nextPlanMs && state.history.rerun === undefined && !isUnsettled(state.history.filter.memory)
}

export interface PlanMoment {
  readonly atMs: number
  /** shots may follow from it; otherwise the plan shows what would be done, whatever blocks it */
  readonly isActing: boolean
}

/**
 * Makes the next plan from the belief as it stands and the headroom that safety left; the same plan stands where it was
 * blocked altogether and still is.
 */
export function proposePlan(settings: CoreSettings, state: CoreState, headroom: Headroom, at: PlanMoment): CoreState {
  const { atMs, isActing } = at
  if (isActing && isStillBlocked(settings, state, headroom, atMs)) {
    return { ...state, nextPlanMs: atMs + settings.grid.stepMs }
  }
  const planId = `plan-${state.planCount + 1}-${Math.round(atMs / 1000)}`
  const owed = isActing && state.plan ? { owed: state.plan.left } : {}
  const input = planInput(settings, state, headroom, atMs, planId)
  const renewal = nextRenewal(settings, state, input)
  const sample = nextSample(settings, state, input)
  const told = withSample(plan({ ...input, ...owed, ignoreBlocks: !isActing }), sample, settings)
  const made = withTask(told, renewal.task)
  return {
    ...state,
    plan: made,
    renewal,
    sample,
    shots: made.shots,
    notes: standingNotes(state.notes, made),
    planCount: state.planCount + 1,
    nextPlanMs: atMs + (isActing && isAllBlocked(made) ? settings.grid.stepMs : settings.planning.intervalMs),
  }
}

/** The renewal that is asked for after this plan, if any; one already asked for stands until it is done or needless. */
function nextRenewal(settings: CoreSettings, state: CoreState, input: PlanInput): RenewalState {
  const { atMs, day } = input
  if (day === undefined || findPlanFault(input) !== undefined) return state.renewal
  const ageMs = solutionAgeMs(state.renewal, atMs)
  const facts = { input, day, paths: tracePaths(input), ageMs, isSet: state.renewal.task !== null }
  const isMetered = settings.probes.some(({ role }) => role === 'top-up')
  return afterPlan(state.renewal, findRenewal(facts), atMs, (renewal) => renewalTask(renewal, isMetered))
}

/** Worked out once a day and after each report: it costs as much as a few hours of the filter. */
function nextSample(settings: CoreSettings, state: CoreState, input: PlanInput): SampleNeed | null {
  const { sample, sampledAtMs, history } = state
  const isFresh = sample !== null && sample.sampledAtMs === sampledAtMs && input.atMs - sample.atMs < DAY_MS
  if (isFresh || findPlanFault(input) !== undefined) return sample
  return sampleNeed(settings, state.cohorts, history.filter, input.bands, sampledAtMs)
}

function withSample(made: Plan, sample: SampleNeed | null, settings: CoreSettings): Plan {
  const text = sample === null ? undefined : sampleNote(sample, made.atMs, settings.planning.sdMaxShare)
  if (text === undefined || sample?.first === undefined) return made
  const { element, byMs, sdShare } = sample.first
  return { ...made, notes: [...made.notes, { kind: 'sample', element, text, figures: { byMs, sdShare } }] }
}

function withTask(made: Plan, task: RenewalTask | null): Plan {
  if (task === null) return made
  const about = task.element === undefined ? {} : { element: task.element }
  const figures = { volumeL: task.volumeL, slices: task.slices, drainedL: task.drainedL }
  const note = { kind: 'renewal' as const, ...about, text: task.text, figures }
  return { ...made, renewal: task, notes: [note, ...made.notes] }
}

/** A plan that was blocked altogether is not made again, and not told again, while everything is blocked still. */
function isStillBlocked(settings: CoreSettings, state: CoreState, headroom: Headroom, atMs: number): boolean {
  const { plan: last } = state
  if (!last || !isAllBlocked(last) || atMs >= last.atMs + settings.planning.intervalMs) return false
  return headroom.stocks.every((stock) => stock.blockedBy.length > 0)
}

/** Nothing may run just now, for a reason that may be gone in minutes: the crop should not wait a whole interval for it. */
function isAllBlocked(made: Plan): boolean {
  return made.shots.length === 0 && made.notes.some((note) => note.kind === 'blocked')
}

function planInput(
  settings: CoreSettings,
  state: CoreState,
  headroom: Headroom,
  atMs: number,
  planId: string,
): PlanInput {
  const { filter } = state.history
  const levels = levelsOf(filter)
  const bands = benchBands(settings, state.cohorts, atMs)
  const untilMs = atMs + settings.planning.intervalMs
  const { utcOffsetMin } = state
  const forecast = forecastNext(settings, state.cohorts, filter, { fromMs: atMs, untilMs, utcOffsetMin })
  const dayEnd = { fromMs: atMs, untilMs: atMs + DAY_MS, utcOffsetMin }
  const carbon = logPco2Of(filter)
  const gradient = new Float64Array(GRADIENT_LENGTH)
  const conductivityDsPerM = conductivityGradient(levels.mmolPerL, filter.ph, carbon, gradient)
  const readPh = freshPh(settings, state, atMs)
  const phOf = (ph: number | undefined) =>
    ph === undefined ? {} : { ph, alkalinityAtPhMeqPerL: alkalinityFromPh(levels.mmolPerL, ph, carbon) }
  return {
    settings,
    atMs,
    planId,
    estimate: {
      ...levels,
      alkalinitySdMeqPerL: ALKALINITY_SD_MEQ_PER_L,
      ...phOf(readPh),
      conductivityDsPerM,
    },
    forecast,
    day: forecastNext(settings, state.cohorts, filter, dayEnd),
    bands: bands.elements,
    phBand: bands.ph,
    alkalinityAim: {
      lowMeqPerL: alkalinityFromPh(levels.mmolPerL, bands.ph.low, carbon),
      aimMeqPerL: alkalinityFromPh(levels.mmolPerL, bands.ph.aim, carbon),
      highMeqPerL: alkalinityFromPh(levels.mmolPerL, bands.ph.high, carbon),
    },
    headroom,
    responses: { conductivityDsPerMPerMmolPerL: gradient.subarray(0, ELEMENT_COUNT) },
    deliveryFactor: Float64Array.from(settings.stocks, (_stock, at) => Math.exp(filter.mean[DELIVERY_FACTOR + at]!)),
    sampleAgeDays: state.sampledAtMs === null ? undefined : (atMs - state.sampledAtMs) / DAY_MS,
    waits: { mixingMs: settings.reservoir.mixingMs, apartMs: (stock, other) => apartMs(settings, stock, other) },
  }
}

/** A pH of an hour ago says nothing of the dose to come: older than one step of the grid it is no pH. */
function freshPh(settings: CoreSettings, state: CoreState, atMs: number): number | undefined {
  const read = latestOf(settings, state.sense, 'ph')
  return read !== undefined && atMs - read.atMs <= settings.grid.stepMs ? read.value : undefined
}

/** What pH leaves uncertain of the alkalinity once it is read every step. A judgement. */
const ALKALINITY_SD_MEQ_PER_L = 0.03
const APART_MS = 20 * 60_000

/** Time the planner leaves between stocks that must not meet; the limits decide what is enough. */
function apartMs(settings: CoreSettings, stock: string, other: string): number {
  const kinds = settings.stocks.filter(({ id }) => id === stock || id === other).map(({ kind }) => kind)
  return kinds.includes('calcium') && kinds.includes('phosphate-sulfate') ? APART_MS : 0
}

export interface NextShot {
  readonly stock: string
  readonly volumeUl: number
  readonly planId: string
}

/**
 * The shot to ask for now, if its time has come and safety has room for it. A shot larger than the present room is
 * cut to it when that is still worth a run; the rest stays a gap for the next plan.
 *
 * @param roomUlOf the largest shot of a stock that would be permitted now, µL; 0 where none would
 */
export function nextShot(
  settings: CoreSettings,
  state: CoreState,
  roomUlOf: (stock: string) => number,
  atMs: number,
): { readonly state: CoreState; readonly shot: NextShot } | undefined {
  if (!state.plan) return undefined
  for (let at = 0; at < state.shots.length; at++) {
    const candidate = state.shots[at]!
    if (candidate.notBeforeMs > atMs) continue
    const smallest =
      settings.stocks.find((stock) => stock.id === candidate.stock)?.shotMinUl ?? Number.POSITIVE_INFINITY
    const volumeUl = Math.min(candidate.volumeUl, roomUlOf(candidate.stock))
    if (volumeUl < smallest) continue
    const shots = state.shots.filter((_shot, place) => place !== at)
    return { state: { ...state, shots }, shot: { stock: candidate.stock, volumeUl, planId: state.plan.id } }
  }
  return undefined
}

/** Whether any shot of the plan waits for its turn; without one the headroom need not be worked out. */
export function hasDueShot(state: CoreState, atMs: number): boolean {
  if (isUnsettled(state.history.filter.memory)) return false
  return state.shots.some((shot: PlanShot) => shot.notBeforeMs <= atMs)
}
