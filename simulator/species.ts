// The ions and pairs of the plant's water, and how much of each is active.

import type { Equilibria } from './equilibria.ts'

/** Every charged or paired species that is followed, with its charge and its ion size in ångström. */
const SPECIES_TABLE = [
  ['H', 1, 9],
  ['OH', -1, 3.5],
  ['NO3', -1, 3],
  ['NH4', 1, 2.5],
  ['K', 1, 3.5],
  ['Na', 1, 4],
  ['Cl', -1, 3.5],
  ['Ca', 2, 5],
  ['Mg', 2, 5.5],
  ['SO4', -2, 5],
  ['HSO4', -1, 4.5],
  ['H2PO4', -1, 4.5],
  ['HPO4', -2, 5],
  ['HCO3', -1, 5.4],
  ['CO3', -2, 5.4],
  ['KSO4', -1, 5.4],
  ['NaSO4', -1, 5.4],
  ['NH4SO4', -1, 5],
  ['KHPO4', -1, 5.4],
  ['NaHPO4', -1, 5.4],
  ['CaH2PO4', 1, 5.4],
  ['MgH2PO4', 1, 5.4],
  ['CaHCO3', 1, 6],
  ['MgHCO3', 1, 4],
  ['Mn', 2, 6],
  ['Zn', 2, 5],
  ['Cu', 2, 6],
  ['MoO4', -2, 4.5],
  ['CaSO4', 0, 0],
  ['MgSO4', 0, 0],
  ['CaHPO4', 0, 0],
  ['MgHPO4', 0, 0],
  ['CO2', 0, 0],
  ['H3PO4', 0, 0],
] as const

export type SpeciesName = (typeof SPECIES_TABLE)[number][0]
export const SPECIES: readonly SpeciesName[] = SPECIES_TABLE.map(([name]) => name)
export const SPECIES_CHARGE: readonly number[] = SPECIES_TABLE.map(([, charge]) => charge)
/** Where each species stands in the vector of a speciation. */
export const AT = Object.fromEntries(SPECIES.map((name, at) => [name, at])) as Readonly<Record<SpeciesName, number>>

/** Ion size law with the linear term of Truesdell & Jones 1974 (values from memory); 0.1 I for neutral pairs. */
const LINEAR: Partial<Record<SpeciesName, number>> = { Ca: 0.165, Mg: 0.2, Na: 0.075, K: 0.015, Cl: 0.015, SO4: -0.04 }
const SIZE = Float64Array.from(SPECIES_TABLE, ([, , size]) => size)
const SQUARE = Float64Array.from(SPECIES_TABLE, ([, charge]) => charge * charge)
const BEND = Float64Array.from(SPECIES, (name) => LINEAR[name] ?? 0)

const LN10 = Math.LN10

/**
 * Activity coefficients of all species at an ionic strength in mol/L, written into `gammas` in the order of SPECIES.
 * Extended Debye-Hückel with ion sizes of their own (Kielland 1937, Truesdell & Jones 1974, from memory).
 */
export function writeGammas(gammas: Float64Array, strength: number, { debyeA, debyeB }: Equilibria): void {
  const root = Math.sqrt(strength)
  for (let at = 0; at < SPECIES.length; at += 1) {
    const square = SQUARE[at]!
    const log =
      square === 0 ? 0.1 * strength : (-debyeA * square * root) / (1 + debyeB * SIZE[at]! * root) + BEND[at]! * strength
    gammas[at] = Math.exp(LN10 * log)
  }
}

/** Ionic strength of the listed species, mol/L. */
export function strengthOf(molPerL: Float64Array): number {
  let sum = 0
  for (let at = 0; at < SPECIES.length; at += 1) sum += SQUARE[at]! * molPerL[at]!
  return sum / 2
}

/** Charge of the listed species, mol/L. */
export function chargeOf(molPerL: Float64Array): number {
  let sum = 0
  for (let at = 0; at < SPECIES.length; at += 1) sum += SPECIES_CHARGE[at]! * molPerL[at]!
  return sum
}
