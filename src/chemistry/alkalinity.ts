// Alkalinity as the book keeps it: strong cations minus strong anions. It follows from the elements, so it is
// never tracked beside them.

import { ELEMENT_COUNT, ELEMENTS, type ElementName } from './element.ts'

/**
 * Charge of each element in the strong-ion sum, meq per mmol.
 *
 * Ammonium counts as +1 and phosphorus as -1 per mole whatever the pH: the part of their charge that moves with pH
 * is what the alkalinity is spent on. Iron is 0 (held by a chelate, and free iron turns into hydroxide, giving its
 * charge back), boron 0 (boric acid below pH 8). Stumm & Morgan, Aquatic Chemistry, ch. 4 (chapter from memory).
 */
export const CHARGE: Readonly<Record<ElementName, number>> = {
  'NO3-N': -1,
  'NH4-N': 1,
  P: -1,
  K: 1,
  Ca: 2,
  Mg: 2,
  S: -2,
  Na: 1,
  Cl: -1,
  Fe: 0,
  Mn: 2,
  Zn: 2,
  B: 0,
  Cu: 2,
  Mo: -2,
}

/** The same charges in the order of ELEMENTS. To be read, never written. */
export const CHARGE_PER_MMOL: Float64Array = Float64Array.from(ELEMENTS, (name) => CHARGE[name])

/**
 * Alkalinity of a composition, meq/L (or meq per whatever the amounts are per).
 *
 * @param totals mmol/L in the order of ELEMENTS
 * @param untrackedMeqPerL charge of ions outside the book (organic acids, silicate, fluoride), cations positive
 */
export function alkalinityMeqPerL(totals: Float64Array, untrackedMeqPerL = 0): number {
  let sum = untrackedMeqPerL
  for (let at = 0; at < ELEMENT_COUNT; at++) sum += CHARGE_PER_MMOL[at]! * totals[at]!
  return sum
}
