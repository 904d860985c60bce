/**
 * A restart: the last snapshot, and every record since folded with the functions that made the change when it was new.
 * The book of deliveries is rebuilt from the records alone. No command is ever sent from a record.
 */

import { finishRerun } from '../core/estimate/history.ts'
import { withMark } from '../core/learning/learned.ts'
import { takeLaboratory, takeObservation, takeSettled, tellReports, withdrawLaboratory } from '../core/observe.ts'
import { coldSense } from '../core/sense/sense.ts'
import type { CoreState } from '../core/state.ts'
import { type Book, replaceCommand } from '../safety/book.ts'
import { drawn } from '../safety/bottle.ts'
import { withEffect, withUnverified } from '../safety/effect-state.ts'
import { adoptBoot } from '../safety/node-boot.ts'
import { onAct } from '../safety/on-act.ts'
import { rebuildBook, rebuildMakeUp } from '../safety/rebuild.ts'
import { rebuildTotals } from '../safety/rebuild-totals.ts'
import { relatch } from '../safety/trip.ts'
import { withAlarmRecord, withNotified } from './alarm-effects.ts'
import { calibrate, resetLearning, takeAct } from './fold-people.ts'
import { hearInstruction } from './fold-safety.ts'
import { foldDecision, holdReport, withoutHeld } from './laboratory-desk.ts'
import { settingsInForce, withChange } from './limit-change.ts'
import type { LedgerRecord } from './record.ts'
import { takeReading } from './spot-reading.ts'
import type { ReservoirSettings, ReservoirState } from './state.ts'
import { restartCore } from './step.ts'
import { watchAct, watchSettled } from './watch-act.ts'

/** Records of at least this long before the last one are needed to rebuild the book of deliveries. */
export const BOOK_MS = 25 * 3_600_000

export interface Recovery {
  /** the state of the last snapshot, or a new one where there is none */
  readonly snapshot: ReservoirState
  /** records since that snapshot, oldest first */
  readonly since: readonly LedgerRecord[]
  /** verdicts and outcomes of at least BOOK_MS before now and of every command still open, oldest first */
  readonly deliveries: readonly LedgerRecord[]
}

/**
 * The state as it was when the last record was written; a `start` input must follow before anything is dosed.
 *
 * @param atMs now, for the rolling windows of the book
 */
export function recover(stated: ReservoirSettings, recovery: Recovery, atMs: number): ReservoirState {
  let state = withColdSense(recovery.snapshot)
  for (const record of recovery.since) state = foldRecord(stated, state, record)
  const settings = settingsInForce(stated, state.changedLimits)
  const rows = recovery.deliveries.filter((record) => record.kind === 'judged' || record.kind === 'settled')
  const book = asUntold(rebuildBook(settings.limits, rows, atMs), rows)
  const makeUp = rebuildMakeUp(settings.limits, rows, atMs)
  const core = state.core && caughtUp(settings, state.core)
  return { ...state, core, safety: rebuildTotals(settings.limits, { ...state.safety, book, makeUp }, rows) }
}

/** Half a window from before the snapshot would be fused with steps that were fused without it. */
function withColdSense(snapshot: ReservoirState): ReservoirState {
  return snapshot.core ? { ...snapshot, core: { ...snapshot.core, sense: coldSense(snapshot.core.sense) } } : snapshot
}

/** Every report taken in; what they moved was told when it was new. */
export function caughtUp(settings: ReservoirSettings, core: CoreState): CoreState {
  const history = finishRerun(settings.core, core.cohorts, core.history)
  return tellReports({ ...core, history }).state
}

/**
 * A command that no record ever called unknown is left to the `start`, which calls it that aloud: so its possible
 * volume reaches the balance as well as the book.
 */
function asUntold(book: Book, rows: readonly LedgerRecord[]): Book {
  const told = new Set(rows.flatMap((row) => (row.kind === 'settled' ? [row.commandId] : [])))
  return book.commands.reduce(
    (next, command) => (told.has(command.commandId) ? next : replaceCommand(next, { ...command, status: 'open' })),
    book,
  )
}

/** One record as the change of state that it is; the book of deliveries is not in it, see `recover`. */
export function foldRecord(stated: ReservoirSettings, before: ReservoirState, record: LedgerRecord): ReservoirState {
  const settings = settingsInForce(stated, before.changedLimits)
  const state = { ...before, atMs: Math.max(before.atMs, record.atMs) }
  switch (record.kind) {
    case 'started':
      return {
        ...state,
        core: restartCore(settings, state.core, record),
        watch: { ...state.watch, filledAtMs: state.watch.filledAtMs ?? record.atMs },
        safety: { ...state.safety, term: Math.max(record.term, state.safety.term ?? 0) },
      }
    case 'judged':
      return { ...state, commandCount: state.commandCount + 1 }
    case 'tripped':
      return { ...state, safety: relatch(state.safety, record) }
    case 'settled':
      return foldSettled(settings, state, record)
    case 'act':
      return foldAct(settings, { ...state, watch: watchAct(state.watch, record.act) }, record)
    case 'effect-judged': {
      const { stock, unverifiedUl, information, agreement, against } = record
      const change = { unverifiedUl, information, agreement, against, contrast: null }
      return { ...state, safety: withEffect(state.safety, stock, change) }
    }
    case 'node-boot':
      return { ...state, safety: adoptBoot(state.safety, record.node, record.boot).state }
    case 'instructed':
      return foldInstruction(settings, state, record)
    case 'laboratory-held':
      return holdReport(state, { by: record.by, result: record.result, why: record.why, heldAtMs: record.atMs })
    case 'laboratory-decided':
      return foldDecision(state, record)
    case 'laboratory':
      return foldOther(settings, withoutHeld(state, record.result.id), record)
    case 'laboratory-withdrawn':
      return foldOther(settings, withoutHeld(state, record.id), record)
    case 'alarm':
      return { ...state, alarms: withAlarmRecord(state.alarms, record) }
    case 'notified':
      return { ...state, alarms: withNotified(state.alarms, record) }
    default:
      return foldOther(settings, state, record)
  }
}

function foldCoreRecord(settings: ReservoirSettings, core: CoreState, record: LedgerRecord): CoreState {
  switch (record.kind) {
    case 'observed':
      return takeObservation(settings.core, core, record.observation)
    case 'planned':
      return { ...core, planCount: core.planCount + 1 }
    case 'settled': {
      const { atMs, commandId, stock, outcome, delivered, purpose } = record
      if (purpose !== undefined) return core
      return takeSettled(settings.core, core, {
        atMs,
        commandId,
        stock,
        isFinal: outcome !== 'unknown',
        lowUl: delivered.lowUl,
        highUl: delivered.highUl,
      })
    }
    case 'laboratory': {
      const taken = takeLaboratory(core, record.result, record.atMs)
      return taken.kind === 'taken' ? taken.state : core
    }
    case 'laboratory-withdrawn':
      return withdrawLaboratory(core, record.id)
    case 'learned':
      return { ...core, learned: withMark(core.learned, record.mark) }
    case 'spot': {
      const taken = takeReading(core, record.by, record.reading, record.atMs)
      return taken.kind === 'taken' ? taken.state : core
    }
    default:
      return core
  }
}

function foldOther(settings: ReservoirSettings, before: ReservoirState, record: LedgerRecord): ReservoirState {
  const watch = record.kind === 'settled' ? watchSettled(before.watch, record) : before.watch
  const core = before.core && foldCoreRecord(settings, before.core, record)
  return { ...before, core, watch }
}

type Of<Kind extends LedgerRecord['kind']> = Extract<LedgerRecord, { kind: Kind }>

/** What was drawn from each bottle; a shot of which nobody knows is still in the book and counts there. */
function foldSettled(settings: ReservoirSettings, state: ReservoirState, record: Of<'settled'>): ReservoirState {
  const safety = record.outcome === 'unknown' ? state.safety : withUnverified(drawn(state.safety, record), record)
  return { ...state, safety, core: state.core && foldCoreRecord(settings, state.core, record) }
}

function foldAct(settings: ReservoirSettings, state: ReservoirState, record: Of<'act'>): ReservoirState {
  const safety = onAct(settings.limits, state.safety, record).state
  if (!state.core) return { ...state, safety }
  const taken = takeAct(settings, state.core, record.act, record.atMs)
  return { ...state, safety, core: taken.kind === 'taken' ? taken.state : state.core }
}

function foldInstruction(settings: ReservoirSettings, state: ReservoirState, record: Of<'instructed'>): ReservoirState {
  // What a technician closed as delivered has a record of its own, by which its bottle was drawn from.
  const { bottles } = state.safety
  const safety = { ...hearInstruction(settings.limits, state.safety, record).state, bottles }
  const { instruction } = record
  if (instruction.instruction === 'limit')
    return { ...state, changedLimits: withChange(settings, state.changedLimits, { ...record, instruction }) }
  if (!state.core) return { ...state, safety }
  if (instruction.instruction === 'calibrate')
    return { ...state, safety, core: calibrate(settings, state.core, instruction, record.atMs) }
  if (instruction.instruction === 'reset-learning')
    return { ...state, safety, core: resetLearning(state.core, record.atMs) }
  return { ...state, safety }
}
