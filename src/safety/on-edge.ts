import { type OpenCommand, replaceCommand } from './book.ts'
import { quietly, type Transition } from './happening.ts'
import { withLeases } from './lease.ts'
import type { Limits } from './limits.ts'
import { settle } from './settlement.ts'
import type { SafetyState } from './state.ts'
import { latch } from './trip.ts'

export type EdgeWord =
  | { readonly edge: 'link'; readonly up: boolean }
  | { readonly edge: 'disk'; readonly writable: boolean }
  | { readonly edge: 'clock'; readonly sane: boolean }
  | { readonly edge: 'ledger-damaged'; readonly why: string }
  | { readonly edge: 'command-sent'; readonly commandId: string }
  | { readonly edge: 'command-not-sent'; readonly commandId: string }

/** What the edges know. A command that was ever handed to a client cannot become unsent again. */
export function onEdge(
  limits: Limits,
  state: SafetyState,
  input: { readonly atMs: number; readonly news: EdgeWord },
): Transition {
  const { atMs, news } = input
  switch (news.edge) {
    case 'link':
      return withLeases(quietly({ ...state, linkUp: news.up }))
    case 'disk':
      return withLeases(quietly({ ...state, diskWritable: news.writable }))
    case 'clock':
      return withLeases(quietly({ ...state, clockSane: news.sane }))
    // Who cannot trust the record cannot know what was given.
    case 'ledger-damaged':
      return withLeases(latch(state, { trip: 'ledger-damaged', subject: '', why: news.why, atMs }))
    case 'command-sent':
      return onSent(state, unsent(state, news.commandId))
    case 'command-not-sent':
      return onNotSent(limits, state, unsent(state, news.commandId), atMs)
  }
}

function unsent(state: SafetyState, commandId: string): OpenCommand | undefined {
  return state.book.commands.find((open) => open.commandId === commandId && !open.sent)
}

function onSent(state: SafetyState, command: OpenCommand | undefined): Transition {
  if (command === undefined) return quietly(state)
  return quietly({ ...state, book: replaceCommand(state.book, { ...command, sent: true }) })
}

function onNotSent(limits: Limits, state: SafetyState, command: OpenCommand | undefined, atMs: number): Transition {
  if (command === undefined) return quietly(state)
  const { commandId, stock } = command
  return settle(limits, state, { atMs, commandId, stock, delivered: { lowUl: 0, highUl: 0 } }, 'not-sent')
}
