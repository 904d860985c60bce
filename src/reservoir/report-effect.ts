/** What one laboratory report did to the belief, element by element, in words. */

import { ELEMENTS } from '../chemistry/element.ts'
import type { FilterState } from '../core/estimate/filter-state.ts'
import { type ElementEstimate, estimateOf } from '../core/estimate/summary.ts'

/** "K 172±14 → 181±8", for every element, mg/L; two-sided one standard deviation. */
export function reportEffect(id: string, before: FilterState, after: FilterState): string {
  const from = estimateOf(before).elements
  const to = estimateOf(after).elements
  const rows = ELEMENTS.map((name) => `${name} ${spoken(from[name])} → ${spoken(to[name])}`)
  return `Laboratory result ${id} moved the estimate, mg/L: ${rows.join(', ')}`
}

function spoken({ mgPerL, sdMgPerL }: ElementEstimate): string {
  const digits = mgPerL >= 10 ? 0 : mgPerL >= 1 ? 1 : 3
  return `${mgPerL.toFixed(digits)}±${sdMgPerL.toFixed(digits)}`
}
