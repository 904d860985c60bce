import { describe, expect, it } from 'vitest'
import { type Book, EMPTY_BOOK, type OpenCommand, openCommand, settleInBook } from '../../src/safety/book.ts'
import { elementDays } from '../../src/safety/element-day.ts'
import type { Limits } from '../../src/safety/limits.ts'
import { DAY, HOUR, LIMITS, MINUTE } from './bench.ts'

const AT_MS = 1_800_000_000_000
const RUN_MS = 10_000
/** The calcium stock brings 100 mg/mL of Ca, the phosphate stock none; 220 L may gain 10 mg/L, 2200 mg, in a day. */
const NG_PER_UL = 100_000
const CAPPED: Limits = {
  ...LIMITS,
  elements: { volumeL: 220, dayMaxMgPerL: { Ca: 10 } },
  stocks: LIMITS.stocks.map((entry) => ({
    ...entry,
    contentNgPerUl: entry.stock === 'calcium' ? { Ca: NG_PER_UL } : { P: NG_PER_UL },
  })),
}

/** A command of 1 mL that may run until this moment at the latest. */
function untilMs(endMs: number, stock = 'calcium'): OpenCommand {
  return {
    commandId: `${stock} until ${endMs}`,
    ...{ node: 'bench', pump: 'pump-1', stock, planId: 'plan', volumeUl: 1000, runMs: RUN_MS, rateUlPerS: 500 },
    ...{ boot: 'boot', startBeforeUptimeMs: 0, totalRunMs: 0, doubtMs: 0, status: 'open', sent: true },
    judgedAtMs: endMs - RUN_MS - LIMITS.startWindowMs,
  }
}

function settled(endMs: number, stock = 'calcium'): Book {
  const command = untilMs(endMs, stock)
  const delivered = { lowUl: 1000, highUl: 1000 }
  return settleInBook(CAPPED, openCommand(EMPTY_BOOK, command), { ...command, atMs: endMs, delivered })
}

const open = (endMs: number, stock = 'calcium') => openCommand(EMPTY_BOOK, untilMs(endMs, stock))
const day = (book: Book) => elementDays(CAPPED, book, AT_MS)[0]!

describe('the day of an element', () => {
  it.each([
    ['a settled shot', settled],
    ['an open command', open],
  ] as const)('counts %s until a whole day has passed since it may have ended, and no longer', (_name, bookOf) => {
    expect(day(bookOf(AT_MS)).dayNg).toBe(1000 * NG_PER_UL)
    expect(day(bookOf(AT_MS - DAY + 1)).dayNg).toBe(1000 * NG_PER_UL)
    expect(day(bookOf(AT_MS - DAY)).dayNg).toBe(0)
    expect(day(bookOf(AT_MS - DAY - HOUR)).dayNg).toBe(0)
  })

  it('counts nothing of a stock that does not bring it', () => {
    expect(day(settled(AT_MS, 'phosphate')).dayNg).toBe(0)
    expect(day(open(AT_MS, 'phosphate')).dayNg).toBe(0)
  })

  it('waits for what brought it, and for no other stock', () => {
    const book = { ...open(AT_MS - HOUR), stocks: settled(AT_MS - 2 * HOUR).stocks }
    const roomNg = 2_200_000_000 - 2000 * NG_PER_UL
    expect(day(book).waitForNgMs(roomNg)).toBe(0)
    expect(day(book).waitForNgMs(roomNg + 1)).toBe(DAY - 2 * HOUR)
    expect(day(book).waitForNgMs(roomNg + 1000 * NG_PER_UL + 1)).toBe(DAY - HOUR)
    const other = openCommand(book, untilMs(AT_MS - MINUTE, 'phosphate'))
    expect(day(other).waitForNgMs(roomNg + 1)).toBe(DAY - 2 * HOUR)
    expect(day(other).waitForNgMs(roomNg + 1000 * NG_PER_UL + 1)).toBe(DAY - HOUR)
    expect(day(other).waitForNgMs(2_200_000_001)).toBeNull()
  })
})
