/** What is left of each stock by the book: filled in, less what was or may have been delivered since. */

const DAY_MS = 86_400_000

export interface StockAccount {
  readonly refilledAtMs: number
  readonly filledUl: number
  readonly deliveredUl: number
  /** what was counted of commands whose outcome is still unknown, by command */
  readonly doubtful: Readonly<Record<string, number>>
}

/** By stock; one whose refill was never logged is not in here. */
export type StockBook = Readonly<Record<string, StockAccount>>

/** A bottle filled anew. */
export function refill(book: StockBook, stock: string, volumeUl: number, atMs: number): StockBook {
  return { ...book, [stock]: { refilledAtMs: atMs, filledUl: volumeUl, deliveredUl: 0, doubtful: {} } }
}

/** A settled shot; a later word about a doubtful one takes the place of what was counted of it. */
export function deliver(
  book: StockBook,
  shot: { readonly commandId: string; readonly stock: string; readonly highUl: number; readonly isFinal: boolean },
): StockBook {
  const account = book[shot.stock]
  if (!account) return book
  const { [shot.commandId]: countedUl = 0, ...others } = account.doubtful
  const deliveredUl = account.deliveredUl - countedUl + shot.highUl
  const doubtful = shot.isFinal ? others : { ...others, [shot.commandId]: shot.highUl }
  return { ...book, [shot.stock]: { ...account, deliveredUl, doubtful } }
}

/** What is left now, and for how many days at the rate since the refill; the first day says nothing of a rate. */
export function leftOf({ refilledAtMs, filledUl, deliveredUl }: StockAccount, atMs: number) {
  const leftUl = Math.max(0, filledUl - deliveredUl)
  const days = (atMs - refilledAtMs) / DAY_MS
  return {
    leftMl: leftUl / 1000,
    leftShare: filledUl > 0 ? leftUl / filledUl : 0,
    ...(days >= 1 && deliveredUl > 0 ? { leftDays: (leftUl / deliveredUl) * days } : {}),
  }
}
