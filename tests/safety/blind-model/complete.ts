/** Whether every number a stock is judged by is there. */

import type { Limits, ReagentLimits, StockLimits } from '../../../src/safety/limits.ts'

export function isComplete(limits: Limits, entry: StockLimits): boolean {
  const declared = limits.stocks.flatMap((other) => other.apart.filter(({ from }) => from === entry.stock))
  const waits = [entry.gapMs, limits.reportGraceMs, ...entry.apart.map(({ ms }) => ms), ...declared.map(({ ms }) => ms)]
  const sizes = [entry.rateUlPerS, entry.shotMaxUl, entry.hourMaxUl, entry.dayMaxUl, limits.startWindowMs]
  const { acid, base } = limits
  const isTwofold = limits.stocks.some((other) => other.acid === true && other.base === true)
  if (entry.acid === true) {
    sizes.push(...reagent(acid, limits), acid?.phFloor ?? NaN)
    waits.push(acid?.afterFlowMs ?? NaN)
  }
  if (entry.base === true) {
    sizes.push(...reagent(base, limits), base?.phCeiling ?? NaN)
    waits.push(base?.afterFlowMs ?? NaN, base?.acidApartMs ?? NaN, isTwofold ? NaN : 0)
  }
  return sizes.every((size) => size > 0 && size < Infinity) && waits.every((wait) => wait >= 0 && wait < Infinity)
}

function reagent(of: ReagentLimits | undefined, limits: Limits): number[] {
  if (of === undefined) return [NaN]
  return [of.meqPerMl, of.reservoirMinL, of.shotMaxMeqPerL, of.phFreshMs, limits.mixingMs]
}
