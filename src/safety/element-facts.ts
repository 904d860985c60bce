import { type Book, DAY_MS } from './book.ts'
import { type Limits, type StockLimits, stockLimitsOf } from './limits.ts'
import { countedOf, sumWithin, waitForAmountMs } from './sums.ts'
import type { ElementRoom } from './types.ts'

/** One capped element, and what a shot of the stock in question would bring of it. Whole nanograms, as far as they are. */
export interface ElementFacts {
  readonly element: string
  /** the water that the cap is counted in, L */
  readonly volumeL: number
  /** what all stocks together brought or may have brought in the day */
  readonly dayNg: number
  readonly dayMaxNg: number
  readonly ngPerUl: number
  /** stocks of which nobody told how much of it they bring; while there is one, no sum is a number */
  readonly untold: readonly string[]
  readonly waitMs: (volumeUl: number) => number | null
}

const NG_PER_MG = 1e6
/** Far below a nanogram’s worth: the product of decimals may miss the round number by its last digit. */
const SLACK_NG = 1e-3

/**
 * The capped elements that a stock brings. Where an element is capped, a stock whose content is not told could bring
 * any amount of it, so every figure of it is NaN and refuses: its own, a neighbour’s, delivered or not, and that of a
 * stock that left the limits and is still in the day’s book.
 */
export function elementFacts(limits: Limits, book: Book, entry: StockLimits, atMs: number): readonly ElementFacts[] {
  const { elements } = limits
  if (elements === undefined) return NONE
  return Object.entries(elements.dayMaxMgPerL).flatMap(([element, mgPerL]) => {
    const ngPerUl = contentOf(entry, element)
    if (ngPerUl === 0) return []
    const counted = limits.stocks.flatMap((other) => {
      const perUl = contentOf(other, element)
      return perUl === 0 ? [] : countedOf(limits, book, other.stock, perUl)
    })
    const untold = untoldOf(limits, book, element, atMs)
    const isTold = untold.length === 0
    const dayMaxNg = Math.floor(mgPerL * elements.volumeL * NG_PER_MG + SLACK_NG)
    const waitMs = (volumeUl: number) =>
      isTold ? waitForAmountMs(counted, { atMs, amount: volumeUl * ngPerUl, cap: dayMaxNg, windowMs: DAY_MS }) : null
    const dayNg = isTold ? sumWithin(counted, atMs, DAY_MS) : Number.NaN
    return [{ element, volumeL: elements.volumeL, dayNg, dayMaxNg, ngPerUl, untold, waitMs }]
  })
}

const NONE: readonly ElementFacts[] = []

/** What the caps leave of each element that any stock brings, by the same figures. */
export function elementRooms(limits: Limits, book: Book, atMs: number): readonly ElementRoom[] {
  const rooms = new Map<string, ElementRoom>()
  for (const entry of limits.stocks) {
    for (const { element, dayNg, dayMaxNg, ngPerUl } of elementFacts(limits, book, entry, atMs)) {
      const roomNg = dayNg < dayMaxNg ? dayMaxNg - dayNg : 0
      // one that is not told brings none that anybody counts: nothing is left for anybody then
      const own = ngPerUl > 0 ? { [entry.stock]: ngPerUl } : {}
      rooms.set(element, { element, roomNg, ngPerUl: { ...rooms.get(element)?.ngPerUl, ...own } })
    }
  }
  return [...rooms.values()]
}

/** Stocks of the limits that do not tell, and whatever the day’s book holds of stocks that are not in the limits. */
function untoldOf(limits: Limits, book: Book, element: string, atMs: number): readonly string[] {
  const untold = limits.stocks.filter((entry) => Number.isNaN(contentOf(entry, element))).map(({ stock }) => stock)
  const booked = new Set([...Object.keys(book.stocks), ...book.commands.map(({ stock }) => stock)])
  for (const stock of booked) {
    if (stockLimitsOf(limits, stock) !== null) continue
    if (sumWithin(countedOf(limits, book, stock), atMs, DAY_MS) !== 0) untold.push(stock)
  }
  return untold
}

/** A stock that tells its content brings nothing of what it does not name. */
function contentOf(entry: StockLimits, element: string): number {
  const content = entry.contentNgPerUl
  if (content === undefined) return Number.NaN
  const ngPerUl = content[element] ?? 0
  return ngPerUl >= 0 ? ngPerUl : Number.NaN
}

/** The largest whole volume that every cap leaves; Infinity where no cap concerns the stock, NaN where one is no number. */
export function elementRoomUl(elements: readonly ElementFacts[]): number {
  let roomUl = Number.POSITIVE_INFINITY
  for (const { dayNg, dayMaxNg, ngPerUl } of elements)
    roomUl = Math.min(roomUl, Math.floor((dayMaxNg - dayNg) / ngPerUl))
  return roomUl
}
