/**
 * Safety’s own sums of what was or may have been delivered. An unsettled command counts in full from the moment it is
 * permitted, before it is sent; a settled one counts `highUl`.
 */

import type { Limits } from './limits.ts'
import type { Delivered } from './types.ts'

export const HOUR_MS = 3_600_000
export const DAY_MS = 86_400_000

export interface Book {
  /** permitted, and not yet settled by a report or the totaliser */
  readonly commands: readonly OpenCommand[]
  readonly stocks: Readonly<Record<string, StockBook>>
}

interface StockBook {
  /** settled deliveries of the last day; one pump settles one shot after the other, so the oldest stands first */
  readonly rows: readonly DeliveredRow[]
  /** when the last shot may have ended, however long ago */
  readonly lastEndMs: number
}

interface DeliveredRow {
  readonly commandId: string
  /** latest moment at which the run may have ended */
  readonly endMs: number
  readonly lowUl: number
  readonly highUl: number
  readonly purpose?: 'calibration'
}

export interface OpenCommand {
  readonly commandId: string
  readonly node: string
  readonly pump: string
  readonly stock: string
  readonly planId: string
  readonly volumeUl: number
  readonly runMs: number
  readonly rateUlPerS: number
  readonly boot: string
  readonly startBeforeUptimeMs: number
  readonly judgedAtMs: number
  /** the pump’s totaliser and doubt before the shot */
  readonly totalRunMs: number
  readonly doubtMs: number
  /** `unknown`: nobody said in time what became of it, or the daemon started anew */
  readonly status: 'open' | 'unknown'
  /** handed to a client, so that it may arrive */
  readonly sent: boolean
  /** a person asked for it; it counts like a dose, and proves nothing of what a dose does */
  readonly purpose?: 'calibration'
  /** permitted before the last start; nothing at all is dosed until it is settled */
  readonly isFromBefore?: boolean
}

export interface Settlement {
  readonly atMs: number
  readonly commandId: string
  readonly stock: string
  readonly delivered: Delivered
  readonly purpose?: 'calibration' | undefined
}

export const EMPTY_BOOK: Book = { commands: [], stocks: {} }

/** Latest moment at which a command that obeys its start window may end. */
export function latestEndMs(limits: Limits, command: OpenCommand): number {
  return command.judgedAtMs + limits.startWindowMs + command.runMs
}

/** Enters a permitted command; from now on its full volume counts. */
export function openCommand(book: Book, command: OpenCommand): Book {
  return { ...book, commands: [...book.commands, command] }
}

/** Replaces a command that is still in the book. */
export function replaceCommand(book: Book, command: OpenCommand): Book {
  return { ...book, commands: book.commands.map((old) => (old.commandId === command.commandId ? command : old)) }
}

/**
 * Closes a command with what it delivered, or enters a run that no command of ours asked for.
 * A run that delivered no more than was asked ended within its window, however late the news came.
 */
export function settleInBook(limits: Limits, book: Book, settlement: Settlement): Book {
  const { atMs, commandId, stock, delivered } = settlement
  const command = book.commands.find((open) => open.commandId === commandId)
  const commands = book.commands.filter((open) => open !== command)
  if (delivered.highUl <= 0) return { ...book, commands }
  const asAsked = command !== undefined && delivered.highUl <= command.volumeUl
  const endMs = asAsked ? Math.min(atMs, latestEndMs(limits, command)) : atMs
  const old = book.stocks[stock]
  const purpose = settlement.purpose ?? command?.purpose
  const told = { commandId, endMs, lowUl: delivered.lowUl, highUl: delivered.highUl }
  const row = purpose === undefined ? told : { ...told, purpose }
  const rows = [...(old?.rows ?? []), row]
  const lastEndMs = Math.max(old?.lastEndMs ?? endMs, endMs)
  return { commands, stocks: { ...book.stocks, [stock]: { rows, lastEndMs } } }
}

/**
 * Drops what left the day’s window. Gives the same book back while nothing has left that stands first, which is the
 * oldest: asked with every input, it must not look through all. A row that stays a little longer counts in no sum.
 */
export function pruneBook(book: Book, atMs: number): Book {
  const stocks = Object.entries(book.stocks)
  const hasLeft = ({ endMs }: DeliveredRow) => endMs <= atMs - DAY_MS
  if (!stocks.some(([, { rows }]) => rows[0] !== undefined && hasLeft(rows[0]))) return book
  const kept = stocks.map(([name, stock]) => [name, { ...stock, rows: stock.rows.filter((row) => !hasLeft(row)) }])
  return { ...book, stocks: Object.fromEntries(kept) }
}
