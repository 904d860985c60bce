/**
 * The whole program: `step(settings, state, input) → { state, effects }`. It folds each input into two states that do
 * not know each other: the core proposes shots, safety keeps its own book and permits or refuses them.
 */

import { noticesAgain } from '../core/alarm/escalation.ts'
import { lookAtWater } from '../core/alarm/water-watch.ts'
import { continueRerun, finishRerun } from '../core/estimate/history.ts'
import type { Reopened } from '../core/estimate/memory.ts'
import { learnedMark, withMark } from '../core/learning/learned.ts'
import { fuseOpenStep, takeObservation, takeScan, tellReports } from '../core/observe.ts'
import { type NoteChanges, noteChanges } from '../core/plan/standing-note.ts'
import { isPlanDue, proposePlan } from '../core/propose.ts'
import { coldSense, latestOf } from '../core/sense/sense.ts'
import { type CoreState, initialCoreState } from '../core/state.ts'
import { headroom } from '../safety/headroom.ts'
import { onTick } from '../safety/on-tick.ts'
import { nodeNamed } from '../safety/state.ts'
import { lookAtAlarms, noticeEffect } from './alarm-effects.ts'
import { isPlanKept } from './approval.ts'
import { askSafety } from './ask-safety.ts'
import type { Effect } from './effect.ts'
import { changeLimit } from './fold-limit.ts'
import { foldPeople } from './fold-people.ts'
import { foldSafety } from './fold-safety.ts'
import { tellHappening } from './happening-effects.ts'
import type { Input } from './input.ts'
import { settingsInForce } from './limit-change.ts'
import { nextWish } from './next-wish.ts'
import { runPump } from './pump-run.ts'
import { reopenedText } from './reopened-text.ts'
import { reportEffect } from './report-effect.ts'
import { watchStandstill } from './standstill.ts'
import type { ReservoirSettings, ReservoirState } from './state.ts'

export interface Stepped {
  readonly state: ReservoirState
  /** records first, then what they permit; a command is always the last of a step */
  readonly effects: readonly Effect[]
}

/**
 * Folds one input.
 *
 * The same settings, state and input give the same effects to the last byte. `input.atMs` earlier than the last one is
 * taken as the last one (a driver’s clock may step); one that is not a number is a broken driver.
 *
 * @throws when `input.atMs` is not a finite number
 */
export function step(stated: ReservoirSettings, before: ReservoirState, input: Input): Stepped {
  if (!Number.isFinite(input.atMs)) throw new Error(`an input of kind ${input.kind} has no time: ${input.atMs}`)
  const effects: Effect[] = []
  const timed = input.atMs < before.atMs ? { ...input, atMs: before.atMs } : input
  let state: ReservoirState = { ...before, atMs: timed.atMs }
  // first of all, so that a limit that was tightened holds for whatever this very step would do
  state = changeLimit(stated, state, timed, effects)
  const settings = settingsInForce(stated, state.changedLimits)
  if (timed.kind === 'start') state = start(settings, state, timed, effects)
  state = closeDueSteps(settings, state, effects)
  state = letSafetyHear(settings, state, timed, effects)
  state = letCoreHear(settings, state, timed, effects)
  state = passTime(settings, state, effects)
  if (LOOKED_AT.has(timed.kind)) state = lookAtAlarms(settings, watchOver(settings, state), effects)
  state = act(settings, state, timed, effects)
  return { state, effects: inOrder(effects) }
}

/** Alarms have delays of minutes, and ticks come every few seconds: no scan need wait for them. */
const LOOKED_AT: ReadonlySet<Input['kind']> = new Set(['start', 'tick', 'edge', 'instruction'])

/** What alarms and people must know about the water and a standstill, brought up to now. */
function watchOver(settings: ReservoirSettings, state: ReservoirState): ReservoirState {
  const { core, atMs, watch, safety } = state
  if (!core) return state
  const fresh = (role: 'level' | 'top-up') => {
    const read = latestOf(settings.core, core.sense, role)
    return read && atMs - read.atMs <= settings.limits.scanAgeMaxMs ? read.value : undefined
  }
  const levelL = fresh('level')
  const flowProbe = settings.limits.probes.find(({ role }) => role === 'flow')
  // film that fills again after a stop takes litres out of the tank, and the valve makes them up
  const flowingSinceMs = flowProbe ? (safety.readings[flowProbe.id]?.flowingSinceMs ?? atMs) : 0
  const isFlowing = atMs - flowingSinceMs >= settings.limits.mixingMs
  const meterL = fresh('top-up') ?? watch.water.at(-1)?.meterL ?? 0
  const water = lookAtWater(watch.water, { atMs, meterL, isFlowing, ...(levelL === undefined ? {} : { levelL }) })
  return watchStandstill(settings, water === watch.water ? state : { ...state, watch: { ...watch, water } })
}

/** Records before anything they permit, a withdrawn lease before everything, commands last. */
function inOrder(effects: readonly Effect[]): readonly Effect[] {
  if (effects.length < 2) return effects
  const rank = (effect: Effect): number => {
    if (effect.kind === 'lease') return effect.allowed ? 2 : 0
    return effect.kind === 'record' ? 1 : effect.kind === 'command' ? 4 : 3
  }
  return effects.toSorted((a, b) => rank(a) - rank(b))
}

type StartOf = Extract<Input, { kind: 'start' }>

/** The first start is the first fill; a later one finds the core as the records left it, with cold probe windows. */
function start(settings: ReservoirSettings, state: ReservoirState, input: StartOf, effects: Effect[]): ReservoirState {
  const { atMs, controller, term, utcOffsetMin } = input
  effects.push({ kind: 'record', record: { kind: 'started', atMs, controller, term, utcOffsetMin } })
  const core = restartCore(settings, state.core, input)
  for (const notice of noticesAgain(settings.alarms.escalation, state.alarms, atMs)) effects.push(noticeEffect(notice))
  const watch = { ...state.watch, water: [], filledAtMs: state.watch.filledAtMs ?? atMs }
  return { ...state, core, watch, heard: { startedAtMs: atMs, scanAtMs: atMs, nodesAtMs: {} } }
}

/**
 * The core as a start finds it: a new one at the first fill; later the belief of before with every report taken in, cold
 * probe windows, no shots, and a plan after one step of the grid.
 */
export function restartCore(
  settings: ReservoirSettings,
  core: CoreState | null,
  input: { readonly atMs: number; readonly utcOffsetMin: number },
): CoreState {
  if (!core) return initialCoreState(settings.core, input.atMs, input.utcOffsetMin)
  const history = finishRerun(settings.core, core.cohorts, core.history)
  return {
    ...core,
    history,
    sense: coldSense(core.sense),
    shots: [],
    utcOffsetMin: input.utcOffsetMin,
    nextPlanMs: input.atMs + settings.core.grid.stepMs,
  }
}

/** Grid steps whose end has come are fused, recorded and taken by the filter before anything newer is heard. */
function closeDueSteps(settings: ReservoirSettings, state: ReservoirState, effects: Effect[]): ReservoirState {
  let { core } = state
  while (core && state.atMs >= core.open.untilMs) {
    const observation = fuseOpenStep(settings.core, core, { atMs: state.atMs, isShotOpen: isShotOnItsWay(state) })
    effects.push({ kind: 'record', record: { kind: 'observed', atMs: observation.endMs, observation } })
    const before = core.history.filter.memory.reopened
    core = takeObservation(settings.core, core, observation)
    tellReopened(before, core.history.filter.memory.reopened, effects)
  }
  return core === state.core ? state : { ...state, core }
}

/** Readings that disagreed for an hour made the estimate give way: a person must hear why, and what to look at. */
function tellReopened(before: Reopened | null, after: Reopened | null, effects: Effect[]): void {
  if (!after || after === before || after.atMs === before?.atMs) return
  const text = reopenedText(after)
  effects.push({ kind: 'record', record: { kind: 'event', atMs: after.atMs, event: after.cause, text } })
  effects.push({ kind: 'notification', event: after.cause, text })
}

/** One whose outcome is unknown is over: the balance has its interval, and a dead node may never tell more. */
function isShotOnItsWay({ safety }: ReservoirState): boolean {
  return safety.book.commands.some((command) => command.status === 'open')
}

function letSafetyHear(
  settings: ReservoirSettings,
  state: ReservoirState,
  input: Input,
  effects: Effect[],
): ReservoirState {
  tellUnwilling(state, input, effects)
  const heard = foldSafety(settings.limits, state.safety, input)
  const ticked = onTick(settings.limits, heard.state, input)
  let next = ticked.state === state.safety ? state : { ...state, safety: ticked.state }
  for (const happening of [...heard.happenings, ...ticked.happenings])
    next = tellHappening(settings, next, happening, effects)
  return next
}

/**
 * A node that refuses or stops a shot says why; that reason is kept beside what was settled. One that no limit names is
 * asked for no shot, and its words must not fill the ledger.
 */
function tellUnwilling({ safety }: ReservoirState, input: Input, effects: Effect[]): void {
  if (input.kind !== 'pump-report' || (input.report.state !== 'refused' && input.report.state !== 'stopped')) return
  if (!nodeNamed(safety, input.node)) return
  const { id, state, ranMs, reason } = input.report
  const text = `${input.node} ${state} command ${id} after ${ranMs} ms: ${reason ?? 'no reason given'}`
  const unwilling = reason === undefined ? {} : { unwilling: { commandId: id, reason } }
  const record = { kind: 'event' as const, atMs: input.atMs, event: `node-${state}`, text, ...unwilling }
  effects.push({ kind: 'record', record })
  effects.push({ kind: 'notification', event: `node-${state}`, text })
}

function letCoreHear(
  settings: ReservoirSettings,
  state: ReservoirState,
  input: Input,
  effects: Effect[],
): ReservoirState {
  const { core: before } = state
  switch (input.kind) {
    case 'scan': {
      const core =
        before &&
        takeScan(settings.core, before, {
          atMs: input.atMs,
          node: input.node,
          readings: input.scan.readings,
        })
      return core === before ? state : { ...state, core, heard: { ...state.heard, scanAtMs: input.atMs } }
    }
    case 'heartbeat':
      if (!nodeNamed(state.safety, input.node)) return state
      return { ...state, heard: { ...state.heard, nodesAtMs: { ...state.heard.nodesAtMs, [input.node]: input.atMs } } }
    case 'tick':
      return before === null || input.utcOffsetMin === undefined
        ? state
        : { ...state, core: { ...before, utcOffsetMin: input.utcOffsetMin } }
    case 'laboratory-result':
    case 'laboratory-withdrawal':
    case 'laboratory-decision':
    case 'spot-reading':
    case 'act':
    case 'instruction':
      return foldPeople(settings, state, input, effects)
    default:
      return state
  }
}

/** What happens because time went by: a slice of a re-run, the next plan. */
function passTime(settings: ReservoirSettings, state: ReservoirState, effects: Effect[]): ReservoirState {
  const { atMs } = state
  const next = state
  if (!next.core) return next
  let core = next.core
  // A shot on its way is watched first; a re-run can wait, it is about the past.
  if (core.history.rerun && !isShotOnItsWay(next)) {
    core = {
      ...core,
      history: continueRerun(settings.core, core.cohorts, core.history, settings.core.grid.slotsPerSlice),
    }
  }
  const reports = tellReports(core)
  core = reports.state
  for (const { id, sampledAtMs, before } of reports.told) {
    const mark = learnedMark(settings.core, core.history.filter, { id, sampledAtMs })
    core = { ...core, learned: withMark(core.learned, mark) }
    effects.push({ kind: 'record', record: { kind: 'learned', atMs: state.atMs, mark } })
    effects.push({ kind: 'notification', event: 'laboratory', text: reportEffect(id, before, core.history.filter) })
  }
  if (isPlanDue(core, atMs) && next.safety.started && !isPlanKept(settings, next)) {
    const isAutomatic = next.safety.mode === 'automatic'
    const left = headroom(settings.limits, next.safety, atMs)
    core = proposePlan(settings.core, core, left, { atMs, isActing: isAutomatic })
    if (core.plan && core.plan !== next.core.plan)
      tellPlan(core.plan, noteChanges(next.core.notes, core.notes), effects)
  }
  return core === next.core ? next : { ...next, core }
}

/** Its doses each time; its notes when their cause comes and when it has gone. */
function tellPlan(plan: NonNullable<CoreState['plan']>, changes: NoteChanges, effects: Effect[]): void {
  const doses = plan.doses.map(({ stock, volumeUl, reason }) => ({ stock, volumeUl, reason }))
  const notes = changes.started.map((note) => note.text)
  effects.push({ kind: 'record', record: { kind: 'planned', atMs: plan.atMs, planId: plan.id, doses, notes } })
  for (const dose of doses) {
    effects.push({
      kind: 'notification',
      event: 'planned',
      text: `${(dose.volumeUl / 1000).toFixed(1)} mL of ${dose.stock}: ${dose.reason}`,
    })
  }
  tellNotes(changes, plan.atMs, effects)
}

function tellNotes({ started, ended }: NoteChanges, atMs: number, effects: Effect[]): void {
  for (const { text } of started) effects.push({ kind: 'notification', event: 'plan-note', text })
  for (const note of ended) {
    const text = `No longer so: ${note.text}`
    effects.push({ kind: 'record', record: { kind: 'event', atMs, event: 'plan-note-ended', text } })
    effects.push({ kind: 'notification', event: 'plan-note-ended', text })
  }
}

/** Asks safety for the next shot whose time has come, or for the pump run that a person asks for. */
function act(settings: ReservoirSettings, state: ReservoirState, input: Input, effects: Effect[]): ReservoirState {
  if (input.kind === 'instruction' && input.instruction.instruction === 'pump-run')
    return runPump(settings, state, input.instruction, effects)
  const next = nextWish(settings, state, input.kind === 'tick')
  if (!next) return state
  const { wish, told } = next
  const { state: judged, why } = askSafety(settings, { ...state, core: next.core }, wish, told, effects)
  const refused = why === undefined ? 0 : state.watch.refused.count + 1
  return { ...judged, watch: { ...state.watch, refused: { count: refused, why: why ?? '' } } }
}
