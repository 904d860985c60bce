// Whether gypsum or calcium phosphate would settle out of a solution.

import type { Carbon } from './carbon.ts'
import { blankSpeciation, speciate } from './speciation.ts'

/**
 * Gypsum CaSO4.2H2O: log K -4.58, wateq4f.dat; the one that belongs with the pair constant 2.30 used here
 * (phreeqc.dat 3.8.9 pairs -4.55 with 2.14).
 */
const GYPSUM_LOG_K = -4.58
/** Brushite (DCPD) CaHPO4.2H2O = Ca + HPO4 + 2 H2O: Gregory, Moreno & Brown 1970, from memory; minteq.v4 -6.62. */
const BRUSHITE_LOG_K = -6.59

export type Saturation = {
  /** log10 of ion activity product over solubility product: below 0 dissolves, above 0 can settle. */
  readonly gypsum: number
  readonly brushite: number
  /** False above 1 mol/L, where the ion model is out of its range and only the sign is worth reading. */
  readonly withinModel: boolean
}

/**
 * Saturation indices of gypsum and brushite, 25 °C; -Infinity where an ion is absent. Water activity is taken as 1.
 *
 * Brushite is the alarm for calcium phosphate: apatite is supersaturated in every nutrient solution and yet forms
 * slowly.
 *
 * @param totals mmol/L in the order of ELEMENTS
 */
export function saturation(totals: Float64Array, ph: number, carbon: Carbon): Saturation {
  const s = speciate(totals, ph, carbon, blankSpeciation())
  const activities = 8 * Math.log10(s.gamma1) - 6
  return {
    gypsum: Math.log10(s.ca * s.so4) + activities - GYPSUM_LOG_K,
    brushite: Math.log10(s.ca * s.hpo4) + activities - BRUSHITE_LOG_K,
    withinModel: s.ionicStrengthMolPerL <= 1,
  }
}
