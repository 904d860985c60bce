// Which ions and pairs the elements form at a given pH. The hot path of the house: it allocates nothing.

import { associate, completePairs, dissolvedCo2 } from './association.ts'
import type { Carbon } from './carbon.ts'
import { ELEMENT_INDEX } from './element.ts'
import { daviesMonovalent } from './equilibrium.ts'

/** Concentrations, mmol/L, except where the name says otherwise. Ions not listed are wholly free. */
export type Speciation = {
  ionicStrengthMolPerL: number
  /** Davies activity coefficient of a singly charged ion; charge 2 has its fourth power. */
  gamma1: number
  h: number
  oh: number
  no3: number
  nh4: number
  nh3: number
  k: number
  na: number
  ca: number
  mg: number
  so4: number
  hso4: number
  h3po4: number
  h2po4: number
  hpo4: number
  po4: number
  co2: number
  hco3: number
  co3: number
  /** Pairs of no charge. */
  caso4: number
  mgso4: number
  cahpo4: number
  mghpo4: number
  caco3: number
  mgco3: number
  /** Pairs of charge -1. */
  kso4: number
  naso4: number
  nh4so4: number
  capo4: number
  mgpo4: number
  /** Pairs of charge +1. */
  cah2po4: number
  mgh2po4: number
  cahco3: number
  mghco3: number
  cano3: number
  /**
   * Alkalinity (strong cations minus strong anions, see alkalinity.ts) at which these ions are electrically
   * neutral, meq/L. Where it equals the alkalinity of the elements, the pH given was the pH of the solution.
   */
  acidBaseMeqPerL: number
}

const NO3 = ELEMENT_INDEX['NO3-N']
const NH4 = ELEMENT_INDEX['NH4-N']
const { P, K, Ca: CA, Mg: MG, S, Na: NA, Cl: CL, Mn: MN, Zn: ZN, Cu: CU } = ELEMENT_INDEX

/** Settled when no concentration that feeds back moves by more than this share in one round. */
const SETTLED = 1e-10
const ROUNDS_MAX = 500

/** A speciation to write into, one per caller that runs often. */
export function blankSpeciation(): Speciation {
  // 0.5, not 0: the engine then keeps every field as a double from the start and no store allocates.
  return {
    ionicStrengthMolPerL: 0.5,
    gamma1: 0.5,
    h: 0.5,
    oh: 0.5,
    no3: 0.5,
    nh4: 0.5,
    nh3: 0.5,
    k: 0.5,
    na: 0.5,
    ca: 0.5,
    mg: 0.5,
    so4: 0.5,
    hso4: 0.5,
    h3po4: 0.5,
    h2po4: 0.5,
    hpo4: 0.5,
    po4: 0.5,
    co2: 0.5,
    hco3: 0.5,
    co3: 0.5,
    caso4: 0.5,
    mgso4: 0.5,
    cahpo4: 0.5,
    mghpo4: 0.5,
    caco3: 0.5,
    mgco3: 0.5,
    kso4: 0.5,
    naso4: 0.5,
    nh4so4: 0.5,
    capo4: 0.5,
    mgpo4: 0.5,
    cah2po4: 0.5,
    mgh2po4: 0.5,
    cahco3: 0.5,
    mghco3: 0.5,
    cano3: 0.5,
    acidBaseMeqPerL: 0.5,
  }
}

/**
 * Speciates element totals at a given pH, 25 °C, into `into`, which is also returned.
 *
 * Davies activity coefficients; H3PO4/H2PO4/HPO4/PO4, CO2/HCO3/CO3, NH4/NH3, HSO4/SO4; calcium and magnesium paired
 * with SO4, the three phosphates, HCO3 and CO3; calcium with NO3; potassium, sodium and ammonium with SO4. The neutral
 * pairs with SO4 and HPO4 bind a tenth of calcium and magnesium; the weaker ones a few percent of an ion each, and
 * without them alkalinity was up to 0.03 meq/L and conductivity up to 1.6 % too high. Iron, boron and molybdenum carry
 * no charge here. The result depends on the arguments alone, never on what `into` held before. Totals that need not
 * balance electrically are welcome: the charge is judged by `acidBaseMeqPerL`. Ion association model as in Stumm &
 * Morgan, Aquatic Chemistry, ch. 6 (chapter from memory).
 *
 * @param totals mmol/L in the order of ELEMENTS; a non-finite one makes every result NaN
 * @param ph on the activity scale, as a glass electrode reads it
 * @param carbon see Carbon
 * @throws when the rounds do not settle, which no solution of salts is known to do
 */
export function speciate(totals: Float64Array, ph: number, carbon: Carbon, into: Speciation): Speciation {
  into.k = totals[K]!
  into.na = totals[NA]!
  into.nh4 = totals[NH4]!
  into.ca = totals[CA]!
  into.mg = totals[MG]!
  into.gamma1 = daviesMonovalent(looseIonicStrength(totals))
  return settle(totals, ph, carbon, into)
}

/**
 * As speciate, starting from the ions of a solution close by, which saves half the rounds. What it returns agrees
 * with speciate to the tolerance both settle to, so `near` must itself follow from the inputs.
 */
export function speciateNear(
  near: Speciation,
  totals: Float64Array,
  ph: number,
  carbon: Carbon,
  into: Speciation,
): Speciation {
  into.k = near.k
  into.na = near.na
  into.nh4 = near.nh4
  into.ca = near.ca
  into.mg = near.mg
  into.gamma1 = near.gamma1
  return settle(totals, ph, carbon, into)
}

/** Rounds of protons, pairs and ionic strength, each from the one before, until nothing moves. */
function settle(totals: Float64Array, ph: number, carbon: Carbon, into: Speciation): Speciation {
  const acid = Math.exp(-ph * Math.LN10)
  const perAcid = 1 / acid
  if (!(carbon >= 0)) into.co2 = dissolvedCo2(carbon)
  for (let rounds = 0; rounds < ROUNDS_MAX; rounds++) {
    const { ca, mg, k, na, nh4, gamma1 } = into
    associate(totals, acid, perAcid, carbon, into)
    into.ionicStrengthMolPerL = ionicStrength(totals, into)
    into.gamma1 = daviesMonovalent(into.ionicStrengthMolPerL)
    if (moved(gamma1, into.gamma1) || moved(ca, into.ca) || moved(mg, into.mg)) continue
    if (moved(k, into.k) || moved(na, into.na) || moved(nh4, into.nh4)) continue
    completePairs(into)
    into.acidBaseMeqPerL = acidBase(into)
    return into
  }
  throw new Error(`speciation did not settle at pH ${ph}`)
}

/** Not so for a NaN, which has nowhere to go. */
function moved(before: number, after: number): boolean {
  return Math.abs(after - before) > SETTLED * Math.abs(after)
}

/** A first guess: every element wholly free, phosphorus once charged. */
function looseIonicStrength(totals: Float64Array): number {
  const single = totals[NO3]! + totals[NH4]! + totals[K]! + totals[NA]! + totals[CL]! + totals[P]!
  const double = totals[CA]! + totals[MG]! + totals[S]! + totals[MN]! + totals[ZN]! + totals[CU]!
  return (single + 4 * double) / 2000
}

/**
 * Half the sum of concentration times charge squared, mol/L. Potassium, sodium and ammonium have one charge whether
 * free or paired, so their totals stand for both.
 */
function ionicStrength(totals: Float64Array, s: Speciation): number {
  const cations = totals[K]! + totals[NA]! + totals[NH4]! - s.nh3 + s.h
  const anions = s.no3 + totals[CL]! + s.oh + s.hco3 + s.h2po4 + s.hso4
  const pairs = s.cano3 + s.cah2po4 + s.mgh2po4 + s.cahco3 + s.mghco3 + s.capo4 + s.mgpo4
  const double = s.ca + s.mg + s.so4 + s.hpo4 + s.co3 + totals[MN]! + totals[ZN]! + totals[CU]!
  return (cations + anions + pairs + 4 * double + 9 * s.po4) / 2000
}

/**
 * Written from electroneutrality with the pairs put back into their elements: sulfate counts -2 and phosphate -1 in
 * the alkalinity, so what is left is the charge phosphate carries beyond -1 (none in the pairs of H2PO4, one in those
 * of HPO4, two in those of PO4), carbonate with its pairs, the proton that bisulfate hides, and the charge that
 * ammonia lost.
 */
function acidBase(s: Speciation): number {
  const carbonate = s.hco3 + s.cahco3 + s.mghco3 + 2 * (s.co3 + s.caco3 + s.mgco3)
  const phosphate = s.hpo4 + s.cahpo4 + s.mghpo4 + 2 * (s.po4 + s.capo4 + s.mgpo4) - s.h3po4
  return carbonate + phosphate + s.nh3 - s.hso4 + s.oh - s.h
}
