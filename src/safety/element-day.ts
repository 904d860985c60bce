import { type Book, DAY_MS, latestEndMs } from './book.ts'
import { type Limits, type StockLimits, stockLimitsOf } from './limits.ts'
import { countedOf, sumWithin, waitForAmountMs } from './sums.ts'

/** One capped element, whichever stock brings it. Whole nanograms, as far as they are. */
export interface ElementDay {
  readonly element: string
  /** the water that the cap is counted in, L */
  readonly volumeL: number
  /** what all stocks together brought or may have brought in the day */
  readonly dayNg: number
  readonly dayMaxNg: number
  /** stocks of which nobody told how much of it they bring; while there is one, no sum is a number */
  readonly untold: readonly string[]
  /** how long until so much more fits in; null where it never does */
  readonly waitForNgMs: (amountNg: number) => number | null
}

const NG_PER_MG = 1e6
/** Far below a nanogram’s worth: the product of decimals may miss the round number by its last digit. */
const SLACK_NG = 1e-3

/**
 * The day of every capped element. Where an element is capped, a stock whose content is not told could bring
 * any amount of it, so every figure of it is NaN and refuses: its own, a neighbour’s, delivered or not, and that of a
 * stock that left the limits and is still in the day’s book.
 */
export function elementDays(limits: Limits, book: Book, atMs: number): readonly ElementDay[] {
  const { elements } = limits
  if (elements === undefined) return NONE
  return Object.entries(elements.dayMaxMgPerL).map(([element, mgPerL]) => {
    const dayMaxNg = Math.floor(mgPerL * elements.volumeL * NG_PER_MG + SLACK_NG)
    const untold = untoldOf(limits, book, element, atMs)
    const isTold = untold.length === 0
    return {
      element,
      volumeL: elements.volumeL,
      dayNg: isTold ? dayNgOf(limits, book, element, atMs) : Number.NaN,
      dayMaxNg,
      untold,
      waitForNgMs: (amount) =>
        isTold
          ? waitForAmountMs(broughtOf(limits, book, element), { atMs, amount, cap: dayMaxNg, windowMs: DAY_MS })
          : null,
    }
  })
}

const NONE: readonly ElementDay[] = []

/** Of every stock; asked at every moment, so that it lists nothing. */
function dayNgOf(limits: Limits, book: Book, element: string, atMs: number): number {
  let sumNg = 0
  for (const entry of limits.stocks) {
    const ngPerUl = contentOf(entry, element)
    if (ngPerUl === 0) continue
    for (const row of book.stocks[entry.stock]?.rows ?? [])
      if (!(row.endMs <= atMs - DAY_MS)) sumNg += row.highUl * ngPerUl
    for (const command of book.commands)
      if (command.stock === entry.stock && !(latestEndMs(limits, command) <= atMs - DAY_MS))
        sumNg += command.volumeUl * ngPerUl
  }
  return sumNg
}

/** The same as a list. */
function broughtOf(limits: Limits, book: Book, element: string) {
  return limits.stocks.flatMap((entry) => countedOf(limits, book, entry.stock, contentOf(entry, element)))
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

/** A stock that tells its content brings nothing of what it does not name; one that does not brings NaN. ng/µL */
export function contentOf(entry: StockLimits, element: string): number {
  const content = entry.contentNgPerUl
  if (content === undefined) return Number.NaN
  const ngPerUl = content[element] ?? 0
  return ngPerUl >= 0 ? ngPerUl : Number.NaN
}
