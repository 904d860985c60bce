// What the day’s cap leaves of an element is left once, for all stocks that bring it together.

import type { ElementRoom, Headroom } from './headroom.ts'

/** One such rest as a bound on volumes. */
export interface SharedBound {
  readonly element: string
  /** mg by a millilitre of each stock asked about */
  readonly mgPerMl: Float64Array
  readonly roomMg: number
}

const NG_PER_MG = 1e6
/** A nanogram in a microlitre is a microgram in a millilitre. */
const MG_PER_ML = 1e-3

/** The bounds, with the stocks in the order asked about. A rest that is no number is none. */
export function sharedBounds({ elements = [] }: Headroom, stocks: readonly string[]): SharedBound[] {
  return elements.map((room) => ({
    element: room.element,
    mgPerMl: Float64Array.from(stocks, (stock) => MG_PER_ML * perUl(room, stock)),
    roomMg: leftNg(room) / NG_PER_MG,
  }))
}

/** The headroom that is left for the others once one stock has taken so much. */
export function afterTaking(headroom: Headroom, stock: string, volumeUl: number): Headroom {
  if (headroom.elements === undefined) return headroom
  const take = (room: ElementRoom) => ({ ...room, roomNg: leftNg(room) - perUl(room, stock) * Math.ceil(volumeUl) })
  return { ...headroom, elements: headroom.elements.map(take) }
}

/** Whether whole volumes fit all that is left: exactly as the limits’ keeper counts, to the nanogram. */
export function fitsElements({ elements = [] }: Headroom, volumesUl: ReadonlyMap<string, number>): boolean {
  return elements.every((room) => overNg(room, volumesUl) <= 0)
}

/**
 * Volumes in whole microlitres that fit. The program keeps its bounds to a rounding; what is over by that is taken off
 * the stock that brings most of the element.
 */
export function withinElements(
  { elements = [] }: Headroom,
  volumesUl: ReadonlyMap<string, number>,
): Map<string, number> {
  const fitted = new Map([...volumesUl].map(([stock, volumeUl]) => [stock, Math.floor(volumeUl)]))
  for (const room of elements) {
    const brings = (stock: string) => perUl(room, stock) * (fitted.get(stock) ?? 0)
    const byMost = [...fitted.keys()].sort((a, b) => brings(b) - brings(a))
    for (const stock of byMost) {
      const overTheRoomNg = overNg(room, fitted)
      if (!(overTheRoomNg > 0)) break
      const volumeUl = fitted.get(stock)!
      if (perUl(room, stock) > 0)
        fitted.set(stock, Math.max(0, volumeUl - Math.ceil(overTheRoomNg / perUl(room, stock))))
    }
  }
  return fitted
}

function overNg(room: ElementRoom, volumesUl: ReadonlyMap<string, number>): number {
  let broughtNg = 0
  for (const [stock, volumeUl] of volumesUl) broughtNg += perUl(room, stock) * volumeUl
  return broughtNg - leftNg(room)
}

function perUl({ ngPerUl }: ElementRoom, stock: string): number {
  return ngPerUl[stock] ?? 0
}

function leftNg({ roomNg }: ElementRoom): number {
  return roomNg > 0 ? roomNg : 0
}
