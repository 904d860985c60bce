import { type AcidFacts, acidFacts, NO_ACID } from './acid-facts.ts'
import { type Book, latestEndMs, type OpenCommand } from './book.ts'
import { type BottleFacts, bottleFacts, NO_FIGURES } from './bottle.ts'
import { type Caps, capsOf } from './caps.ts'
import { type EffectFacts, effectFacts, NO_EFFECT_FIGURES } from './effect-facts.ts'
import type { ElementDay } from './element-day.ts'
import { type ElementFacts, elementFacts } from './element-facts.ts'
import { type Limits, type StockLimits, stockLimitsOf } from './limits.ts'
import type { SafetyState } from './state.ts'
import { calibrationDayUl, lastEndMsOf, waitForRoomMs, windowSums } from './sums.ts'

/** What may go into a measuring glass, and did within 24 h; NaN where the limits say nothing of it. */
export interface CalibrationFacts {
  readonly calibrationRunMaxUl: number
  readonly calibrationDayMaxUl: number
  readonly calibrationDayUl: number
}

export interface DoseFacts extends BottleFacts, EffectFacts, AcidFacts {
  readonly rateUlPerS: number
  readonly caps: Caps
  readonly hourUl: number
  readonly dayUl: number
  /** since the last shot of this stock may have ended; Infinity where it never ran, negative while it may run */
  readonly sinceShotMs: number
  readonly gapMs: number
  readonly apart: readonly ApartFacts[]
  readonly openOfPump: string | null
  readonly openOfNode: string | null
  /** a command of any pump that was permitted before the last start and is not settled, and its node */
  readonly openFromBefore: string | null
  readonly openFromBeforeNode: string | null
  readonly elements: readonly ElementFacts[]
  readonly calibration: CalibrationFacts
  /** how long until this much more fits under a cap in a window; null where it never fits */
  readonly waitForRoomMs: (volumeUl: number, capUl: number, windowMs: number) => number | null
}

export interface ApartFacts {
  readonly from: string
  readonly sinceMs: number
  readonly needMs: number
}

/** What the book says of a stock: what went in, how long ago, and what is still on its way. */
export function doseFacts(
  limits: Limits,
  state: SafetyState,
  entry: StockLimits | null,
  atMs: number,
  elementDays: readonly ElementDay[],
): DoseFacts {
  const { book } = state
  const before = openFromBefore(book)
  if (entry === null) return { ...NO_DOSE, ...before }
  const ofPump = (open: OpenCommand) => open.node === entry.node && open.pump === entry.pump
  // A start calls a command unknown at once; until its last moment is past it may still be on its way.
  const mayCome = (open: OpenCommand) => open.status === 'open' || !(atMs > latestEndMs(limits, open))
  const ofNode = (open: OpenCommand) => open.node === entry.node && mayCome(open)
  return {
    rateUlPerS: state.ratesUlPerS[entry.stock] ?? entry.rateUlPerS,
    caps: capsOf(limits, entry),
    ...windowSums(limits, book, entry.stock, atMs),
    sinceShotMs: atMs - lastEndMsOf(limits, book, entry.stock),
    gapMs: entry.gapMs,
    apart: apartFacts(limits, state, entry, atMs),
    openOfPump: book.commands.find(ofPump)?.commandId ?? null,
    openOfNode: book.commands.find(ofNode)?.commandId ?? null,
    ...before,
    ...bottleFacts(state, entry),
    ...effectFacts(limits, state, entry, atMs),
    ...acidFacts(limits, state, entry, atMs),
    elements: elementFacts(elementDays, entry),
    calibration: calibrationFacts(limits, book, entry, atMs),
    waitForRoomMs: (volumeUl, capUl, windowMs) =>
      waitForRoomMs(limits, book, { stock: entry.stock, atMs, volumeUl, capUl, windowMs }),
  }
}

/** A stock without limits: no number to hold on to. */
const NO_DOSE: Omit<DoseFacts, keyof ReturnType<typeof openFromBefore>> = {
  rateUlPerS: Number.NaN,
  caps: { shotMaxUl: Number.NaN, hourMaxUl: Number.NaN, dayMaxUl: Number.NaN },
  hourUl: Number.NaN,
  dayUl: Number.NaN,
  sinceShotMs: Number.NaN,
  gapMs: Number.NaN,
  bottleChecked: true,
  ...NO_FIGURES,
  effectChecked: true,
  ...NO_EFFECT_FIGURES,
  apart: [],
  openOfPump: null,
  openOfNode: null,
  ...NO_ACID,
  elements: [],
  calibration: { calibrationRunMaxUl: Number.NaN, calibrationDayMaxUl: Number.NaN, calibrationDayUl: Number.NaN },
  waitForRoomMs: () => null,
}

/** Of the whole site: it holds back a stock that no limit names as well. */
function openFromBefore(book: Book) {
  const command = book.commands.find((open) => open.isFromBefore === true)
  return { openFromBefore: command?.commandId ?? null, openFromBeforeNode: command?.node ?? null }
}

function calibrationFacts(limits: Limits, book: Book, entry: StockLimits, atMs: number): CalibrationFacts {
  return {
    calibrationRunMaxUl: entry.calibration?.runMaxUl ?? Number.NaN,
    calibrationDayMaxUl: entry.calibration?.dayMaxUl ?? Number.NaN,
    calibrationDayUl: calibrationDayUl(limits, book, entry.stock, atMs),
  }
}

/**
 * Every stock that this one declares, and every stock that declares this one; the longer wait counts. One that is no
 * longer in the limits is waited for as well: the book still knows when it ran.
 */
function apartFacts(limits: Limits, state: SafetyState, entry: StockLimits, atMs: number): ApartFacts[] {
  const found: ApartFacts[] = []
  for (const other of limits.stocks) {
    let needMs = Number.NEGATIVE_INFINITY
    for (const apart of entry.apart) if (apart.from === other.stock) needMs = Math.max(needMs, apart.ms)
    for (const apart of other.apart) if (apart.from === entry.stock) needMs = Math.max(needMs, apart.ms)
    if (needMs === Number.NEGATIVE_INFINITY) continue
    found.push({ from: other.stock, sinceMs: atMs - lastEndMsOf(limits, state.book, other.stock), needMs })
  }
  for (const { from, ms } of entry.apart) {
    if (stockLimitsOf(limits, from) !== null) continue
    found.push({ from, sinceMs: atMs - lastEndMsOf(limits, state.book, from), needMs: ms })
  }
  return found
}
