// One round of mass action: the acids and the ion pairs, each against what the round before left free.

import type { Carbon } from './carbon.ts'
import { ELEMENT_INDEX } from './element.ts'
import {
  AMMONIUM_K,
  BISULFATE_K,
  CARBON_DIOXIDE_KH,
  CARBONATE_K1,
  CARBONATE_K2,
  PAIR_CACO3,
  PAIR_CAH2PO4,
  PAIR_CAHCO3,
  PAIR_CAHPO4,
  PAIR_CANO3,
  PAIR_CAPO4,
  PAIR_CASO4,
  PAIR_KSO4,
  PAIR_MGCO3,
  PAIR_MGH2PO4,
  PAIR_MGHCO3,
  PAIR_MGHPO4,
  PAIR_MGPO4,
  PAIR_MGSO4,
  PAIR_NASO4,
  PAIR_NH4SO4,
  PHOSPHATE_K1,
  PHOSPHATE_K2,
  PHOSPHATE_K3,
  WATER_K,
} from './equilibrium.ts'
import type { Speciation } from './speciation.ts'

const NO3 = ELEMENT_INDEX['NO3-N']
const NH4 = ELEMENT_INDEX['NH4-N']
const { P, K, Ca: CA, Mg: MG, S, Na: NA } = ELEMENT_INDEX

/**
 * One round, 25 °C: water and the anions against the cations left free by the round before, then the cations against
 * those anions. Reads ca, mg, k, na, nh4 and gamma1 of `s`. Writes the ions, ammonia and the charged pairs of calcium
 * and magnesium, which the ionic strength counts; the other pairs are left to completePairs. Under open carbon co2 is
 * read too, as dissolvedCo2 has it.
 *
 * @param acid activity of the proton, mol/L; perAcid is its inverse
 */
export function associate(totals: Float64Array, acid: number, perAcid: number, carbon: Carbon, s: Speciation): void {
  const perG1 = 1 / s.gamma1
  s.h = 1000 * acid * perG1
  s.oh = 1000 * WATER_K * perAcid * perG1
  bindCarbonate(perAcid, perG1, carbon, s)
  bindSulfate(totals, acid, s)
  bindPhosphate(totals, acid, perAcid, s)
  s.no3 = totals[NO3]! / (1 + PAIR_CANO3 * chargedPair(s.gamma1) * s.ca)
  freeEarths(totals, s)
  freeCations(totals, perAcid, s)
}

/** CO2 dissolved under a gas, the same in every round, mmol/L. */
export function dissolvedCo2(log10Pco2Atm: number): number {
  return 1000 * CARBON_DIOXIDE_KH * Math.exp(log10Pco2Atm * Math.LN10)
}

/** The pairs that no round needs, from ions that have settled, mmol/L. */
export function completePairs(s: Speciation): void {
  const charged = chargedPair(s.gamma1)
  const neutral = neutralPair(s.gamma1)
  s.kso4 = PAIR_KSO4 * charged * s.k * s.so4
  s.naso4 = PAIR_NASO4 * charged * s.na * s.so4
  s.nh4so4 = PAIR_NH4SO4 * charged * s.nh4 * s.so4
  s.caso4 = PAIR_CASO4 * neutral * s.ca * s.so4
  s.mgso4 = PAIR_MGSO4 * neutral * s.mg * s.so4
  s.cahpo4 = PAIR_CAHPO4 * neutral * s.ca * s.hpo4
  s.mghpo4 = PAIR_MGHPO4 * neutral * s.mg * s.hpo4
  s.caco3 = PAIR_CACO3 * neutral * s.ca * s.co3
  s.mgco3 = PAIR_MGCO3 * neutral * s.mg * s.co3
}

/** Multiplied by, since a division costs more and this is done in every round. */
const MOL_PER_MMOL = 1e-3

/** Activity coefficients of an ion of charge 2 and one of charge 1 over their pair's of charge 1, per mmol/L. */
function chargedPair(g1: number): number {
  const squared = g1 * g1
  return squared * squared * MOL_PER_MMOL
}

/** Activity coefficients of two ions of charge 2, whose pair has none, per mmol/L. */
function neutralPair(g1: number): number {
  const squared = g1 * g1
  const g2 = squared * squared
  return g2 * g2 * MOL_PER_MMOL
}

/** Activity coefficients of an ion of charge 2 and one of charge 3 over their pair's of charge 1, per mmol/L. */
function phosphatePair(g1: number): number {
  const squared = g1 * g1
  return squared * squared * squared * squared * squared * squared * MOL_PER_MMOL
}

function bindCarbonate(perAcid: number, perG1: number, carbon: Carbon, s: Speciation): void {
  const charged = chargedPair(s.gamma1)
  const neutral = neutralPair(s.gamma1)
  const cahco3 = PAIR_CAHCO3 * charged * s.ca
  const mghco3 = PAIR_MGHCO3 * charged * s.mg
  const co3Forms = 1 + neutral * (PAIR_CACO3 * s.ca + PAIR_MGCO3 * s.mg)
  const hco3PerCo2 = CARBONATE_K1 * perAcid * perG1
  const co3PerHco3 = CARBONATE_K2 * perAcid * perG1 * perG1 * perG1
  const co2Forms = 1 + hco3PerCo2 * (1 + cahco3 + mghco3 + co3PerHco3 * co3Forms)
  if (carbon >= 0) s.co2 = carbon / co2Forms
  s.hco3 = s.co2 * hco3PerCo2
  s.co3 = s.hco3 * co3PerHco3
}

function bindSulfate(totals: Float64Array, acid: number, s: Speciation): void {
  const g1 = s.gamma1
  const charged = PAIR_KSO4 * s.k + PAIR_NASO4 * s.na + PAIR_NH4SO4 * s.nh4
  const neutral = PAIR_CASO4 * s.ca + PAIR_MGSO4 * s.mg
  const hso4PerSo4 = acid * g1 * g1 * g1 * (1 / BISULFATE_K)
  s.so4 = totals[S]! / (1 + hso4PerSo4 + chargedPair(g1) * charged + neutralPair(g1) * neutral)
  s.hso4 = hso4PerSo4 * s.so4
}

function bindPhosphate(totals: Float64Array, acid: number, perAcid: number, s: Speciation): void {
  const g1 = s.gamma1
  const g3 = g1 * g1 * g1
  const h3po4PerH2po4 = acid * g1 * (1 / PHOSPHATE_K1)
  const h2po4PerHpo4 = acid * g3 * (1 / PHOSPHATE_K2)
  const po4PerHpo4 = (PHOSPHATE_K3 * perAcid) / (g3 * g1 * g1)
  const h2po4Pairs = chargedPair(g1) * (PAIR_CAH2PO4 * s.ca + PAIR_MGH2PO4 * s.mg)
  const hpo4Pairs = neutralPair(g1) * (PAIR_CAHPO4 * s.ca + PAIR_MGHPO4 * s.mg)
  const po4Pairs = phosphatePair(g1) * (PAIR_CAPO4 * s.ca + PAIR_MGPO4 * s.mg)
  const h2po4Forms = h2po4PerHpo4 * (1 + h3po4PerH2po4 + h2po4Pairs)
  s.hpo4 = totals[P]! / (1 + hpo4Pairs + h2po4Forms + po4PerHpo4 * (1 + po4Pairs))
  s.po4 = po4PerHpo4 * s.hpo4
  s.h2po4 = h2po4PerHpo4 * s.hpo4
  s.h3po4 = h3po4PerH2po4 * s.h2po4
}

/** Calcium and magnesium, and those of their pairs that carry a charge. */
function freeEarths(totals: Float64Array, s: Speciation): void {
  const { gamma1, so4, hpo4, h2po4, po4, hco3, co3, no3 } = s
  const charged = chargedPair(gamma1)
  const neutral = neutralPair(gamma1)
  const phosphate = phosphatePair(gamma1) * po4
  const caNeutral = neutral * (PAIR_CASO4 * so4 + PAIR_CAHPO4 * hpo4 + PAIR_CACO3 * co3)
  const caCharged = charged * (PAIR_CAH2PO4 * h2po4 + PAIR_CAHCO3 * hco3 + PAIR_CANO3 * no3)
  const mgNeutral = neutral * (PAIR_MGSO4 * so4 + PAIR_MGHPO4 * hpo4 + PAIR_MGCO3 * co3)
  const mgCharged = charged * (PAIR_MGH2PO4 * h2po4 + PAIR_MGHCO3 * hco3)
  s.ca = totals[CA]! / (1 + caNeutral + caCharged + PAIR_CAPO4 * phosphate)
  s.mg = totals[MG]! / (1 + mgNeutral + mgCharged + PAIR_MGPO4 * phosphate)
  s.cano3 = PAIR_CANO3 * charged * s.ca * no3
  s.cah2po4 = PAIR_CAH2PO4 * charged * s.ca * h2po4
  s.mgh2po4 = PAIR_MGH2PO4 * charged * s.mg * h2po4
  s.cahco3 = PAIR_CAHCO3 * charged * s.ca * hco3
  s.mghco3 = PAIR_MGHCO3 * charged * s.mg * hco3
  s.capo4 = PAIR_CAPO4 * phosphate * s.ca
  s.mgpo4 = PAIR_MGPO4 * phosphate * s.mg
}

/** Potassium, sodium and ammonium, which pair with sulfate alone. */
function freeCations(totals: Float64Array, perAcid: number, s: Speciation): void {
  const sulfate = chargedPair(s.gamma1) * s.so4
  const nh3PerNh4 = AMMONIUM_K * s.gamma1 * perAcid
  s.k = totals[K]! / (1 + PAIR_KSO4 * sulfate)
  s.na = totals[NA]! / (1 + PAIR_NASO4 * sulfate)
  s.nh4 = totals[NH4]! / (1 + PAIR_NH4SO4 * sulfate + nh3PerNh4)
  s.nh3 = nh3PerNh4 * s.nh4
}
