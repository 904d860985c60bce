// Hardness, and the units in which laboratories report alkalinity.

import { ATOMIC_WEIGHT_G_PER_MOL as W } from './molar-mass.ts'

const CACO3_G_PER_MOL = W.Ca + W.C + 3 * W.O
const HCO3_G_PER_MOL = W.H + W.C + 3 * W.O
const CAO_G_PER_MOL = W.Ca + W.O

/** 1 °dH is 10 mg/L of CaO (German degree, DIN 38409-6, from memory). */
const CAO_MG_PER_L_PER_DH = 10

/** mg/L of each alkalinity unit that makes 1 meq/L; for °dH, degrees per meq/L (2.80). */
const PER_MEQ = {
  'meq/L': 1,
  'mg/L CaCO3': CACO3_G_PER_MOL / 2,
  'mg/L HCO3': HCO3_G_PER_MOL,
  '°dH': CAO_G_PER_MOL / 2 / CAO_MG_PER_L_PER_DH,
} as const

export type AlkalinityUnit = keyof typeof PER_MEQ

/**
 * Total hardness, mg/L as CaCO3, from calcium and magnesium in mg/L of the element.
 * Standard Methods 2340B (2.497 Ca + 4.118 Mg), with the factors taken from molar masses.
 */
export function hardnessMgPerLCaCO3(calciumMgPerL: number, magnesiumMgPerL: number): number {
  return CACO3_G_PER_MOL * (calciumMgPerL / W.Ca + magnesiumMgPerL / W.Mg)
}

/** An alkalinity in one of the usual units to meq/L. 1 meq/L = 50.04 mg/L CaCO3 = 61.02 mg/L HCO3 = 2.80 °dH. */
export function alkalinityToMeqPerL(value: number, unit: AlkalinityUnit): number {
  return value / PER_MEQ[unit]
}

/** An alkalinity in meq/L to one of the usual units. */
export function alkalinityFromMeqPerL(meqPerL: number, unit: AlkalinityUnit): number {
  return meqPerL * PER_MEQ[unit]
}
