/** How the core takes what happened: scans, the end of a grid step, settled shots, reports, acts by hand. */

import { ELEMENT_INDEX, isElementName } from '../chemistry/element.ts'
import { toMmolPerL } from '../chemistry/molar-mass.ts'
import type {
  GridStep,
  StepAct,
  StepDose,
  StepLaboratory,
  StepLaboratoryValue,
  TimedAct,
} from './estimate/grid-step.ts'
import { amendStep, amendStepThat, appendStep, type History, oldestMs, rerunFrom } from './estimate/history.ts'
import { VOLUME } from './estimate/layout.ts'
import type { StepSpot } from './estimate/spot.ts'
import { afterDrain } from './plan/renewal-task.ts'
import { litShareBetween } from './sense/photoperiod.ts'
import { closeStep, type FusedReadings, type RawReading, senseScan } from './sense/sense.ts'
import type { CoreSettings } from './settings.ts'
import { type CoreState, openStep } from './state.ts'

export interface Observation extends FusedReadings {
  readonly endMs: number
  readonly litShare: number
}

/** Takes a scan of one node into the windows of the open step. */
export function takeScan(
  settings: CoreSettings,
  state: CoreState,
  scan: { atMs: number; node: string; readings: readonly RawReading[] },
): CoreState {
  const sense = senseScan(settings, state.sense, scan)
  return sense === state.sense ? state : { ...state, sense }
}

/**
 * What the open step saw, once its end has come. While a shot is unsettled, EC and pH may already show what the
 * balance does not know of yet, so they are left out of that step.
 *
 * @param now a long silence is closed in long steps: after a winter without power there is nothing to fuse
 */
export function fuseOpenStep(
  settings: CoreSettings,
  state: CoreState,
  now: { readonly atMs: number; readonly isShotOpen: boolean },
): Observation {
  const { fused } = closeStep(settings, state.sense)
  const { fromMs, untilMs } = state.open
  const isSilent = state.sense.probes.every((probe) => !probe || probe.window.length === 0)
  const endMs = isSilent && now.atMs >= untilMs + SILENT_STEP_MS ? untilMs + SILENT_STEP_MS : untilMs
  const litShare = litShareBetween(settings.photoperiod, state.utcOffsetMin, fromMs, endMs)
  if (!now.isShotOpen) return { ...fused, endMs, litShare }
  const { conductivityDsPerM: _ec, ph: _ph, ...rest } = fused
  return { ...rest, endMs, litShare }
}

/** A whole number of any grid step from 1 to 60 min that divides an hour. */
const SILENT_STEP_MS = 6 * 3_600_000

/** Closes the open step with its observation (fused now, or read back from the ledger) and opens the next. */
export function takeObservation(settings: CoreSettings, state: CoreState, observation: Observation): CoreState {
  const { open } = state
  const { doses, acts, laboratory, spots } = open
  const step: GridStep = { ...observation, doses, acts, laboratory, ...(spots ? { spots } : {}) }
  const meterL = state.sense.meterAtStepL
  const closed = closeStep(settings, state.sense).sense
  // Read back from the ledger there is no window to read the meter from: its count goes on from what was counted.
  const sense =
    closed.meterAtStepL === meterL && meterL !== undefined && observation.topUpL
      ? { ...closed, meterAtStepL: meterL + observation.topUpL }
      : closed
  return {
    ...state,
    sense,
    history: appendStep(settings, state.cohorts, state.history, step),
    open: openStep(settings, observation.endMs),
  }
}

export interface SettledShot {
  readonly atMs: number
  readonly commandId: string
  readonly stock: string
  readonly isFinal: boolean
  readonly lowUl: number
  readonly highUl: number
}

/** A shot whose delivered interval is known: into the open step, or in place of what was assumed of it before. */
export function takeSettled(settings: CoreSettings, state: CoreState, shot: SettledShot): CoreState {
  const stockIndex = settings.stocks.findIndex((stock) => stock.id === shot.stock)
  if (stockIndex < 0) return state
  const earlier = state.doubtful.find((doubt) => doubt.commandId === shot.commandId)
  const others = state.doubtful.filter((doubt) => doubt !== earlier)
  const { commandId } = shot
  // It mixed from when it ran, not from when somebody at last could say how much it was.
  const atMs = earlier?.settledAtMs ?? shot.atMs
  const dose = { atMs, stockIndex, commandId, lowMl: shot.lowUl / 1000, highMl: shot.highUl / 1000 }
  const doubtful = shot.isFinal ? others : [...others, { commandId, settledAtMs: atMs }]
  // By name, not by time: one settled on the very mark of the grid stands in the step that begins there.
  const isIn = (step: Pick<GridStep, 'doses'>): boolean => step.doses.some((kept) => kept.commandId === commandId)
  if (earlier && !isIn(state.open)) {
    const history = amendStepThat(state.history, isIn, (step) => ({ ...step, doses: replaceDose(step.doses, dose) }))
    return { ...state, doubtful, history: history ?? state.history }
  }
  return { ...state, doubtful, open: { ...state.open, doses: replaceDose(state.open.doses, dose) } }
}

/** In its old place, so that the sums of the step are taken in the order they always were. */
function replaceDose(doses: readonly StepDose[], dose: StepDose): readonly StepDose[] {
  const replaced = doses.some((old) => old.commandId === dose.commandId)
    ? doses.map((old) => (old.commandId === dose.commandId ? dose : old))
    : [...doses, dose]
  return replaced.filter((kept) => kept.highMl > 0)
}

export interface LaboratoryReport {
  readonly id: string
  readonly sampledAtMs: number
  readonly values: readonly {
    readonly element: string
    readonly mgPerL?: number
    readonly sdMgPerL?: number
    readonly belowMgPerL?: number
  }[]
}

export type Taken =
  | { readonly kind: 'taken'; readonly state: CoreState }
  | { readonly kind: 'refused'; readonly why: string }

/**
 * Takes a laboratory report at the moment its bottle was filled, however late it comes; a report with a known id
 * replaces the earlier one.
 *
 * @param atMs now; a bottle cannot be filled later
 */
export function takeLaboratory(state: CoreState, report: LaboratoryReport, atMs: number): Taken {
  if (report.sampledAtMs > atMs)
    return { kind: 'refused', why: `its sample time lies ${span(report.sampledAtMs - atMs)} in the future` }
  if (report.sampledAtMs <= oldestMs(state.history)) {
    return {
      kind: 'refused',
      why: 'the bottle was filled before the oldest kept step; the report is kept as evidence and moves nothing',
    }
  }
  const values = readLaboratoryValues(report)
  if (typeof values === 'string') return { kind: 'refused', why: values }
  const { id, sampledAtMs } = report
  const without = withoutReport(state, id)
  const placed = placeInStep(without, sampledAtMs, (step) => ({
    ...step,
    laboratory: [...step.laboratory, { id, sampledAtMs, values }].toSorted(byBottle),
  }))
  const untold = [...without.untold, { id, sampledAtMs, before: state.history.filter }]
  return placed
    ? { kind: 'taken', state: { ...placed, sampledAtMs: newestBottleMs(placed), untold } }
    : { kind: 'refused', why: 'no step holds the sample time' }
}

/** Two bottles of one step count in the order they were filled, in whatever order their reports come. */
function byBottle(one: StepLaboratory, other: StepLaboratory): number {
  return one.sampledAtMs - other.sampledAtMs || (one.id < other.id ? -1 : one.id > other.id ? 1 : 0)
}

/** When the newest bottle that still counts was filled. */
function newestBottleMs({ open, history }: { open: CoreState['open']; history: History }): number | null {
  const steps = [open, ...history.stretches.flatMap((stretch) => stretch.steps)]
  const filled = steps.flatMap((step) => step.laboratory.map((report) => report.sampledAtMs))
  return filled.length === 0 ? null : Math.max(...filled)
}

/** Reports whose whole effect is in the belief by now: nothing is being run again and the bottle’s step has closed. */
export function tellReports(state: CoreState): { readonly state: CoreState; readonly told: CoreState['untold'] } {
  const { untold, history } = state
  if (untold.length === 0 || history.rerun) return { state, told: [] }
  const told = untold.filter((report) => report.sampledAtMs <= history.filter.atMs)
  return told.length === 0
    ? { state, told }
    : { state: { ...state, untold: untold.filter((report) => !told.includes(report)) }, told }
}

/** Takes a report back; the estimate becomes what it would have been without it. The very same state if there is none. */
export function withdrawLaboratory(state: CoreState, id: string): CoreState {
  const without = withoutReport(state, id)
  if (without.open === state.open && without.history === state.history) return state
  return { ...without, sampledAtMs: newestBottleMs(without) }
}

function withoutReport(state: CoreState, id: string): CoreState {
  const drop = (step: { readonly laboratory: readonly StepLaboratory[] }): readonly StepLaboratory[] =>
    step.laboratory.filter((kept) => kept.id !== id)
  const open = state.open.laboratory.some((kept) => kept.id === id)
    ? { ...state.open, laboratory: drop(state.open) }
    : state.open
  let history = state.history
  for (const stretch of history.stretches) {
    for (const step of stretch.steps) {
      if (!step.laboratory.some((kept) => kept.id === id)) continue
      history = amendStep(history, step.endMs, (kept) => ({ ...kept, laboratory: drop(kept) })) ?? history
    }
  }
  return { ...state, open, history, untold: state.untold.filter((report) => report.id !== id) }
}

type ChangeStep = <S extends Pick<GridStep, 'acts' | 'laboratory' | 'spots'>>(step: S) => S

/** Puts something into the step in which it happened, closed or open; undefined where no kept step holds it. */
function placeInStep(state: CoreState, atMs: number, change: ChangeStep): CoreState | undefined {
  if (atMs > state.open.fromMs) return { ...state, open: change(state.open) }
  const history = amendStep(state.history, atMs, change)
  return history && { ...state, history }
}

/** The values as the filter takes them, or why they cannot be taken. */
export function readLaboratoryValues(report: LaboratoryReport): readonly StepLaboratoryValue[] | string {
  const values: StepLaboratoryValue[] = []
  for (const value of report.values) {
    const read = readValue(value)
    if (typeof read === 'string') return read
    values.push(read)
  }
  return values.length === 0 ? 'the report has no value of a tracked element' : values
}

/** Suggested standard deviations of one laboratory: majors 4 %, micros 8 %, ammonium 10 %, bottle against tank 1.5 %. */
const MAJOR_SD = 0.04
const MICRO_SD = 0.08
const AMMONIUM_SD = 0.1
const BOTTLE_SD = 0.015
const MAJOR_FLOOR_MG_PER_L = 0.1
const MICRO_FLOOR_MG_PER_L = 0.01

function readValue(value: LaboratoryReport['values'][number]): StepLaboratoryValue | string {
  const { element } = value
  if (!isElementName(element)) return `${element} is not an element that is tracked`
  const elementIndex = ELEMENT_INDEX[element]
  if (value.belowMgPerL !== undefined) {
    // A flat belief between 0 and the limit has this mean and standard deviation.
    if (!(value.belowMgPerL > 0 && value.belowMgPerL < 1e5))
      return `${element}: a detection limit of ${value.belowMgPerL} mg/L cannot be`
    const limit = toMmolPerL(element, value.belowMgPerL)
    return { elementIndex, mmolPerL: limit / 2, sdMmolPerL: limit / Math.sqrt(12) }
  }
  const mgPerL = value.mgPerL ?? Number.NaN
  if (!(mgPerL >= 0 && mgPerL < 1e5)) return `${element}: ${value.mgPerL} mg/L cannot be; 0 to 100 000 is allowed`
  const isMicro = elementIndex >= ELEMENT_INDEX.Fe
  const relative = isMicro ? MICRO_SD : element === 'NH4-N' ? AMMONIUM_SD : MAJOR_SD
  if (value.sdMgPerL !== undefined && !(value.sdMgPerL > 0 && value.sdMgPerL < 1e5))
    return `${element}: a standard deviation of ${value.sdMgPerL} mg/L cannot be; above 0 is allowed`
  const analysis = value.sdMgPerL ?? Math.max(relative * mgPerL, isMicro ? MICRO_FLOOR_MG_PER_L : MAJOR_FLOOR_MG_PER_L)
  const sdMgPerL = Math.hypot(analysis, BOTTLE_SD * mgPerL)
  return { elementIndex, mmolPerL: toMmolPerL(element, mgPerL), sdMmolPerL: toMmolPerL(element, sdMgPerL) }
}

/** Takes a person’s handheld reading at the moment it was read, however late it is written down. */
export function takeSpot(state: CoreState, spot: StepSpot, atMs: number): Taken {
  if (spot.readAtMs > atMs) return { kind: 'refused', why: `read ${span(spot.readAtMs - atMs)} in the future` }
  const placed = placeInStep(state, spot.readAtMs, (step) => ({
    ...step,
    spots: [...(step.spots ?? []), spot].toSorted((one, other) => one.readAtMs - other.readAtMs),
  }))
  return placed ? { kind: 'taken', state: placed } : { kind: 'refused', why: 'read before the oldest kept step' }
}

/** Takes something done by hand to the water, at the moment it was done. */
export function takeWaterAct(state: CoreState, act: StepAct, doneAtMs: number, atMs: number): Taken {
  if (doneAtMs > atMs) return { kind: 'refused', why: `done ${span(doneAtMs - atMs)} in the future` }
  const timed: TimedAct = { ...act, doneAtMs }
  const placed = placeInStep(state, doneAtMs, (step) => ({
    ...step,
    acts: [...step.acts, timed].toSorted((one, other) => one.doneAtMs - other.doneAtMs),
  }))
  if (!placed) return { kind: 'refused', why: 'done before the oldest kept step' }
  if (act.act !== 'drained') return { kind: 'taken', state: placed }
  const renewal = afterDrain(state.renewal, act.volumeL, state.history.filter.mean[VOLUME]!, doneAtMs)
  return { kind: 'taken', state: { ...placed, renewal } }
}

/**
 * Takes plants that came or went; what they drank since is run again. A cohort of a known id replaces it, and what the
 * old one drank is run again too. It keeps its place, so that a re-run sums the cohorts in the order they always were.
 */
export function takeCohort(state: CoreState, cohort: CoreState['cohorts'][number], changedAtMs: number): CoreState {
  const old = state.cohorts.find((kept) => kept.id === cohort.id)
  const cohorts = old ? state.cohorts.map((kept) => (kept === old ? cohort : kept)) : [...state.cohorts, cohort]
  const isMoved = old !== undefined && (old.transplantedAtMs !== cohort.transplantedAtMs || old.crop !== cohort.crop)
  const sinceMs = isMoved ? Math.min(old.transplantedAtMs, changedAtMs) : changedAtMs
  // What happened on a mark belongs to the step that ends there, which is closed already.
  const history = sinceMs <= state.open.fromMs ? rerunFrom(state.history, sinceMs) : state.history
  return { ...state, cohorts, history }
}

/** A length of time in the unit that people would use for it. */
function span(ms: number): string {
  const minutes = Math.max(1, Math.round(ms / 60_000))
  if (minutes < 120) return `${minutes} min`
  const hours = Math.round(minutes / 60)
  return hours < 48 ? `${hours} h` : `${Math.round(hours / 24)} days`
}
