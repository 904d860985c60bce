/**
 * How the bands might have gone under other limits: a model. The planner and the gate are run forward over recorded
 * weeks on the balance that the site has learned, since past readings cannot tell what other doses would have brought.
 *
 * What stays as recorded: the crop’s learned appetite and thirst hour by hour, what readings and reports showed beyond
 * the balance, the light, and what people did. What is only a model: the doses, hour by hour, by a planner that believes
 * what the balance holds, and a gate whose nodes obey and whose probes read true. Bands are counted for that belief with
 * what the next report showed it to have been off by. Both sides of the comparison are the model’s own.
 */

import { phFromAlkalinity } from '../chemistry/acidity.ts'
import { ELEMENT_COUNT, ELEMENT_INDEX, MACRONUTRIENTS } from '../chemistry/element.ts'
import { logPco2Of } from '../core/estimate/carbon-dioxide.ts'
import { demandBetween } from '../core/estimate/demand.ts'
import type { FilterState } from '../core/estimate/filter-state.ts'
import type { GridStep, StepDose } from '../core/estimate/grid-step.ts'
import type { Stretch } from '../core/estimate/history.ts'
import { GROWTH, VOLUME } from '../core/estimate/layout.ts'
import { predictedConductivityDsPerM } from '../core/estimate/measure.ts'
import { predict } from '../core/estimate/predict.ts'
import { levelsOf } from '../core/estimate/summary.ts'
import { drawnOverCurve } from '../core/estimate/uptake.ts'
import { benchBands } from '../core/plan/bands.ts'
import { nextShot, proposePlan } from '../core/propose.ts'
import { litShareBetween } from '../core/sense/photoperiod.ts'
import type { BandSettings } from '../core/settings.ts'
import type { CoreState } from '../core/state.ts'
import { pruneBook, settleInBook } from '../safety/book.ts'
import { headroom, shotRoom } from '../safety/headroom.ts'
import { takeMeter } from '../safety/make-up.ts'
import { initialSafetyState, type SafetyState } from '../safety/state.ts'
import { DRAWS, offBy, triangleOf } from './drawn-doubt.ts'
import type { RecordedHour } from './recorded-hours.ts'
import type { ReservoirSettings } from './state.ts'

const HOUR_MS = 3_600_000
/** A node that has run for long, with a pump that may run for long: what nodes do is not what is asked here. */
const NODE = { maxRunMs: 600_000, group: null, totalRunMs: 0, doubtMs: 0, boot: 'model', uptimeMs: 0, runningId: null }

/** The place after the elements, of hours in which all six that crops take most of were inside their bands. */
export const ALL_SIX = ELEMENT_COUNT
const SIX: ReadonlySet<number> = new Set(MACRONUTRIENTS.map((name) => ELEMENT_INDEX[name]))

export interface BandShares {
  /** hours inside the band, by element in the order of ELEMENTS, then of all six */
  readonly inside: Float64Array
  /** hours inside the band if the truth lay beside that as each draw has it */
  readonly insideByDraw: readonly Float64Array[]
  readonly hours: number
  /** make-up water, L */
  readonly makeUpL: number
  readonly dosedMl: number
}

export interface ModelRun {
  readonly settings: ReservoirSettings
  readonly core: CoreState
  /** kept beliefs to go by, oldest first; the first is where the model begins */
  readonly stretches: readonly Stretch[]
  /** what those weeks tell of each hour from there on; the model ends with them */
  readonly hours: readonly RecordedHour[]
}

export interface BandShare {
  /** part of all hours inside the band, by the belief and what later reports showed of it */
  readonly share: number
  /** where nine of ten truths beside that would put it */
  readonly low90: number
  readonly high90: number
}

/** What a run comes to for one element, by its place in ELEMENTS, or for ALL_SIX. */
export function bandShareOf({ inside, insideByDraw, hours }: BandShares, at: number): BandShare {
  const share = inside[at]! / hours
  const drawn = insideByDraw.map((one) => one[at]! / hours).sort((one, other) => one - other)
  const outside = Math.floor(drawn.length / 20)
  return { share, low90: Math.min(share, drawn[outside]!), high90: Math.max(share, drawn.at(-1 - outside)!) }
}

/** One run, an hour at a time; each `yield` is a moment at which others may have their turn. */
export function* runModel(run: ModelRun): Generator<undefined, BandShares> {
  const { settings, stretches } = run
  const first = stretches[0]!.start
  let filter: FilterState = first
  let core: CoreState = { ...run.core, plan: null, shots: [], notes: [], nextPlanMs: first.atMs }
  let safety = obedient(settings)
  const inside = new Float64Array(ALL_SIX + 1)
  const insideByDraw = DRAWS.map(() => new Float64Array(ALL_SIX + 1))
  let makeUpL = 0
  let dosedMl = 0
  for (const [place, hour] of run.hours.entries()) {
    const atMs = first.atMs + place * HOUR_MS
    filter = withLearned(filter, hour, doubtAt(stretches, atMs))
    const sampledAtMs = sampledBefore(stretches, atMs)
    const told = { ...core, sampledAtMs, history: { ...core.history, filter } }
    const dosed = dose(settings, { core: told, safety: metered(settings, safety, makeUpL, atMs) }, atMs)
    core = dosed.core
    safety = dosed.safety
    const step = stepOf(settings, { core, filter, stretches }, atMs, dosed.doses)
    filter = withPh(corrected(predict(settings.core, core.cohorts, filter, step), hour))
    makeUpL += step.topUpL
    dosedMl += dosed.doses.reduce((sum, { highMl }) => sum + highMl, 0)
    const { elements } = benchBands(settings.core, core.cohorts, filter.atMs)
    const triangle = triangleOf(filter.covariance)
    const later = hour.hindsightMmol
    markBands(elements, filter, inside, (at) => later[at]!)
    for (const [draw, normals] of DRAWS.entries())
      markBands(elements, filter, insideByDraw[draw]!, (at) => later[at]! + offBy(triangle, normals, at))
    yield undefined
  }
  return { inside, insideByDraw, hours: run.hours.length, makeUpL, dosedMl }
}

/** Learned factors as they were in that hour; amounts are the model’s own, and so is only their doubt as recorded. */
function withLearned(filter: FilterState, hour: RecordedHour, covariance: Float64Array): FilterState {
  const mean = filter.mean.slice()
  for (let at = GROWTH; at < mean.length; at++) mean[at] = hour.mean[at]!
  return { ...filter, mean, covariance }
}

function doubtAt(stretches: readonly Stretch[], atMs: number): Float64Array {
  return (stretches.findLast(({ start }) => start.atMs <= atMs) ?? stretches[0]!).start.covariance
}

/** What readings and reports showed beyond the balance happened whatever was dosed. */
function corrected(filter: FilterState, { correctedMmol }: RecordedHour): FilterState {
  const mean = filter.mean.slice()
  for (let at = 0; at < ELEMENT_COUNT; at++) mean[at] = Math.max(0, mean[at]! + correctedMmol[at]!)
  return { ...filter, mean }
}

function withPh(filter: FilterState): FilterState {
  const { mmolPerL, alkalinityMeqPerL } = levelsOf(filter)
  return { ...filter, ph: phFromAlkalinity(mmolPerL, alkalinityMeqPerL, logPco2Of(filter)) }
}

function sampledBefore(stretches: readonly Stretch[], atMs: number): number | null {
  let newest: number | null = null
  for (const { steps } of stretches)
    for (const { endMs, laboratory } of steps)
      if (endMs <= atMs && laboratory.length > 0) newest = Math.max(newest ?? 0, laboratory.at(-1)!.sampledAtMs)
  return newest
}

/** One hour of the balance: what people did as recorded, and the float valve that fills up what went. */
function stepOf(
  settings: ReservoirSettings,
  moment: { readonly core: CoreState; readonly filter: FilterState; readonly stretches: readonly Stretch[] },
  atMs: number,
  doses: readonly StepDose[],
): GridStep & { readonly topUpL: number } {
  const { core, filter, stretches } = moment
  const endMs = atMs + HOUR_MS
  const litShare = litShareBetween(settings.core.photoperiod, core.utcOffsetMin, atMs, endMs)
  const acts = stretches.flatMap(({ steps }) =>
    steps.flatMap((step) => (step.endMs > atMs && step.endMs <= endMs ? step.acts : [])),
  )
  const { waterL } = demandBetween(settings.core, core.cohorts, { fromMs: atMs, untilMs: endMs, litShare })
  const drained = acts.reduce((sum, act) => sum + (act.act === 'drained' ? act.volumeL : 0), 0)
  const dosedL = doses.reduce((sum, { highMl }) => sum + highMl / 1000, 0)
  const topUpL = Math.max(0, waterL * drawnOverCurve(filter.mean) + drained - dosedL)
  return { endMs, litShare, doses, acts, laboratory: [], topUpL }
}

/** A gate with nothing against it but its own limits; bottles are not reckoned with. */
function obedient({ limits }: ReservoirSettings): SafetyState {
  const state = initialSafetyState(limits)
  const pumps = (node: string) =>
    Object.fromEntries(limits.stocks.flatMap((stock) => (stock.node === node ? [[stock.pump, NODE]] : [])))
  const nodes = Object.keys(state.nodes).map((node) => [
    node,
    { ...state.nodes[node]!, online: true, contractKnown: true, boot: NODE.boot, pumps: pumps(node) },
  ])
  return { ...state, started: true, term: 1, mode: 'automatic', nodes: Object.fromEntries(nodes), switchHeld: null }
}

/** The hour’s make-up water as its meter would have shown it, often enough to be credited. */
function metered({ limits }: ReservoirSettings, safety: SafetyState, counterL: number, atMs: number): SafetyState {
  const { meter } = limits
  if (meter === undefined) return safety
  const before = safety.makeUp.last ?? { counterL: 0, atMs: atMs - HOUR_MS }
  let { makeUp } = safety
  for (let part = 1; part <= METER_PARTS; part++) {
    const share = part / METER_PARTS
    const reading = { counterL: before.counterL + share * (counterL - before.counterL), isGood: true }
    makeUp = takeMeter(meter, makeUp, { ...reading, atMs: before.atMs + share * (atMs - before.atMs) })
  }
  return { ...safety, makeUp }
}

const METER_PARTS = 12
/** Between two looks for a shot whose time may have come. */
const LOOK_MS = 300_000
/** A command is settled soon after its run. */
const REPORT_MS = 30_000

interface Dosing {
  readonly core: CoreState
  readonly safety: SafetyState
}

/** Plans where it is time to, and gives what the gate permits within the hour. */
function dose(
  settings: ReservoirSettings,
  before: Dosing,
  fromMs: number,
): Dosing & { readonly doses: readonly StepDose[] } {
  let { core } = before
  let safety = seen(settings, before, fromMs)
  if (fromMs >= core.nextPlanMs) {
    const phAt = settings.core.probes.findIndex(({ role }) => role === 'ph')
    const probes = core.sense.probes.map((probe, at) =>
      at === phAt ? { value: core.history.filter.ph, atMs: fromMs, window: [] } : probe,
    )
    const sample = { atMs: fromMs, sampledAtMs: core.sampledAtMs, elements: [] }
    const told = { ...core, sample, sense: { ...core.sense, probes } }
    core = proposePlan(settings.core, told, headroom(settings.limits, safety, fromMs), { atMs: fromMs, isActing: true })
  }
  const doses: StepDose[] = []
  for (let atMs = fromMs; atMs < fromMs + HOUR_MS && core.shots.length > 0; ) {
    const dueMs = Math.min(...core.shots.map(({ notBeforeMs }) => notBeforeMs))
    if (dueMs > atMs) {
      atMs = dueMs
      continue
    }
    safety = seen(settings, { core, safety }, atMs)
    const next = nextShot(settings.core, core, shotRoom(settings.limits, safety, atMs), atMs)
    if (!next) {
      atMs += LOOK_MS
      continue
    }
    core = next.state
    const { stock, volumeUl } = next.shot
    const commandId = `${atMs}-${doses.length}`
    const endMs = atMs + REPORT_MS
    const delivered = { lowUl: volumeUl, highUl: volumeUl }
    const book = settleInBook(settings.limits, safety.book, { atMs: endMs, commandId, stock, delivered })
    safety = { ...safety, book: pruneBook(book, atMs) }
    const stockIndex = settings.core.stocks.findIndex(({ id }) => id === stock)
    doses.push({ atMs: endMs, stockIndex, commandId, lowMl: volumeUl / 1000, highMl: volumeUl / 1000 })
    atMs = endMs
  }
  return { core, safety, doses }
}

/** What true probes would show of the balance. */
function seen(settings: ReservoirSettings, { core, safety }: Dosing, atMs: number): SafetyState {
  const { filter } = core.history
  const { limits } = settings
  const flowing = Math.max(limits.flowMinLPerMin, limits.acid?.injection?.circulationLPerMin ?? 0)
  const shown: Readonly<Record<string, number>> = {
    conductivity: predictedConductivityDsPerM(filter.mean, filter.ph),
    ph: filter.ph,
    temperature: settings.core.reservoir.temperatureC,
    level: filter.mean[VOLUME]! - settings.core.reservoir.filmL,
    flow: limits.flowIsSwitch ? 1 : flowing,
    'hold-switch': 0,
  }
  const readings = limits.probes.map(({ id, role }) => [
    id,
    { value: shown[role] ?? 0, quality: 'good', atMs, sameSinceMs: atMs, flowingSinceMs: role === 'flow' ? 0 : null },
  ])
  const heartbeat = { uptimeMs: atMs, atMs, term: 1 }
  const nodes = Object.entries(safety.nodes).map(([node, state]) => [node, { ...state, heartbeat }])
  return { ...safety, readings: Object.fromEntries(readings), nodes: Object.fromEntries(nodes) }
}

/** @param offByMmol what the truth has beside the belief, by the place of the element */
function markBands(
  bands: readonly BandSettings[],
  { mean }: FilterState,
  inside: Float64Array,
  offByMmol: (at: number) => number,
): void {
  let isSixInside = true
  for (const [at, { low, high }] of bands.entries()) {
    const level = (mean[at]! + offByMmol(at)) / mean[VOLUME]!
    if (level >= low && level <= high) inside[at]!++
    else if (SIX.has(at)) isSixInside = false
  }
  if (isSixInside) inside[ALL_SIX]!++
}

/** Limits without bottles: when each is refilled is no matter of limits. */
export function withoutBottles(settings: ReservoirSettings): ReservoirSettings {
  const refill = { notChecked: 'the model does not reckon with bottles' }
  const stocks = settings.limits.stocks.map((stock) => ({ ...stock, refill }))
  return { ...settings, limits: { ...settings.limits, stocks } }
}
