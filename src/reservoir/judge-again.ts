/**
 * Recorded verdicts judged again, in order, by limits of one’s choice: by the same limits the same verdicts must come
 * out, by others the records show what the gate would have done. Facts are the recorded ones; sums, waits and bottles
 * are worked out anew, since a shot that would have been refused leaves room for the next.
 */

import {
  type Book,
  EMPTY_BOOK,
  type OpenCommand,
  openCommand,
  pruneBook,
  replaceCommand,
  settleInBook,
} from '../safety/book.ts'
import { type Facts, factsFor } from '../safety/facts.ts'
import { INTERLOCKS } from '../safety/interlocks.ts'
import { isNotChecked, type Limits, stockLimitsOf } from '../safety/limits.ts'
import { initialSafetyState } from '../safety/state.ts'
import { factsOnRecord, isOnRecord } from './facts-on-record.ts'
import type { LedgerRecord } from './record.ts'

type Judged = Extract<LedgerRecord, { kind: 'judged' }>
type Settled = Extract<LedgerRecord, { kind: 'settled' }>

export interface JudgedAgain {
  readonly atMs: number
  readonly commandId: string
  readonly stock: string
  readonly volumeUl: number
  readonly recorded: 'permit' | 'refuse'
  readonly now: 'permit' | 'refuse'
  /** interlocks that would not hold now */
  readonly why: readonly string[]
}

/** Verdicts and outcomes so far, as they would have been. */
export interface AgainState {
  readonly book: Book
  /** commands of the record that would have been refused, with the volume of each */
  readonly refused: ReadonlyMap<string, number>
  readonly bottles: Readonly<Record<string, BottleAgain>>
}

/** How a bottle would differ from the recorded one. */
interface BottleAgain {
  /** what would have gone out since the refill, beyond what did */
  readonly moreUl: number
  /** largest shot that surely arrived since the refill */
  readonly provenUl: number
}

export const NOTHING_AGAIN: AgainState = { book: EMPTY_BOOK, refused: new Map(), bottles: {} }

/** @param records all of them, oldest first; those of a cut-off past leave sums of the first day too small */
export function judgeAgain(limits: Limits, records: readonly LedgerRecord[]): readonly JudgedAgain[] {
  const answers: JudgedAgain[] = []
  let state = NOTHING_AGAIN
  for (const record of records) {
    const next = foldAgain(limits, state, record)
    state = next.state
    if (next.answer) answers.push(next.answer)
  }
  return answers
}

/** One record more; a verdict is judged again by the limits given with it. */
export function foldAgain(
  limits: Limits,
  state: AgainState,
  record: LedgerRecord,
): { readonly state: AgainState; readonly answer?: JudgedAgain } {
  switch (record.kind) {
    case 'judged':
      return judgeOne(limits, { ...state, book: pruneBook(state.book, record.atMs) }, record)
    case 'settled':
      return { state: settle(limits, state, record) }
    case 'act':
      if (record.act.act !== 'stock-refilled') return { state }
      return { state: { ...state, bottles: { ...state.bottles, [record.act.stock]: { moreUl: 0, provenUl: 0 } } } }
    default:
      return { state }
  }
}

function judgeOne(limits: Limits, state: AgainState, record: Judged) {
  const { atMs, commandId, stock, volumeUl, planId } = record
  const known = withBottle(limits, state, record)
  const facts = factsAgain(limits, known, record)
  const purpose = record.purpose === 'calibration' ? { purpose: record.purpose } : {}
  const wish = { stock, volumeUl, planId, ...purpose }
  const isAgain = (id: string) => (isNoPlans(record) ? DOSED.has(id) : isOnRecord(id, record.figures))
  const why = INTERLOCKS.filter((row) =>
    isAgain(row.id) ? !row.holds(wish, facts, limits) : record.why.some((told) => told.split(':')[0] === row.id),
  ).map(({ id }) => id)
  const now = why.length === 0 ? 'permit' : 'refuse'
  const answer: JudgedAgain = { atMs, commandId, stock, volumeUl, recorded: record.verdict, now, why }
  return { state: entered(limits, known, record, now), answer }
}

/**
 * A ration runs while a probe is lost, a calibration while nothing else does; of them only the sums are judged again, and
 * all else stands as recorded.
 */
function isNoPlans(record: Judged): boolean {
  return record.purpose !== undefined
}

const DOSED: ReadonlySet<string> = new Set(['shot-bounded', 'hour-bounded', 'day-bounded', 'gap-kept', 'stocks-apart'])

/** Its facts as they were, but for what hangs on the limits and on earlier shots. */
function factsAgain(limits: Limits, state: AgainState, record: Judged): Facts {
  const { atMs, stock, figures } = record
  const safety = { ...initialSafetyState(limits), book: state.book }
  const asWorkedOut = factsFor(limits, safety, { stock, atMs })
  const facts = factsOnRecord(limits, asWorkedOut, figures)
  const refill = stockLimitsOf(limits, stock)?.refill
  if (refill === undefined || isNotChecked(refill)) return facts
  const { moreUl, provenUl } = state.bottles[stock]!
  const usedUl = figures['sinceRefillUl']
  return {
    ...facts,
    sinceRefillUl: typeof usedUl === 'number' ? usedUl + moreUl : Number.NaN,
    sinceRefillMaxUl: refill.sinceRefillMaxUl,
    seriesUl: Math.max(refill.firstShotUl, 2 * provenUl),
  }
}

/** The first verdict of a stock tells what its bottle had proven before; figures beyond the first shot are double that. */
function withBottle(limits: Limits, state: AgainState, { stock, figures }: Judged): AgainState {
  if (state.bottles[stock]) return state
  const refill = stockLimitsOf(limits, stock)?.refill
  const firstUl = refill === undefined || isNotChecked(refill) ? 0 : refill.firstShotUl
  const seriesUl = figures['seriesUl']
  const provenUl = typeof seriesUl === 'number' && seriesUl > firstUl ? seriesUl / 2 : 0
  return { ...state, bottles: { ...state.bottles, [stock]: { moreUl: 0, provenUl } } }
}

/** The verdict in the book: what was permitted then or would be now, each as far as it goes. */
function entered(limits: Limits, state: AgainState, record: Judged, now: 'permit' | 'refuse'): AgainState {
  const { stock, commandId, volumeUl, atMs } = record
  if (now === 'refuse') {
    if (record.verdict === 'refuse') return state
    // until its outcome is read, the record counts it in full
    const refused = new Map([...state.refused, [commandId, volumeUl]])
    return withMore({ ...state, refused }, stock, -volumeUl)
  }
  const opened = openCommand(state.book, commandOf(record))
  if (record.verdict === 'permit') return { ...state, book: opened }
  // nobody knows what would have become of it: it is taken to have arrived in full
  const delivered = { lowUl: volumeUl, highUl: volumeUl }
  const book = settleInBook(limits, opened, { atMs: atMs + runMsOf(record), commandId, stock, delivered })
  return proven(withMore({ ...state, book }, stock, volumeUl), stock, volumeUl)
}

function settle(limits: Limits, state: AgainState, record: Settled): AgainState {
  const { commandId, stock, outcome, delivered } = record
  const refusedUl = state.refused.get(commandId)
  // the record counted the whole shot until now, and from now on what arrived or may have
  if (refusedUl !== undefined)
    return outcome === 'unknown' ? state : withMore(state, stock, refusedUl - delivered.highUl)
  if (outcome === 'unknown') {
    const open = state.book.commands.find((command) => command.commandId === commandId)
    return open ? { ...state, book: replaceCommand(state.book, { ...open, status: 'unknown' }) } : state
  }
  const settled = { ...state, book: settleInBook(limits, state.book, record) }
  const provesNothing = commandId.startsWith(NO_COMMAND) || record.purpose !== undefined
  return provesNothing ? settled : proven(settled, stock, delivered.lowUl)
}

/** A run that no command asked for, or a person for a glass, proves nothing of a bottle. */
const NO_COMMAND = 'no-command:'

function withMore(state: AgainState, stock: string, moreUl: number): AgainState {
  const bottle = state.bottles[stock] ?? { moreUl: 0, provenUl: 0 }
  return { ...state, bottles: { ...state.bottles, [stock]: { ...bottle, moreUl: bottle.moreUl + moreUl } } }
}

/** Before the first verdict of a stock nothing is known of its bottle, and that verdict tells what it has proven. */
function proven(state: AgainState, stock: string, lowUl: number): AgainState {
  const bottle = state.bottles[stock]
  if (!bottle || !(lowUl > bottle.provenUl)) return state
  return { ...state, bottles: { ...state.bottles, [stock]: { ...bottle, provenUl: lowUl } } }
}

function commandOf(record: Judged): OpenCommand {
  const { commandId, node, pump, stock, planId, volumeUl, boot, startBeforeUptimeMs, totalRunMs, figures } = record
  const rateUlPerS = typeof figures['rateUlPerS'] === 'number' ? figures['rateUlPerS'] : Number.NaN
  const named = { commandId, node, pump, stock, planId, volumeUl, boot, startBeforeUptimeMs, totalRunMs }
  return {
    ...named,
    runMs: runMsOf(record),
    rateUlPerS,
    doubtMs: 0,
    judgedAtMs: record.atMs,
    status: 'open',
    sent: true,
  }
}

/** A refused shot has no run of its own on record, only the run that was asked for. */
function runMsOf({ runMs, figures }: Judged): number {
  return runMs > 0 ? runMs : typeof figures['runMs'] === 'number' ? figures['runMs'] : 0
}
