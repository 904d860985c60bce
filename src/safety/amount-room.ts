import { acidDayMaxUl, acidHourMaxUl, acidRateMaxUl } from './acid-allowance.ts'
import { acidShotMaxUl, baseShotMaxUl } from './acid-shot.ts'
import { elementRoomUl } from './element-facts.ts'
import type { Facts } from './facts.ts'
import type { Limits } from './limits.ts'

/** What the amount rows leave of a stock, microlitres; NaN where a figure is none, and so nothing. */
export interface AmountRoom {
  /** one shot, by all that bounds a shot whatever ran before it */
  readonly shotUl: number
  readonly hourUl: number
  readonly hourMaxUl: number
  readonly dayUl: number
}

/** The least of all bounds that concern this stock, by the same figures as the rows themselves. */
export function amountRoom(facts: Facts, limits: Limits): AmountRoom {
  const { caps, isAcid, isBase } = facts
  const acid = isAcid ? { hourUl: acidHourMaxUl(facts, limits), dayUl: acidDayMaxUl(facts, limits) } : NO_BOUND
  return {
    shotUl: Math.min(
      caps.shotMaxUl,
      isAcid ? Math.min(acidShotMaxUl(facts, limits), acidRateMaxUl(facts, limits)) : Number.POSITIVE_INFINITY,
      isBase ? baseShotMaxUl(facts, limits) : Number.POSITIVE_INFINITY,
    ),
    hourUl: Math.min(caps.hourMaxUl - facts.hourUl, isAcid ? acid.hourUl - facts.acidHourUl : Number.POSITIVE_INFINITY),
    hourMaxUl: Math.min(caps.hourMaxUl, acid.hourUl),
    dayUl: Math.min(
      caps.dayMaxUl - facts.dayUl,
      isAcid ? acid.dayUl - facts.acidDayUl : Number.POSITIVE_INFINITY,
      elementRoomUl(facts.elements),
    ),
  }
}

const NO_BOUND = { hourUl: Number.POSITIVE_INFINITY, dayUl: Number.POSITIVE_INFINITY }
