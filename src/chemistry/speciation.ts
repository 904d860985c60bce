// Which ions and pairs the elements form at a given pH. The hot path of the house: it allocates nothing.

import type { Carbon } from './carbon.ts'
import { ELEMENT_INDEX } from './element.ts'
import {
  AMMONIUM_K,
  BISULFATE_K,
  CARBON_DIOXIDE_KH,
  CARBONATE_K1,
  CARBONATE_K2,
  daviesMonovalent,
  PAIR_CAHPO4,
  PAIR_CASO4,
  PAIR_MGHPO4,
  PAIR_MGSO4,
  PHOSPHATE_K1,
  PHOSPHATE_K2,
  PHOSPHATE_K3,
  WATER_K,
} from './equilibrium.ts'

/** Concentrations, mmol/L, except where the name says otherwise. Ions not listed are wholly free. */
export type Speciation = {
  ionicStrengthMolPerL: number
  /** Davies activity coefficient of a singly charged ion; charge 2 has its fourth power. */
  gamma1: number
  h: number
  oh: number
  nh4: number
  nh3: number
  ca: number
  mg: number
  so4: number
  hso4: number
  h3po4: number
  h2po4: number
  hpo4: number
  po4: number
  caso4: number
  mgso4: number
  cahpo4: number
  mghpo4: number
  co2: number
  hco3: number
  co3: number
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
const SETTLED = 1e-11
const ROUNDS_MAX = 500

/** A speciation to write into, one per caller that runs often. */
export function blankSpeciation(): Speciation {
  // 0.5, not 0: the engine then keeps every field as a double from the start and no store allocates.
  return {
    ionicStrengthMolPerL: 0.5,
    gamma1: 0.5,
    h: 0.5,
    oh: 0.5,
    nh4: 0.5,
    nh3: 0.5,
    ca: 0.5,
    mg: 0.5,
    so4: 0.5,
    hso4: 0.5,
    h3po4: 0.5,
    h2po4: 0.5,
    hpo4: 0.5,
    po4: 0.5,
    caso4: 0.5,
    mgso4: 0.5,
    cahpo4: 0.5,
    mghpo4: 0.5,
    co2: 0.5,
    hco3: 0.5,
    co3: 0.5,
    acidBaseMeqPerL: 0.5,
  }
}

/**
 * Speciates element totals at a given pH, 25 °C, into `into`, which is also returned.
 *
 * Davies activity coefficients; H3PO4/H2PO4/HPO4/PO4, CO2/HCO3/CO3, NH4/NH3, HSO4/SO4 and the neutral pairs CaSO4,
 * MgSO4, CaHPO4, MgHPO4. Iron, boron and molybdenum carry no charge here. The result depends on the arguments alone,
 * never on what `into` held before. Totals that need not balance electrically are welcome: the charge is judged by
 * `acidBaseMeqPerL`. Ion association model as in Stumm & Morgan, Aquatic Chemistry, ch. 6 (chapter from memory).
 *
 * @param totals mmol/L in the order of ELEMENTS; a non-finite one makes every result NaN
 * @param ph on the activity scale, as a glass electrode reads it
 * @param carbon see Carbon
 * @throws when the rounds do not settle, which no solution of salts is known to do
 */
export function speciate(totals: Float64Array, ph: number, carbon: Carbon, into: Speciation): Speciation {
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
  into.ca = near.ca
  into.mg = near.mg
  into.gamma1 = near.gamma1
  return settle(totals, ph, carbon, into)
}

/** Rounds of protons, pairs and ionic strength, each from the one before, until nothing moves. */
function settle(totals: Float64Array, ph: number, carbon: Carbon, into: Speciation): Speciation {
  const acid = Math.exp(-ph * Math.LN10)
  const perAcid = 1 / acid
  for (let rounds = 0; rounds < ROUNDS_MAX; rounds++) {
    const { ca, mg, gamma1 } = into
    protonate(totals, acid, perAcid, carbon, into)
    pair(totals, acid, perAcid, into)
    into.ionicStrengthMolPerL = ionicStrength(totals, into)
    into.gamma1 = daviesMonovalent(into.ionicStrengthMolPerL)
    if (moved(gamma1, into.gamma1) || moved(ca, into.ca) || moved(mg, into.mg)) continue
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

/** Water, ammonium and carbonate: they depend on the rest only through the ionic strength. */
function protonate(totals: Float64Array, acid: number, perAcid: number, carbon: Carbon, s: Speciation): void {
  const g1 = s.gamma1
  const perG1 = 1 / g1
  s.h = 1000 * acid * perG1
  s.oh = 1000 * WATER_K * perAcid * perG1
  s.nh4 = totals[NH4]! / (1 + AMMONIUM_K * g1 * perAcid)
  s.nh3 = totals[NH4]! - s.nh4
  const hco3PerCo2 = CARBONATE_K1 * perAcid * perG1
  const co3PerHco3 = CARBONATE_K2 * perAcid * perG1 * perG1 * perG1
  s.co2 =
    carbon < 0 ? 1000 * CARBON_DIOXIDE_KH * Math.exp(carbon * Math.LN10) : carbon / (1 + hco3PerCo2 * (1 + co3PerHco3))
  s.hco3 = s.co2 * hco3PerCo2
  s.co3 = s.hco3 * co3PerHco3
}

/** One round of sulfate and phosphate against the calcium and magnesium left free by the round before. */
function pair(totals: Float64Array, acid: number, perAcid: number, s: Speciation): void {
  const g1 = s.gamma1
  const g2 = g1 * g1 * g1 * g1
  const perMmol = (g2 * g2) / 1000
  const caso4 = PAIR_CASO4 * perMmol
  const mgso4 = PAIR_MGSO4 * perMmol
  const cahpo4 = PAIR_CAHPO4 * perMmol
  const mghpo4 = PAIR_MGHPO4 * perMmol
  const acidG3 = acid * g1 * g1 * g1
  const hso4PerSo4 = acidG3 * (1 / BISULFATE_K)
  const h2po4PerHpo4 = acidG3 * (1 / PHOSPHATE_K2)
  const h3po4PerH2po4 = acid * g1 * (1 / PHOSPHATE_K1)
  const po4PerHpo4 = (PHOSPHATE_K3 * perAcid) / (g2 * g1)
  const so4 = totals[S]! / (1 + hso4PerSo4 + caso4 * s.ca + mgso4 * s.mg)
  const phosphateForms = 1 + h2po4PerHpo4 * (1 + h3po4PerH2po4) + po4PerHpo4
  const hpo4 = totals[P]! / (phosphateForms + cahpo4 * s.ca + mghpo4 * s.mg)
  s.ca = totals[CA]! / (1 + caso4 * so4 + cahpo4 * hpo4)
  s.mg = totals[MG]! / (1 + mgso4 * so4 + mghpo4 * hpo4)
  s.so4 = so4
  s.hso4 = hso4PerSo4 * so4
  s.hpo4 = hpo4
  s.h2po4 = h2po4PerHpo4 * hpo4
  s.h3po4 = h3po4PerH2po4 * s.h2po4
  s.po4 = po4PerHpo4 * hpo4
  s.caso4 = caso4 * s.ca * so4
  s.mgso4 = mgso4 * s.mg * so4
  s.cahpo4 = cahpo4 * s.ca * hpo4
  s.mghpo4 = mghpo4 * s.mg * hpo4
}

/** Half the sum of concentration times charge squared, mol/L. */
function ionicStrength(totals: Float64Array, s: Speciation): number {
  const single = totals[NO3]! + totals[K]! + totals[NA]! + totals[CL]! + s.nh4 + s.h + s.oh + s.hco3 + s.h2po4 + s.hso4
  const double = s.ca + s.mg + s.so4 + s.hpo4 + s.co3 + totals[MN]! + totals[ZN]! + totals[CU]!
  return (single + 4 * double + 9 * s.po4) / 2000
}

/**
 * Written from electroneutrality with the pairs put back into their elements: sulfate counts -2 and phosphate -1 in
 * the alkalinity, so what is left is the charge phosphate carries beyond -1 (a pair CaHPO4 or MgHPO4 holds a doubly
 * charged one), the proton that bisulfate hides, and the charge that ammonia lost.
 */
function acidBase(s: Speciation): number {
  const carbonate = s.hco3 + 2 * s.co3
  const phosphate = s.hpo4 + s.cahpo4 + s.mghpo4 + 2 * s.po4 - s.h3po4
  return carbonate + phosphate + s.nh3 - s.hso4 + s.oh - s.h
}
