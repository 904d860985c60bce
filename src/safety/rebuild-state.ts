import { quietly, type Transition } from './happening.ts'
import { type Limits, stockLimitsOf } from './limits.ts'
import { adoptBoot } from './node-boot.ts'
import { onInstruction, type SafetyInstruction } from './on-instruction.ts'
import { type JudgedRow, rebuildBook, type SettledRow } from './rebuild.ts'
import { initialSafetyState, type SafetyState, withPump } from './state.ts'
import { ANY_SUBJECT } from './trip.ts'
import type { Mode } from './types.ts'

/** The records of the ledger that safety reads; all others are none of its business. */
export type SafetyRow =
  | JudgedRow
  | SettledRow
  | { readonly kind: 'started'; readonly atMs: number; readonly controller: string; readonly term: number }
  | { readonly kind: 'mode'; readonly atMs: number; readonly mode: Mode }
  | {
      readonly kind: 'instructed'
      readonly atMs: number
      readonly by: string
      readonly reason: string
      readonly instruction: SafetyInstruction
    }
  | { readonly kind: 'tripped'; readonly atMs: number; readonly trip: string; readonly why: string }
  | { readonly kind: 'node-boot'; readonly atMs: number; readonly node: string; readonly boot: string }

/**
 * The whole of safety’s state as its own records tell it: book, mode, holds, trips, rates, terms, boots and the last
 * totaliser of every pump. It is not started: that is `onStart`’s to do, with a newer term.
 *
 * @param rows oldest first; every mode, instruction, trip and start, and the judged and settled rows `rebuildBook` needs
 */
export function rebuildState(limits: Limits, rows: readonly SafetyRow[], atMs: number): SafetyState {
  let state = initialSafetyState(limits)
  const placeOf = new Map<string, JudgedRow>()
  for (const row of rows) {
    if (row.kind === 'judged') placeOf.set(row.commandId, row)
    state = takeRow(limits, state, row, placeOf).state
  }
  return { ...state, book: rebuildBook(limits, rows.filter(isBookRow), atMs) }
}

/** Which node and pump a command was for. */
type Places = ReadonlyMap<string, JudgedRow>

function takeRow(limits: Limits, state: SafetyState, row: SafetyRow, placeOf: Places): Transition {
  switch (row.kind) {
    case 'started':
      return quietly({ ...state, controller: row.controller, term: Math.max(row.term, state.term ?? 0) })
    case 'mode':
      return quietly({ ...state, mode: row.mode })
    case 'instructed':
      return onInstruction(limits, state, row)
    case 'tripped':
      return quietly({ ...state, trips: [...state.trips, { ...row, subject: ANY_SUBJECT }] })
    case 'node-boot':
      return adoptBoot(state, row.node, row.boot)
    case 'judged':
      return quietly(row.verdict === 'permit' ? withJudgedTotals(state, row) : state)
    case 'settled':
      return quietly(withSettledTotal(limits, state, row, placeOf))
  }
}

function withJudgedTotals(state: SafetyState, row: JudgedRow): SafetyState {
  if (state.nodes[row.node] === undefined) return state
  const doubtMs = row.figures['doubtMs']
  const doubt = typeof doubtMs === 'number' ? doubtMs : null
  return withPump(state, row.node, row.pump, { totalRunMs: row.totalRunMs, doubtMs: doubt })
}

/** A settled row does not tell the doubt, so the next heartbeat’s is taken as it comes. */
function withSettledTotal(limits: Limits, state: SafetyState, row: SettledRow, placeOf: Places): SafetyState {
  if (row.totalRunMs === undefined) return state
  const place = placeOf.get(row.commandId) ?? stockLimitsOf(limits, row.stock)
  if (place === null || state.nodes[place.node] === undefined) return state
  return withPump(state, place.node, place.pump, { totalRunMs: row.totalRunMs, doubtMs: null })
}

function isBookRow(row: SafetyRow): row is JudgedRow | SettledRow {
  return row.kind === 'judged' || row.kind === 'settled'
}
