// Doses by the make-up meter alone: what goes on, within an approved ration, while no plan can be made or carried out.

import type { Headroom } from './headroom.ts'

export interface RationMoment {
  readonly headroom: Headroom
  /** the estimate gives no plan just now: readings contradict it, or something it rests on is missing */
  readonly isEstimatorUnfit: boolean
  /** smallest shot worth a run, by stock; a stock that is not here is not dosed */
  readonly shotMinUl: Readonly<Record<string, number>>
}

export interface RationShot {
  readonly stock: string
  readonly volumeUl: number
}

/**
 * The ration shot that is due, if any: of the stock with the most due, in its own smallest shots. The room of a ration
 * grows with the metered litres, so shots follow in proportion to the water.
 *
 * @returns undefined while neither a probe nor the estimate is lost: then the plan doses, or nothing does
 */
export function nextRation({ headroom, isEstimatorUnfit, shotMinUl }: RationMoment): RationShot | undefined {
  if (headroom.lostProbe === undefined && !isEstimatorUnfit) return undefined
  let due: RationShot | undefined
  let mostShots = 1
  for (const { stock, rationUl } of headroom.stocks) {
    const shots = (rationUl ?? 0) / (shotMinUl[stock] ?? Number.POSITIVE_INFINITY)
    if (!(shots >= mostShots) || (due !== undefined && shots === mostShots)) continue
    due = { stock, volumeUl: rationUl ?? 0 }
    mostShots = shots
  }
  return due
}
