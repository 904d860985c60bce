import { type OpenCommand, replaceCommand, type Settlement, settleInBook } from './book.ts'
import { drawn } from './bottle.ts'
import { unverified } from './effect.ts'
import { andThen, type Outcome, quietly, type Transition } from './happening.ts'
import type { Limits } from './limits.ts'
import { possiblyUlOf, surelyUlOf } from './run-time.ts'
import type { SafetyState } from './state.ts'
import { latch } from './trip.ts'
import type { Delivered } from './types.ts'
import { tellDuration } from './wording.ts'

/** How much longer than asked a pump may have run before it counts as out of control (our judgement, no source). */
const OVERRUN_TOLERANCE_MS = 500

export interface Ran {
  readonly surelyMs: number
  readonly possiblyMs: number
}

/** The interval of what a run delivered: `lowUl` surely, `highUl` perhaps. */
export function deliveredBy(ran: Ran, rateUlPerS: number): Delivered {
  return { lowUl: surelyUlOf(ran.surelyMs, rateUlPerS), highUl: possiblyUlOf(ran.possiblyMs, rateUlPerS) }
}

/** Closes a command with what its run delivered, and trips where the pump ran longer than it was asked to. */
export function settleRun(
  limits: Limits,
  state: SafetyState,
  command: OpenCommand,
  end: { atMs: number; outcome: Outcome; ran: Ran; countedMs: number; totalRunMs: number },
): Transition {
  const delivered = deliveredBy(end.ran, command.rateUlPerS)
  const settlement = { atMs: end.atMs, commandId: command.commandId, stock: command.stock, delivered }
  const settled = settle(limits, state, settlement, end.outcome, end.totalRunMs)
  return andThen(settled, (next) => tripIfOverran(next, command, end.countedMs, end.atMs))
}

/** Closes an entry of the book and tells it. */
export function settle(
  limits: Limits,
  state: SafetyState,
  settlement: Settlement,
  outcome: Outcome,
  totalRunMs?: number,
): Transition {
  const { commandId, stock, delivered } = settlement
  const command = state.book.commands.find((open) => open.commandId === commandId)
  const closed = { ...settlement, purpose: command?.purpose }
  const told = { kind: 'settled', commandId, stock, outcome, delivered, ...purposeOf(command) } as const
  const settled: Transition = {
    state: drawn({ ...state, book: settleInBook(limits, state.book, closed) }, closed),
    happenings: [totalRunMs === undefined ? told : { ...told, totalRunMs }],
  }
  return andThen(settled, (next) => unverified(limits, next, closed, command))
}

function purposeOf(command: OpenCommand | undefined): Pick<OpenCommand, 'purpose'> {
  return command?.purpose === undefined ? {} : { purpose: command.purpose }
}

/** Nobody knows what became of it: its full volume counts, and it stays open for the totaliser to settle. */
export function markUnknown(state: SafetyState, command: OpenCommand): Transition {
  if (command.status === 'unknown') return quietly(state)
  const unknown: OpenCommand = { ...command, status: 'unknown', sent: true }
  return {
    state: { ...state, book: replaceCommand(state.book, unknown) },
    happenings: [
      {
        kind: 'settled',
        commandId: command.commandId,
        stock: command.stock,
        outcome: 'unknown',
        delivered: { lowUl: 0, highUl: command.volumeUl },
        ...purposeOf(command),
      },
    ],
  }
}

/** A pump that ran longer than asked, beyond what rounding and a relay explain, is out of control. */
export function tripIfOverran(state: SafetyState, command: OpenCommand, countedMs: number, atMs: number): Transition {
  if (countedMs <= command.runMs + OVERRUN_TOLERANCE_MS) return quietly(state)
  return latch(state, {
    trip: 'pump-overran',
    subject: `${command.node}/${command.pump}`,
    why:
      `${command.pump} on ${command.node} (${command.stock}) ran ${tellDuration(countedMs)} where ` +
      `${tellDuration(command.runMs)} was asked; look at its relay and node, then reset the trip`,
    atMs,
  })
}
