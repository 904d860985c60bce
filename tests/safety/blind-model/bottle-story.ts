/** What a bottle gave since its last refill, and what of it is proven. */

import type { History, Item } from './history.ts'
import type { Delivery } from './pump-story.ts'

type Refill = Extract<Item, { what: 'refilled' }>

export interface BottleStory {
  /** null where nobody refilled it */
  readonly filledUl: number | null
  readonly usedUl: number
  readonly provenUl: number
}

const DAY_MS = 24 * 3_600_000

export function countsAsRefill(item: Item): item is Refill {
  if (item.what !== 'refilled') return false
  const filledUl = Math.floor(item.volumeMl * 1000)
  const isRecent = item.doneAtMs <= item.atMs && item.doneAtMs > item.atMs - DAY_MS
  return isRecent && Number.isSafeInteger(filledUl) && filledUl > 0
}

export function bottleStory(history: History, deliveries: readonly Delivery[], stock: string): BottleStory {
  const refills: { at: number; refill: Refill }[] = []
  history.forEach((item, at) => {
    if (countsAsRefill(item) && item.stock === stock) refills.push({ at, refill: item })
  })
  const last = refills.at(-1)
  const drawn = deliveries.filter(
    (one) =>
      one.stock === stock &&
      one.highUl > 0 &&
      refills.every(({ at, refill }) => at < one.at || one.newsMs > refill.doneAtMs),
  )
  const proofs = drawn.filter((one) => one.at > (last?.at ?? -1) && isAsked(one))
  return {
    filledUl: last === undefined ? null : Math.floor(last.refill.volumeMl * 1000),
    usedUl: drawn.reduce((sum, one) => sum + one.highUl, 0),
    provenUl: proofs.reduce((most, one) => Math.max(most, one.lowUl), 0),
  }
}

/** Runs nobody asked for, and runs into a measuring glass, prove nothing of what is in the bottle. */
function isAsked(one: Delivery): boolean {
  return one.order !== null && one.order.command.wish.purpose !== 'calibration'
}
