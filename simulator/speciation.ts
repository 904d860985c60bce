// Which ions the dissolved elements really are, and the pH at which their charges cancel.

import { type ElementName, ELEMENT_INDEX as INDEX } from '../src/chemistry/element.ts'
import { type Equilibria, PAIR_CONSTANT as PAIRS } from './equilibria.ts'
import { CARBON as CARBON_AT, type Solutes, UNTRACKED as UNTRACKED_AT } from './solution.ts'
import { chargeOf, AT as PLACES, SPECIES, strengthOf, writeGammas } from './species.ts'

// Bindings of this module's own: test runners turn every use of an import into a call, and nothing runs as often as
// this. It halves the cost of a simulated week there.
const AT = PLACES
const ELEMENT_INDEX = INDEX
const PAIR_CONSTANT = PAIRS
const CARBON = CARBON_AT
const UNTRACKED = UNTRACKED_AT

export interface Speciation {
  readonly ph: number
  readonly ionicStrength: number
  /** mol/L in the order of SPECIES */
  readonly molPerL: Float64Array
  /** product of the activities of Ca2+ and HPO4 2-, for the saturation with calcium phosphate */
  readonly calciumPhosphateActivity: number
  /** the same of Ca2+ and CO3 2-, for limescale */
  readonly calciumCarbonateActivity: number
  /** charge left over after the last step, mol/L */
  readonly residual: number
}

const PH_TOLERANCE = 1e-7
const LN10 = Math.LN10

/**
 * The equilibrium of a solution whose charges cancel, at given total carbon.
 *
 * @param totals mmol/L (see solution.ts)
 * @param start the speciation of nearly the same water, to begin from
 * @returns pH between 1 and 13 and every species; accurate to 1e-7 pH. Throws when no pH closes the charge.
 *
 * Newton on the charge balance over pH, inside it successive substitution for the pairs; extended Debye-Hückel
 * activities with ion sizes of their own (Kielland 1937, Truesdell & Jones 1974, from memory).
 */
export function speciate(totals: Solutes, constants: Equilibria, start?: Speciation): Speciation {
  const molPerL = start ? Float64Array.from(start.molPerL) : firstGuess(totals)
  const state: Working = { totals, constants, molPerL, gammas: new Float64Array(SPECIES.length), strength: 0 }
  let ph = start?.ph ?? 7
  let low = 1
  let high = 13
  let residual = 0
  for (let turn = 0; turn < 200; turn += 1) {
    residual = settle(state, ph)
    if (residual > 0) low = Math.max(low, ph)
    else high = Math.min(high, ph)
    const slope = -LN10 * (bufferOf(molPerL) + ammoniaBuffer(state))
    let move = -residual / slope
    if (Math.abs(move) > 0.7) move = 0.7 * Math.sign(move)
    const next = ph + move
    if (Math.abs(move) < PH_TOLERANCE) return finish(state, ph, residual)
    // Bounds may be stale by the change of activities, so they are widened a little rather than trusted.
    ph = next > low - 0.05 && next < high + 0.05 ? next : (low + high) / 2
  }
  throw new Error(`no pH closes the charge of this water: ${residual} mol/L left at pH ${ph}`)
}

interface Working {
  readonly totals: Solutes
  readonly constants: Equilibria
  readonly molPerL: Float64Array
  readonly gammas: Float64Array
  strength: number
}

function finish(state: Working, ph: number, residual: number): Speciation {
  const { molPerL, gammas, strength } = state
  const calcium = molPerL[AT.Ca]! * gammas[AT.Ca]!
  return {
    ph,
    ionicStrength: strength,
    molPerL,
    calciumPhosphateActivity: calcium * molPerL[AT.HPO4]! * gammas[AT.HPO4]!,
    calciumCarbonateActivity: calcium * molPerL[AT.CO3]! * gammas[AT.CO3]!,
    residual,
  }
}

function firstGuess(totals: Solutes): Float64Array {
  const molPerL = new Float64Array(SPECIES.length)
  molPerL[AT.NO3] = totals[ELEMENT_INDEX['NO3-N']]! / 1000
  molPerL[AT.K] = totals[ELEMENT_INDEX.K]! / 1000
  molPerL[AT.Ca] = totals[ELEMENT_INDEX.Ca]! / 1000
  molPerL[AT.Mg] = totals[ELEMENT_INDEX.Mg]! / 1000
  molPerL[AT.SO4] = totals[ELEMENT_INDEX.S]! / 1000
  molPerL[AT.NH4] = totals[ELEMENT_INDEX['NH4-N']]! / 1000
  molPerL[AT.Na] = totals[ELEMENT_INDEX.Na]! / 1000
  return molPerL
}

/** Distributes all totals at one pH until they stand still; returns the sum of charges, mol/L. */
function settle(state: Working, ph: number): number {
  for (let turn = 0; turn < 60; turn += 1) {
    updateGammas(state)
    if (distribute(state, 10 ** -ph) < 1e-9) break
  }
  return state.totals[UNTRACKED]! / 1000 + chargeOf(state.molPerL)
}

function updateGammas(state: Working): void {
  const strength = Math.max(1e-7, strengthOf(state.molPerL) + Math.abs(state.totals[UNTRACKED]!) / 2000)
  if (Math.abs(strength - state.strength) < 1e-7 * strength) return
  state.strength = strength
  writeGammas(state.gammas, strength, state.constants)
}

/** One pass over all equilibria; returns the largest relative change of a free ion. */
function distribute(state: Working, hActivity: number): number {
  const before = snapshotOf(state.molPerL)
  distributePhosphate(state, hActivity)
  distributeSulfate(state, hActivity)
  distributeCarbonate(state, hActivity)
  distributeCations(state, hActivity)
  const { molPerL, gammas, totals, constants } = state
  molPerL[AT.H] = hActivity / gammas[AT.H]!
  molPerL[AT.OH] = constants.kWater / hActivity / gammas[AT.OH]!
  molPerL[AT.NO3] = totals[ELEMENT_INDEX['NO3-N']]! / 1000
  molPerL[AT.Cl] = totals[ELEMENT_INDEX.Cl]! / 1000
  molPerL[AT.Mn] = totals[ELEMENT_INDEX.Mn]! / 1000
  molPerL[AT.Zn] = totals[ELEMENT_INDEX.Zn]! / 1000
  molPerL[AT.Cu] = totals[ELEMENT_INDEX.Cu]! / 1000
  molPerL[AT.MoO4] = totals[ELEMENT_INDEX.Mo]! / 1000
  return changeSince(before, state.molPerL)
}

const WATCHED = [AT.Ca, AT.Mg, AT.SO4, AT.HPO4, AT.HCO3] as const

function snapshotOf(molPerL: Float64Array): readonly number[] {
  return WATCHED.map((at) => molPerL[at]!)
}

function changeSince(before: readonly number[], molPerL: Float64Array): number {
  let change = 0
  for (let n = 0; n < WATCHED.length; n += 1) {
    const now = molPerL[WATCHED[n]!]!
    if (now > 1e-12) change = Math.max(change, Math.abs(now - before[n]!) / now)
  }
  return change
}

/** Concentration of a pair per unit of its two free ions: K γa γb / γpair. */
function pairing(gammas: Float64Array, constant: number, a: number, b: number, pair: number): number {
  return (constant * gammas[a]! * gammas[b]!) / gammas[pair]!
}

function distributePhosphate({ totals, constants, molPerL, gammas }: Working, h: number): void {
  const g = gammas
  const h2 = (h * g[AT.HPO4]!) / (constants.k2Phosphoric * g[AT.H2PO4]!)
  const h3 = (h2 * h * g[AT.H2PO4]!) / (constants.k1Phosphoric * g[AT.H3PO4]!)
  const [ca, mg] = [molPerL[AT.Ca]!, molPerL[AT.Mg]!]
  const caHpo4 = ca * pairing(gammas, PAIR_CONSTANT.caHpo4, AT.Ca, AT.HPO4, AT.CaHPO4)
  const mgHpo4 = mg * pairing(gammas, PAIR_CONSTANT.mgHpo4, AT.Mg, AT.HPO4, AT.MgHPO4)
  const kHpo4 = molPerL[AT.K]! * pairing(gammas, PAIR_CONSTANT.kHpo4, AT.K, AT.HPO4, AT.KHPO4)
  const naHpo4 = molPerL[AT.Na]! * pairing(gammas, PAIR_CONSTANT.naHpo4, AT.Na, AT.HPO4, AT.NaHPO4)
  const caH2 = h2 * ca * pairing(gammas, PAIR_CONSTANT.caH2po4, AT.Ca, AT.H2PO4, AT.CaH2PO4)
  const mgH2 = h2 * mg * pairing(gammas, PAIR_CONSTANT.mgH2po4, AT.Mg, AT.H2PO4, AT.MgH2PO4)
  const hpo4 = totals[ELEMENT_INDEX.P]! / 1000 / (1 + h2 + h3 + caHpo4 + mgHpo4 + kHpo4 + naHpo4 + caH2 + mgH2)
  molPerL[AT.HPO4] = hpo4
  molPerL[AT.H2PO4] = hpo4 * h2
  molPerL[AT.H3PO4] = hpo4 * h3
  molPerL[AT.CaHPO4] = hpo4 * caHpo4
  molPerL[AT.MgHPO4] = hpo4 * mgHpo4
  molPerL[AT.KHPO4] = hpo4 * kHpo4
  molPerL[AT.NaHPO4] = hpo4 * naHpo4
  molPerL[AT.CaH2PO4] = hpo4 * caH2
  molPerL[AT.MgH2PO4] = hpo4 * mgH2
}

function distributeSulfate({ totals, constants, molPerL, gammas }: Working, h: number): void {
  const acid = (h * gammas[AT.SO4]!) / (constants.kBisulfate * gammas[AT.HSO4]!)
  const ca = molPerL[AT.Ca]! * pairing(gammas, PAIR_CONSTANT.caSo4, AT.Ca, AT.SO4, AT.CaSO4)
  const mg = molPerL[AT.Mg]! * pairing(gammas, PAIR_CONSTANT.mgSo4, AT.Mg, AT.SO4, AT.MgSO4)
  const k = molPerL[AT.K]! * pairing(gammas, PAIR_CONSTANT.kSo4, AT.K, AT.SO4, AT.KSO4)
  const na = molPerL[AT.Na]! * pairing(gammas, PAIR_CONSTANT.naSo4, AT.Na, AT.SO4, AT.NaSO4)
  const nh4 = molPerL[AT.NH4]! * pairing(gammas, PAIR_CONSTANT.nh4So4, AT.NH4, AT.SO4, AT.NH4SO4)
  const so4 = totals[ELEMENT_INDEX.S]! / 1000 / (1 + acid + ca + mg + k + na + nh4)
  molPerL[AT.SO4] = so4
  molPerL[AT.HSO4] = so4 * acid
  molPerL[AT.CaSO4] = so4 * ca
  molPerL[AT.MgSO4] = so4 * mg
  molPerL[AT.KSO4] = so4 * k
  molPerL[AT.NaSO4] = so4 * na
  molPerL[AT.NH4SO4] = so4 * nh4
}

/** The neutral pairs CaCO3 and MgCO3 are left out: below pH 7.6 they hold less than 0.4 % of the carbon. */
function distributeCarbonate({ totals, constants, molPerL, gammas }: Working, h: number): void {
  const g = gammas
  const co2 = (h * g[AT.HCO3]!) / (constants.k1Carbonic * g[AT.CO2]!)
  const co3 = (constants.k2Carbonic * g[AT.HCO3]!) / (h * g[AT.CO3]!)
  const ca = molPerL[AT.Ca]! * pairing(gammas, PAIR_CONSTANT.caHco3, AT.Ca, AT.HCO3, AT.CaHCO3)
  const mg = molPerL[AT.Mg]! * pairing(gammas, PAIR_CONSTANT.mgHco3, AT.Mg, AT.HCO3, AT.MgHCO3)
  const hco3 = totals[CARBON]! / 1000 / (1 + co2 + co3 + ca + mg)
  molPerL[AT.HCO3] = hco3
  molPerL[AT.CO2] = hco3 * co2
  molPerL[AT.CO3] = hco3 * co3
  molPerL[AT.CaHCO3] = hco3 * ca
  molPerL[AT.MgHCO3] = hco3 * mg
}

/** Cations share themselves among the anions; written out without closures, since this is the plant's hottest place. */
function distributeCations(state: Working, h: number): void {
  const { constants, molPerL, gammas } = state
  const K = PAIR_CONSTANT
  const caBound =
    bound(state, K.caSo4, AT.Ca, AT.SO4, AT.CaSO4) +
    bound(state, K.caHpo4, AT.Ca, AT.HPO4, AT.CaHPO4) +
    bound(state, K.caH2po4, AT.Ca, AT.H2PO4, AT.CaH2PO4) +
    bound(state, K.caHco3, AT.Ca, AT.HCO3, AT.CaHCO3)
  const mgBound =
    bound(state, K.mgSo4, AT.Mg, AT.SO4, AT.MgSO4) +
    bound(state, K.mgHpo4, AT.Mg, AT.HPO4, AT.MgHPO4) +
    bound(state, K.mgH2po4, AT.Mg, AT.H2PO4, AT.MgH2PO4) +
    bound(state, K.mgHco3, AT.Mg, AT.HCO3, AT.MgHCO3)
  const kBound = bound(state, K.kSo4, AT.K, AT.SO4, AT.KSO4) + bound(state, K.kHpo4, AT.K, AT.HPO4, AT.KHPO4)
  const naBound = bound(state, K.naSo4, AT.Na, AT.SO4, AT.NaSO4) + bound(state, K.naHpo4, AT.Na, AT.HPO4, AT.NaHPO4)
  const ammonia = (constants.kAmmonium * gammas[AT.NH4]!) / h
  molPerL[AT.Ca] = totalOf(state, 'Ca') / (1 + caBound)
  molPerL[AT.Mg] = totalOf(state, 'Mg') / (1 + mgBound)
  molPerL[AT.K] = totalOf(state, 'K') / (1 + kBound)
  molPerL[AT.Na] = totalOf(state, 'Na') / (1 + naBound)
  molPerL[AT.NH4] = totalOf(state, 'NH4-N') / (1 + ammonia + bound(state, K.nh4So4, AT.NH4, AT.SO4, AT.NH4SO4))
}

/** Of a cation per unit of the free cation, what one anion holds as a pair. */
function bound({ molPerL, gammas }: Working, constant: number, cation: number, anion: number, pair: number): number {
  return molPerL[anion]! * pairing(gammas, constant, cation, anion, pair)
}

/** mol/L */
function totalOf({ totals }: Working, element: ElementName): number {
  return totals[ELEMENT_INDEX[element]]! / 1000
}

function ammoniaBuffer({ totals, molPerL }: Working): number {
  const total = totals[ELEMENT_INDEX['NH4-N']]! / 1000
  const ammonium = molPerL[AT.NH4]! + molPerL[AT.NH4SO4]!
  return total > 0 ? (ammonium * Math.max(0, total - ammonium)) / total : 0
}

/** Buffer intensity per unit of ln(10) pH, mol/L: what Newton's step is sized by. */
function bufferOf(molPerL: Float64Array): number {
  const acid = molPerL[AT.H2PO4]! + molPerL[AT.CaH2PO4]! + molPerL[AT.MgH2PO4]!
  const base = molPerL[AT.HPO4]! + molPerL[AT.CaHPO4]! + molPerL[AT.MgHPO4]! + molPerL[AT.KHPO4]!
  const co2 = molPerL[AT.CO2]!
  const hco3 = molPerL[AT.HCO3]! + molPerL[AT.CaHCO3]! + molPerL[AT.MgHCO3]!
  const co3 = molPerL[AT.CO3]!
  return (
    molPerL[AT.H]! +
    molPerL[AT.OH]! +
    (acid * base) / (acid + base + 1e-15) +
    (molPerL[AT.H3PO4]! * acid) / (molPerL[AT.H3PO4]! + acid + 1e-15) +
    (co2 * hco3) / (co2 + hco3 + 1e-15) +
    (hco3 * co3) / (hco3 + co3 + 1e-15) +
    (molPerL[AT.SO4]! * molPerL[AT.HSO4]!) / (molPerL[AT.SO4]! + molPerL[AT.HSO4]! + 1e-15)
  )
}
