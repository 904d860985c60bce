import { contentOf, type ElementDay } from './element-day.ts'
import type { Limits, StockLimits } from './limits.ts'
import type { ElementRoom } from './types.ts'

/** One capped element, and what a microlitre of the stock in question would bring of it. */
export interface ElementFacts extends ElementDay {
  readonly ngPerUl: number
}

/** The capped elements that a stock brings, or may bring as nobody told what is in it. */
export function elementFacts(days: readonly ElementDay[], entry: StockLimits): readonly ElementFacts[] {
  return days.flatMap((day) => {
    const ngPerUl = contentOf(entry, day.element)
    return ngPerUl === 0 ? [] : [{ ...day, ngPerUl }]
  })
}

/** What the caps leave of each element that any stock brings, by the same figures. */
export function elementRooms(days: readonly ElementDay[], limits: Limits): readonly ElementRoom[] {
  const rooms = new Map<string, ElementRoom & { readonly ngPerUl: Record<string, number> }>()
  for (const entry of limits.stocks) {
    for (const { element, dayNg, dayMaxNg } of days) {
      const ngPerUl = contentOf(entry, element)
      if (ngPerUl === 0) continue
      const room = rooms.get(element) ?? { element, roomNg: Math.max(0, dayMaxNg - dayNg) || 0, ngPerUl: {} }
      // one that is not told brings none that anybody counts: nothing is left for anybody then
      if (!Number.isNaN(ngPerUl)) room.ngPerUl[entry.stock] = ngPerUl
      rooms.set(element, room)
    }
  }
  return [...rooms.values()]
}

/** The largest whole volume that every cap leaves; Infinity where no cap concerns the stock, NaN where one is no number. */
export function elementRoomUl(elements: readonly ElementFacts[]): number {
  let roomUl = Number.POSITIVE_INFINITY
  for (const { dayNg, dayMaxNg, ngPerUl } of elements)
    roomUl = Math.min(roomUl, Math.floor((dayMaxNg - dayNg) / ngPerUl))
  return roomUl
}
