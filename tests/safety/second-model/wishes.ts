/** Volumes to wish for: just under, at and just over every bound, and what no bound may let pass. */

import type { ShotWish } from '../../../src/safety/types.ts'
import type { Chance } from './chance.ts'
import type { View } from './opinion.ts'

const ODD = [0, -0, -1, 0.5, 1.5, Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY, 1e308, 2 ** 53]

/** The bounds on one shot of a stock that are numbers now, largest permitted volume first. */
export function volumesFor(view: View, stock: string): readonly number[] {
  const now = view.stocks.get(stock)
  if (now === undefined) return []
  const runUl = (now.maxRunMs * now.rateUlPerS) / 1000
  const bounds = [now.shotMaxUl, now.hourRoomUl, now.dayRoomUl, now.acidMaxUl, runUl].filter(Number.isFinite)
  const least = Math.floor(Math.min(...bounds))
  return Number.isFinite(least) ? [least, ...bounds.map(Math.floor)] : []
}

/** Some wishes for one moment. */
export function wishesAt(view: View, chance: Chance, count: number): readonly ShotWish[] {
  const wishes: ShotWish[] = []
  const stocks = [...view.stocks.keys()]
  for (let made = 0; made < count; made += 1) {
    const stock = chance.often(0.005) ? 'no-such-stock' : chance.pick(stocks)
    const volumes = volumesFor(view, stock)
    const atBound = volumes.length === 0 ? 1000 : chance.pick(volumes) + chance.pick([-1, 0, 0, 1])
    const free = chance.often(0.7) ? 1 + chance.below(3000) : chance.pick(ODD)
    const volumeUl = chance.often(0.6) ? atBound : free
    wishes.push({ stock, volumeUl, planId: chance.often(0.95) ? 'plan-1' : 'plan-2' })
  }
  return wishes
}
