/** What a stock brings, as safety counts it: whole nanograms by element, so that sums over days stay whole. */

import { ELEMENTS } from '../chemistry/element.ts'
import { toMgPerL } from '../chemistry/molar-mass.ts'
import type { Salts, Site } from '../config/configuration.ts'
import { stockSettings } from './configure-stock.ts'

/** 0.1 mg/mL is 100 ng/µL and not 100.00000000000001. */
const ROUNDING = 1e-6

/**
 * Content of one stock, ng/µL by element, rounded up; an element it does not bring is left out.
 *
 * @throws for a salt or reagent that is not in the salts, which no parsed configuration has
 */
export function stockContent(stock: Site['stocks'][number], salts: Salts): Readonly<Record<string, number>> {
  const { mmolPerMl } = stockSettings(stock, salts)
  return Object.fromEntries(
    ELEMENTS.flatMap((element, at) => {
      // mmol/mL is 1000 mmol/L, mg/L is ng/mL × 1000, and 1 mg/L is 1 ng/µL
      const ngPerUl = Math.ceil(toMgPerL(element, mmolPerMl[at]! * 1000) - ROUNDING)
      return ngPerUl > 0 ? [[element, ngPerUl] as const] : []
    }),
  )
}
