// Conductivity of a solution from its composition, and its change with temperature.

import type { Carbon } from './carbon.ts'
import { type Composition, ELEMENT_COUNT, ELEMENT_INDEX, ELEMENTS, toVector } from './element.ts'
import { blankSpeciation, type Speciation, speciate, speciateNear } from './speciation.ts'

/**
 * Limiting conductivity per equivalent at 25 °C, S cm2/mol of charge: CRC Handbook, "Ionic conductivity and diffusion
 * at infinite dilution" (Vanysek); H2PO4 33 from Marcus, Ion Properties, since KH2PO4 data favour it over CRC's 36.
 */
const LAMBDA = {
  k: 73.48,
  na: 50.08,
  ca: 59.47,
  mg: 53.0,
  nh4: 73.5,
  h: 349.65,
  mn: 53.5,
  zn: 52.8,
  cu: 53.6,
  no3: 71.42,
  cl: 76.31,
  so4: 80.0,
  hso4: 52.0,
  hco3: 44.5,
  co3: 69.3,
  oh: 198.0,
  h2po4: 33.0,
  hpo4: 57.0,
  po4: 92.8,
} as const

/**
 * Limiting conductivity of a pair that keeps one charge, S cm2/mol: a ball of the volume of its two ions, each as
 * large as Stokes has it (radius as charge over lambda). Anderko & Lencka 1997, Ind. Eng. Chem. Res. 36:1932 (from
 * memory); no figure here is fitted.
 */
function lambdaOfPair([cationCharge, cation]: ChargedLambda, [anionCharge, anion]: ChargedLambda): number {
  return 1 / Math.cbrt((cationCharge / cation) ** 3 + (anionCharge / anion) ** 3)
}
type ChargedLambda = readonly [charge: number, lambda: number]

/** 38 for KSO4 and NH4SO4, 35 for NaSO4, 23 to 29 for the others. */
const PAIR_LAMBDA = {
  kso4: lambdaOfPair([1, LAMBDA.k], [2, LAMBDA.so4]),
  naso4: lambdaOfPair([1, LAMBDA.na], [2, LAMBDA.so4]),
  nh4so4: lambdaOfPair([1, LAMBDA.nh4], [2, LAMBDA.so4]),
  capo4: lambdaOfPair([2, LAMBDA.ca], [3, LAMBDA.po4]),
  mgpo4: lambdaOfPair([2, LAMBDA.mg], [3, LAMBDA.po4]),
  cano3: lambdaOfPair([2, LAMBDA.ca], [1, LAMBDA.no3]),
  cah2po4: lambdaOfPair([2, LAMBDA.ca], [1, LAMBDA.h2po4]),
  mgh2po4: lambdaOfPair([2, LAMBDA.mg], [1, LAMBDA.h2po4]),
  cahco3: lambdaOfPair([2, LAMBDA.ca], [1, LAMBDA.hco3]),
  mghco3: lambdaOfPair([2, LAMBDA.mg], [1, LAMBDA.hco3]),
} as const

/** Onsager's constants for water at 25 °C, (L/mol)^0.5: textbook, from memory; they meet NIST KCl within 0.6 %. */
const RELAXATION = 0.7844
const ELECTROPHORETIC = 30.31
/** Debye-Hückel B, 0.3286 per ångström, times one closest approach of 4.5 Å for all ions. */
const CLOSEST_APPROACH = 0.3286 * 4.5

const { Cl: CL, Mn: MN, Zn: ZN, Cu: CU } = ELEMENT_INDEX

const scratch = blankSpeciation()

/**
 * Conductivity at 25 °C, dS/m: the fast form, allocating nothing.
 *
 * Debye-Hückel-Onsager mixture equation over the speciated ions with one closest approach: Robinson & Stokes,
 * Electrolyte Solutions, ch. 7 (chapter from memory). Neutral pairs carry nothing; pairs that keep a charge carry
 * about a sixth of what their ions did. Two external columns of USGS PHREEQC, which differ by 1 to 8 %, are met
 * within 1 % of their span for nutrient solutions up to pH 7 and raw waters, within 3 % for aged ones; no measured
 * nutrient solution stands behind them, so 2 to 3 % absolute is what theory can promise.
 *
 * @param totals mmol/L in the order of ELEMENTS; NaN in, NaN out
 * @param ph the solution's own pH
 * @param carbon see Carbon: negative is log10 pCO2 in atm, zero or more is total inorganic carbon in mmol/L
 */
export function conductivity25DsPerM(totals: Float64Array, ph: number, carbon: Carbon): number {
  return conductivityOfIons(totals, speciate(totals, ph, carbon, scratch))
}

export type Conductivity =
  | { readonly kind: 'conductivity'; readonly dsPerM: number }
  | { readonly kind: 'not-a-solution'; readonly problem: string }

/**
 * Conductivity at 25 °C of a composition in mmol/L; the careful form of conductivity25DsPerM.
 *
 * @param ph 2 to 11
 * @returns { kind: 'conductivity', dsPerM }, or { kind: 'not-a-solution' } naming the number that cannot be
 */
export function conductivityOf(mmolPerL: Composition, ph: number, carbon: Carbon): Conductivity {
  for (const name of ELEMENTS) {
    const amount = mmolPerL[name] ?? 0
    if (!(amount >= 0 && amount < Infinity)) {
      return { kind: 'not-a-solution', problem: `${name} is ${amount} mmol/L; a concentration is 0 or more` }
    }
  }
  if (!(ph >= 2 && ph <= 11)) return { kind: 'not-a-solution', problem: `pH is ${ph}; it must be from 2 to 11` }
  if (!Number.isFinite(carbon)) return { kind: 'not-a-solution', problem: `carbon is ${carbon}; see Carbon` }
  return { kind: 'conductivity', dsPerM: conductivity25DsPerM(toVector(mmolPerL), ph, carbon) }
}

/** Conductivity at 25 °C of ions already speciated, dS/m. */
export function conductivityOfIons(totals: Float64Array, s: Speciation): number {
  const divalent = s.ca + s.mg + totals[MN]! + totals[ZN]! + totals[CU]!
  const cationPairs = s.cano3 + s.cah2po4 + s.mgh2po4 + s.cahco3 + s.mghco3
  const cationMmol = s.k + s.na + s.nh4 + s.h + cationPairs + divalent
  const cationMeq = cationMmol + divalent
  const anionPairs = s.kso4 + s.naso4 + s.nh4so4 + s.capo4 + s.mgpo4
  const anionSingle = s.no3 + totals[CL]! + s.hso4 + s.hco3 + s.h2po4 + s.oh + anionPairs
  const anionDouble = s.so4 + s.co3 + s.hpo4
  const anionMmol = anionSingle + anionDouble + s.po4
  const anionMeq = anionSingle + 2 * anionDouble + 3 * s.po4
  if (!(cationMmol > 0 && anionMmol > 0)) return cationMmol + anionMmol === 0 ? 0 : Number.NaN
  const cationSum = cationCurrent(totals, s)
  const anionSum = anionCurrent(totals, s)
  const zp = cationMeq / cationMmol
  const zm = anionMeq / anionMmol
  const lp = cationSum / cationMeq
  const lm = anionSum / anionMeq
  const q = ((zp * zm) / (zp + zm)) * ((lp + lm) / (zm * lp + zp * lm))
  const relaxation = (RELAXATION * zp * zm * q) / (1 + Math.sqrt(q))
  const root = Math.sqrt(s.ionicStrengthMolPerL)
  const drag = root / (1 + CLOSEST_APPROACH * root)
  // The sum of c z² over all ions is twice the ionic strength, so the electrophoretic term needs no second pass.
  const chargeSquares = 2000 * s.ionicStrengthMolPerL
  const microS = (cationSum + anionSum) * (1 - relaxation * drag) - ELECTROPHORETIC * drag * chargeSquares
  return microS / 1000
}

/** Sum of mmol/L times charge times limiting conductivity, µS/cm. */
function cationCurrent(totals: Float64Array, s: Speciation): number {
  const single = s.k * LAMBDA.k + s.na * LAMBDA.na + s.nh4 * LAMBDA.nh4 + s.h * LAMBDA.h
  const micros = totals[MN]! * LAMBDA.mn + totals[ZN]! * LAMBDA.zn + totals[CU]! * LAMBDA.cu
  const calciumPairs = s.cano3 * PAIR_LAMBDA.cano3 + s.cah2po4 * PAIR_LAMBDA.cah2po4 + s.cahco3 * PAIR_LAMBDA.cahco3
  const magnesiumPairs = s.mgh2po4 * PAIR_LAMBDA.mgh2po4 + s.mghco3 * PAIR_LAMBDA.mghco3
  return single + calciumPairs + magnesiumPairs + 2 * (s.ca * LAMBDA.ca + s.mg * LAMBDA.mg + micros)
}

function anionCurrent(totals: Float64Array, s: Speciation): number {
  const strong = s.no3 * LAMBDA.no3 + totals[CL]! * LAMBDA.cl + s.hso4 * LAMBDA.hso4
  const weak = s.hco3 * LAMBDA.hco3 + s.h2po4 * LAMBDA.h2po4 + s.oh * LAMBDA.oh
  const sulfatePairs = s.kso4 * PAIR_LAMBDA.kso4 + s.naso4 * PAIR_LAMBDA.naso4 + s.nh4so4 * PAIR_LAMBDA.nh4so4
  const phosphatePairs = s.capo4 * PAIR_LAMBDA.capo4 + s.mgpo4 * PAIR_LAMBDA.mgpo4
  const double = s.so4 * LAMBDA.so4 + s.co3 * LAMBDA.co3 + s.hpo4 * LAMBDA.hpo4
  return strong + weak + sulfatePairs + phosphatePairs + 2 * double + 3 * s.po4 * LAMBDA.po4
}

/** Where the derivative by pH stands in the gradient, after the elements. */
export const GRADIENT_PH_INDEX = ELEMENT_COUNT
export const GRADIENT_LENGTH = ELEMENT_COUNT + 1

/** Iron, boron and molybdenum carry no current in the model; their derivative is 0. */
const CARRIERS = ELEMENTS.filter((name) => !['Fe', 'B', 'Mo'].includes(name)).map((name) => ELEMENT_INDEX[name])
const STEP_MMOL_PER_L = 1e-4
const STEP_PH = 1e-4
const origin = blankSpeciation()
const nudged = new Float64Array(ELEMENT_COUNT)

/**
 * Derivatives of conductivity25DsPerM by every element (dS/m per mmol/L) and by pH (dS/m per unit), by forward
 * difference: conductivity bends so little over the step (below 1e-6 of the slope) that a second look backward would
 * double the cost of every grid step of the estimate for nothing.
 *
 * @param into length GRADIENT_LENGTH, written: elements in the order of ELEMENTS, then pH
 * @returns the conductivity itself, dS/m
 */
export function conductivityGradient(totals: Float64Array, ph: number, carbon: Carbon, into: Float64Array): number {
  const here = conductivityOfIons(totals, speciate(totals, ph, carbon, origin))
  into.fill(0)
  nudged.set(totals)
  for (const at of CARRIERS) {
    nudged[at] = totals[at]! + STEP_MMOL_PER_L
    into[at] = (conductivityNearOrigin(nudged, ph, carbon) - here) / STEP_MMOL_PER_L
    nudged[at] = totals[at]!
  }
  into[GRADIENT_PH_INDEX] = (conductivityNearOrigin(nudged, ph + STEP_PH, carbon) - here) / STEP_PH
  return here
}

function conductivityNearOrigin(totals: Float64Array, ph: number, carbon: Carbon): number {
  return conductivityOfIons(totals, speciateNear(origin, totals, ph, carbon, scratch))
}

/**
 * Linear temperature coefficient of nutrient solutions about 25 °C, per °C. From USGS PHREEQC 3.8.9 runs of the same
 * solution at 15 to 30 °C; within 0.6 % at 15 °C and 0.3 % at 30 °C. The ISO 7888 curve, made for natural water,
 * over-corrects nutrient solutions by 1.4 % at 15 °C.
 */
export const TEMPERATURE_COEFFICIENT_PER_C = 0.0197

/** A raw reading at a temperature to its value at 25 °C, both dS/m. Meant for 5 to 40 °C. */
export function compensate(rawDsPerM: number, temperatureC: number): number {
  return rawDsPerM / (1 + TEMPERATURE_COEFFICIENT_PER_C * (temperatureC - 25))
}

/** What an uncompensated probe reads at a temperature when the value at 25 °C is this; the inverse of compensate. */
export function uncompensate(at25DsPerM: number, temperatureC: number): number {
  return at25DsPerM * (1 + TEMPERATURE_COEFFICIENT_PER_C * (temperatureC - 25))
}
