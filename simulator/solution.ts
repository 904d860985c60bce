// What is dissolved, as one vector: the tracked elements in the order of ELEMENTS, then inorganic carbon, then the
// charge of everything the plant's book does not name (chelate ligands, organic acids, silicate).

import { type Composition, ELEMENT_COUNT, ELEMENTS, type ElementName } from '../src/chemistry/element.ts'
import { ELEMENT_MOLAR_MASS } from '../src/chemistry/molar-mass.ts'

/** Amounts (mmol, charge in meq) or concentrations (mmol/L, meq/L); the variable's name says which. */
export type Solutes = Float64Array

export const SOLUTE_COUNT = ELEMENT_COUNT + 2
export const CARBON = ELEMENT_COUNT
export const UNTRACKED = ELEMENT_COUNT + 1

/**
 * Charge that each element keeps whatever the pH, per mole. Ammonium counts +1 and phosphorus -1, so that the sum is
 * the alkalinity; chelated iron and boric acid count 0. Stumm & Morgan, Aquatic Chemistry, ch. 4 (from memory).
 */
const FIXED_CHARGE: Readonly<Record<ElementName, number>> = {
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

/** Charge per mmol in the order of the vector; carbon is neutral, untracked charge is its own measure. */
export const CHARGE: readonly number[] = [...ELEMENTS.map((name) => FIXED_CHARGE[name]), 0, 1]

/** Alkalinity of a vector, meq/L of mmol/L or meq of mmol: the fixed charges summed. */
export function alkalinityOf(solutes: Solutes): number {
  let sum = 0
  for (let at = 0; at < SOLUTE_COUNT; at += 1) sum += CHARGE[at]! * solutes[at]!
  return sum
}

/** mg (or mg/L) by element to a fresh vector in mmol (or mmol/L), without carbon and untracked charge. */
export function solutesFromMg(mg: Composition): Solutes {
  const solutes = new Float64Array(SOLUTE_COUNT)
  ELEMENTS.forEach((name, at) => {
    solutes[at] = (mg[name] ?? 0) / ELEMENT_MOLAR_MASS[name]
  })
  return solutes
}

/** A vector in mmol/L as mg/L by element, every element named. */
export function mgPerLOf(solutes: Solutes): Record<ElementName, number> {
  return Object.fromEntries(ELEMENTS.map((name, at) => [name, solutes[at]! * ELEMENT_MOLAR_MASS[name]])) as Record<
    ElementName,
    number
  >
}

/** A vector in mmol/L by element, every element named. */
export function mmolPerLOf(solutes: Solutes): Record<ElementName, number> {
  return Object.fromEntries(ELEMENTS.map((name, at) => [name, solutes[at]!])) as Record<ElementName, number>
}

/**
 * Moves a drawn composition onto a wanted sum of charges with the least relative change, so that random errors never
 * make charge from nothing: the mean of independent errors of `relativeSd` given the sum.
 *
 * @param solutes mmol/L, not changed
 * @param wantedMeqPerL alkalinity wanted, untracked charge included
 */
export function closeCharge(solutes: Solutes, relativeSd: readonly number[], wantedMeqPerL: number): Solutes {
  const gapMeqPerL = wantedMeqPerL - alkalinityOf(solutes)
  const pull = solutes.map((amount, at) => (at < ELEMENT_COUNT ? CHARGE[at]! * (amount * relativeSd[at]!) ** 2 : 0))
  let total = 0
  for (let at = 0; at < SOLUTE_COUNT; at += 1) total += CHARGE[at]! * pull[at]!
  if (!(total > 0)) throw new Error(`no ion is there to close a gap of ${gapMeqPerL} meq/L`)
  return solutes.map((amount, at) => Math.max(0, amount + (gapMeqPerL * pull[at]!) / total) + minusOnly(amount, at))
}

/** Untracked charge may be negative and is left as it is. */
function minusOnly(amount: number, at: number): number {
  return at === UNTRACKED && amount < 0 ? amount : 0
}
