import { type Book, DAY_MS, HOUR_MS, latestEndMs } from './book.ts'
import type { Limits } from './limits.ts'

export interface WindowSums {
  readonly hourUl: number
  readonly dayUl: number
}

/**
 * What was or may have been delivered of a stock in the hour and the day up to `atMs`, integer microlitres.
 * A delivery leaves a window exactly one window after the moment it may have ended.
 */
export function windowSums(limits: Limits, book: Book, stock: string, atMs: number): WindowSums {
  let hourUl = 0
  let dayUl = 0
  for (const row of book.stocks[stock]?.rows ?? []) {
    if (!(row.endMs <= atMs - DAY_MS)) dayUl += row.highUl
    if (!(row.endMs <= atMs - HOUR_MS)) hourUl += row.highUl
  }
  for (const command of book.commands) {
    if (command.stock !== stock) continue
    const endMs = latestEndMs(limits, command)
    if (!(endMs <= atMs - DAY_MS)) dayUl += command.volumeUl
    if (!(endMs <= atMs - HOUR_MS)) hourUl += command.volumeUl
  }
  return { hourUl, dayUl }
}

/** The part of the day’s sum that people asked for, to measure or to try a pump. */
export function calibrationDayUl(limits: Limits, book: Book, stock: string, atMs: number): number {
  const rows = book.stocks[stock]?.rows.filter(({ purpose }) => purpose === 'calibration') ?? []
  const commands = book.commands.filter((open) => open.stock === stock && open.purpose === 'calibration')
  const counted = [
    ...rows.map(({ endMs, highUl }) => ({ endMs, amount: highUl })),
    ...commands.map((open) => ({ endMs: latestEndMs(limits, open), amount: open.volumeUl })),
  ]
  return sumWithin(counted, atMs, DAY_MS)
}

/** When the last shot of a stock may have ended, epoch ms; -Infinity where it never ran. */
export function lastEndMsOf(limits: Limits, book: Book, stock: string): number {
  let lastMs = book.stocks[stock]?.lastEndMs ?? Number.NEGATIVE_INFINITY
  for (const command of book.commands) {
    if (command.stock === stock) lastMs = Math.max(lastMs, latestEndMs(limits, command))
  }
  return lastMs
}

/**
 * How long until `volumeUl` more fits under `capUl` in a rolling window, if nothing else is dosed.
 *
 * @returns milliseconds from `atMs`, or null where it never fits
 */
export function waitForRoomMs(
  limits: Limits,
  book: Book,
  ask: { stock: string; atMs: number; volumeUl: number; capUl: number; windowMs: number },
): number | null {
  return waitForAmountMs(countedOf(limits, book, ask.stock), { ...ask, amount: ask.volumeUl, cap: ask.capUl })
}

export interface Counted {
  readonly endMs: number
  readonly amount: number
}

/** Everything of a stock that the book counts, `perUl` for each microlitre of it. */
export function countedOf(limits: Limits, book: Book, stock: string, perUl = 1): Counted[] {
  const rows = (book.stocks[stock]?.rows ?? []).map((row) => ({ endMs: row.endMs, amount: row.highUl * perUl }))
  for (const command of book.commands) {
    if (command.stock === stock) rows.push({ endMs: latestEndMs(limits, command), amount: command.volumeUl * perUl })
  }
  return rows
}

/** The part of it that is still inside a window. */
export function sumWithin(counted: readonly Counted[], atMs: number, windowMs: number): number {
  return counted.reduce((sum, row) => (row.endMs <= atMs - windowMs ? sum : sum + row.amount), 0)
}

/** How long until `amount` more fits under `cap`, over whatever was counted; null where it never fits. */
export function waitForAmountMs(
  counted: readonly Counted[],
  ask: { atMs: number; amount: number; cap: number; windowMs: number },
): number | null {
  const oldestFirst = [...counted].sort((a, b) => a.endMs - b.endMs)
  let sum = oldestFirst.reduce((total, row) => total + row.amount, 0)
  if (sum + ask.amount <= ask.cap) return 0
  for (const row of oldestFirst) {
    sum -= row.amount
    // what has left the window already is waited for no more
    if (sum + ask.amount <= ask.cap) return Math.max(0, row.endMs + ask.windowMs - ask.atMs)
  }
  return null
}
