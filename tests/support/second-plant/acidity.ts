import { fixedChargeMeqPerL, type Solutes } from './ion.ts'

/** How phosphate and carbon stand at the pH that makes the water neutral; all in mmol/L. */
export interface Acidity {
  readonly ph: number
  readonly h2po4: number
  readonly hpo4: number
  readonly co2: number
  readonly hco3: number
  readonly co3: number
}

/** Air over the solution: log of the CO₂ pressure in atm, and Henry’s constant at 25 °C (textbook 10^-1.47 mol/L/atm). */
export const CO2_OF_AIR_MMOL_PER_L = 10 ** (3 - 3.4 - 1.47)

/** Textbook constants at 25 °C, except the second of phosphoric acid: 6.98 so that it is 6.8 at 0.02 mol/L, pairs included. */
const PHOSPHORIC_1 = 2.15
const PHOSPHORIC_2 = 6.98
const CARBONIC_1 = 6.35
const CARBONIC_2 = 10.33
const WATER_MMOL2 = 1e-8

/**
 * Solves the charge balance for pH by halving the interval between 1 and 13 on a logarithmic scale. The
 * balance falls monotonically with pH, so there is one root. Ionic strength enters by the Davies equation.
 */
export function solveAcidity(mmolPerL: Solutes, ionicStrengthMolPerL = 0.02): Acidity {
  const fixed = fixedChargeMeqPerL(mmolPerL)
  const balance = constantsAt(ionicStrengthMolPerL)
  let low = 1e-10
  let high = 100
  for (let round = 0; round < 60; round++) {
    const middle = Math.sqrt(low * high)
    const parts = divide(mmolPerL, middle, balance)
    const charge = fixed + middle - WATER_MMOL2 / middle - parts.h2po4 - 2 * parts.hpo4 - parts.hco3 - 2 * parts.co3
    if (charge > 0) high = middle
    else low = middle
  }
  const hydrogen = Math.sqrt(low * high)
  return { ph: 3 - Math.log10(hydrogen), ...divide(mmolPerL, hydrogen, balance) }
}

/** The fixed charge, in meq/L, that a water of this phosphate must have to stand at `ph` in equilibrium with air. */
export function fixedChargeAt(ph: number, phosphateMmolPerL: number): { meqPerL: number; carbonMmolPerL: number } {
  const hydrogen = 10 ** (3 - ph)
  const { k1c, k2c, k2p } = constantsAt(0.02)
  const hco3 = (CO2_OF_AIR_MMOL_PER_L * k1c) / hydrogen
  const co3 = (hco3 * k2c) / hydrogen
  const hpo4 = (phosphateMmolPerL * k2p) / (k2p + hydrogen)
  const meqPerL = phosphateMmolPerL + hpo4 + hco3 + 2 * co3 + WATER_MMOL2 / hydrogen - hydrogen
  return { meqPerL, carbonMmolPerL: CO2_OF_AIR_MMOL_PER_L + hco3 + co3 }
}

interface Constants {
  readonly k1p: number
  readonly k2p: number
  readonly k1c: number
  readonly k2c: number
}

/** In mmol/L; the exponent of a step from charge z-1 to z grows with z² - (z-1)². */
function constantsAt(ionicStrengthMolPerL: number): Constants {
  const root = Math.sqrt(ionicStrengthMolPerL)
  const davies = 0.51 * (root / (1 + root) - 0.3 * ionicStrengthMolPerL)
  return {
    k1p: 10 ** (3 - PHOSPHORIC_1 + davies),
    k2p: 10 ** (3 - PHOSPHORIC_2 + 3 * davies),
    k1c: 10 ** (3 - CARBONIC_1 + davies),
    k2c: 10 ** (3 - CARBONIC_2 + 3 * davies),
  }
}

function divide(mmolPerL: Solutes, hydrogen: number, k: Constants): Omit<Acidity, 'ph'> {
  const phosphate = mmolPerL.P / (hydrogen * hydrogen + k.k1p * hydrogen + k.k1p * k.k2p)
  const carbon = mmolPerL.C / (hydrogen * hydrogen + k.k1c * hydrogen + k.k1c * k.k2c)
  return {
    h2po4: phosphate * k.k1p * hydrogen,
    hpo4: phosphate * k.k1p * k.k2p,
    co2: carbon * hydrogen * hydrogen,
    hco3: carbon * k.k1c * hydrogen,
    co3: carbon * k.k1c * k.k2c,
  }
}
