import type { Acidity } from './acidity.ts'
import { ION_FACTS, IONS, type Solutes } from './ion.ts'

/**
 * Each ion’s share is damped by 10^(-a s/(1+s)), s the root of the ionic strength. For charge 1 the figure
 * is fitted to 1413 µS/cm of 0.01 mol/L KCl, for charge 2 to calcium chloride of 0.005 mol/L (120.4 S cm²/eq).
 */
const DAMPING_SINGLE = 0.28
const DAMPING_DOUBLE = 0.76

/** Calcium and magnesium sulfate pair up; log K at no strength, fitted by eye to magnesium sulfate solutions. */
const SULFATE_PAIR_LOG_K = 2.4

/** S cm²/eq of the ions that pH makes (handbook, from memory). */
const H2PO4 = 36
const HPO4 = 57
const HCO3 = 44.5
const CO3 = 69.3
const HYDROGEN = 349.8
const HYDROXYL = 198

/** Conductivity at 25 °C in mS/cm, and the ionic strength in mol/L, of a water in mmol/L. */
export function conduct(mmolPerL: Solutes, acidity: Acidity): { mSPerCm: number; ionicStrengthMolPerL: number } {
  const full = strength(mmolPerL, acidity)
  const pairs = sulfatePairs(mmolPerL, full)
  const ionicStrengthMolPerL = Math.max(full - (4 * (pairs.calcium + pairs.magnesium)) / 1000, 0)
  const root = Math.sqrt(ionicStrengthMolPerL)
  const single = 10 ** ((-DAMPING_SINGLE * root) / (1 + root))
  const double = 10 ** ((-DAMPING_DOUBLE * root) / (1 + root))
  const free = {
    ...mmolPerL,
    Ca: mmolPerL.Ca - pairs.calcium,
    Mg: mmolPerL.Mg - pairs.magnesium,
    SO4: mmolPerL.SO4 - pairs.calcium - pairs.magnesium,
  }
  let sum = 0
  for (const ion of IONS) {
    const { charge, equivalentConductivity } = ION_FACTS[ion]
    const weight = Math.abs(charge)
    sum += equivalentConductivity * weight * free[ion] * (weight === 2 ? double : single)
  }
  sum += single * (H2PO4 * acidity.h2po4 + HCO3 * acidity.hco3 + HYDROGEN * 10 ** (3 - acidity.ph))
  sum += single * HYDROXYL * 10 ** (acidity.ph - 11) + double * 2 * (HPO4 * acidity.hpo4 + CO3 * acidity.co3)
  return { mSPerCm: sum / 1000, ionicStrengthMolPerL }
}

function strength(mmolPerL: Solutes, acidity: Acidity): number {
  let sum = acidity.h2po4 + acidity.hco3 + 4 * (acidity.hpo4 + acidity.co3)
  for (const ion of IONS) sum += ION_FACTS[ion].charge ** 2 * mmolPerL[ion]
  return sum / 2000
}

/** The smaller root of the quadratic of one common constant, shared out by the amounts of the two metals. */
function sulfatePairs(mmolPerL: Solutes, strengthMolPerL: number): { calcium: number; magnesium: number } {
  const root = Math.sqrt(strengthMolPerL)
  const stability = 10 ** (SULFATE_PAIR_LOG_K - 3 - 4.08 * (root / (1 + root) - 0.3 * strengthMolPerL))
  const metals = mmolPerL.Ca + mmolPerL.Mg
  if (metals <= 0 || mmolPerL.SO4 <= 0) return { calcium: 0, magnesium: 0 }
  const half = (metals + mmolPerL.SO4 + 1 / stability) / 2
  const pairs = half - Math.sqrt(half * half - metals * mmolPerL.SO4)
  return { calcium: (pairs * mmolPerL.Ca) / metals, magnesium: (pairs * mmolPerL.Mg) / metals }
}
