import { type Book, EMPTY_BOOK, type OpenCommand, openCommand, pruneBook, settleInBook } from './book.ts'
import type { Outcome } from './happening.ts'
import { type Limits, stockLimitsOf } from './limits.ts'
import { type MakeUp, NO_MAKE_UP, takeMeter } from './make-up.ts'
import type { Delivered } from './types.ts'

/** A verdict as the ledger keeps it. */
export interface JudgedRow {
  readonly kind: 'judged'
  readonly atMs: number
  readonly verdict: 'permit' | 'refuse'
  readonly commandId: string
  readonly planId: string
  readonly node: string
  readonly pump: string
  readonly stock: string
  readonly volumeUl: number
  readonly runMs: number
  readonly boot: string
  readonly startBeforeUptimeMs: number
  readonly totalRunMs: number
  readonly purpose?: 'ration' | 'calibration' | undefined
  readonly figures: Readonly<Record<string, number | string | boolean | null>>
}

/** What became of a command, as the ledger keeps it. */
export interface SettledRow {
  readonly kind: 'settled'
  readonly atMs: number
  readonly commandId: string
  readonly stock: string
  readonly outcome: Outcome
  readonly delivered: Delivered
  readonly totalRunMs?: number | undefined
  readonly purpose?: 'calibration' | undefined
}

/**
 * The book as its own records tell it, never as any snapshot does. A permitted command that no record settles is
 * unknown and counts in full, and may have been sent.
 *
 * @param rows the records of at least the last day and of every command still open, oldest first
 */
export function rebuildBook(limits: Limits, rows: readonly (JudgedRow | SettledRow)[], atMs: number): Book {
  let book = EMPTY_BOOK
  for (const row of rows) book = row.kind === 'judged' ? withJudged(limits, book, row) : withSettled(limits, book, row)
  return pruneBook(book, atMs)
}

/**
 * Make-up water as the verdicts’ own figures tell it: each kept the counter as it was read last. What came between two
 * verdicts is credited as one reading after the other would be.
 */
export function rebuildMakeUp(limits: Limits, rows: readonly (JudgedRow | SettledRow)[], atMs: number): MakeUp {
  let makeUp = NO_MAKE_UP
  const { meter } = limits
  if (meter === undefined) return makeUp
  for (const row of rows) {
    if (row.kind !== 'judged') continue
    const [counterL, readAtMs] = [numberOf(row, 'meterL'), numberOf(row, 'meterAtMs')]
    if (counterL === null || readAtMs === null || !(readAtMs <= atMs)) continue
    makeUp = takeMeter(meter, makeUp, { counterL, isGood: true, atMs: readAtMs })
  }
  return makeUp
}

function withJudged(limits: Limits, book: Book, row: JudgedRow): Book {
  return row.verdict === 'permit' ? openCommand(book, commandOf(limits, row)) : book
}

/** `unknown` never closes a command; any other outcome does. */
function withSettled(limits: Limits, book: Book, row: SettledRow): Book {
  return row.outcome === 'unknown' ? book : settleInBook(limits, book, row)
}

/** Until a record settles it nobody knows what became of it: it may have been sent, and it is from before the start. */
function commandOf(limits: Limits, row: JudgedRow): OpenCommand {
  const { commandId, node, pump, stock, planId, volumeUl, runMs, boot, startBeforeUptimeMs, totalRunMs } = row
  const rateUlPerS =
    numberOf(row, 'rateUlPerS') ?? stockLimitsOf(limits, stock)?.rateUlPerS ?? (volumeUl * 1000) / runMs
  const doubtMs = numberOf(row, 'doubtMs') ?? 0
  const named = { commandId, node, pump, stock, planId, volumeUl, runMs, boot, startBeforeUptimeMs, totalRunMs }
  const purpose = row.purpose === 'calibration' ? { purpose: row.purpose } : {}
  const fate = { status: 'unknown', sent: true, isFromBefore: true } as const
  return { ...named, rateUlPerS, doubtMs, judgedAtMs: row.atMs, ...fate, ...purpose }
}

function numberOf(row: JudgedRow, figure: string): number | null {
  const value = row.figures[figure]
  return typeof value === 'number' ? value : null
}
