// How well a solution conducts, ion by ion.

import type { Speciation } from './speciation.ts'
import { SPECIES, type SpeciesName } from './species.ts'

/**
 * One ion: λ = l2 T² + l1 T + l0 − (a2 T² + a1 T + a0) √I / (1 + b √I), T in °C, mS·kg/(cm·mol).
 * McCleskey, Nordstrom, Ryan & Ball 2012, Geochim. Cosmochim. Acta 77, 369 (coefficients as transcribed in an open
 * planetary-science code, not compared with the paper).
 */
type Coefficients = readonly [l2: number, l1: number, l0: number, a2: number, a1: number, a0: number, b: number]

const SULFATE_PAIR: Coefficients = [0.002439, 4.253, 129.7, 0.01576, 6.21, 146.8, 1.3]
/** λ 33 at 25 °C (Marcus); temperature and salt terms after bicarbonate. Our own adaptation, no published source. */
const PRIMARY_PHOSPHATE: Coefficients = [0.00046, 0.676, 15.81, 0.00503, 0.8957, 8.5, 0.3]
/** λ 114 at 25 °C (CRC, 57 per equivalent); shape after sulfate. Our own adaptation, no published source. */
const SECONDARY_PHOSPHATE: Coefficients = [0.0074, 2.024, 58.76, 0.0266, 4.71, 154.8, 2.6]
/** A bulky pair of one charge, λ about 25 at 25 °C: judgement, no source; it carries below 0.5 % of the current. */
const BULKY_PAIR: Coefficients = [0.0004, 0.5, 12.3, 0.003, 0.6, 8, 0.5]

const COEFFICIENTS: Partial<Record<SpeciesName, Coefficients>> = {
  H: [0.01414, 5.355, 224.2, 0.00918, 1.842, 39.23, 0.3],
  OH: [0.003396, 2.925, 121.3, 0.00933, 0.1086, 35.9, 0.01],
  NO3: [0.001925, 1.214, 39.9, 0.00118, 0.5045, 23.31, 0.1],
  NH4: [0.003341, 1.285, 39.04, 0.00132, 0.607, 11.19, 0.3],
  K: [0.003046, 1.261, 40.7, 0.00535, 0.9316, 22.59, 1.5],
  Na: [0.003763, 0.877, 26.23, 0.00027, 1.141, 32.07, 1.7],
  Cl: [0.003817, 1.337, 40.99, 0.00613, 0.9469, 22.01, 1.5],
  Ca: [0.009645, 1.984, 62.28, 0.03174, 2.334, 132.3, 2.8],
  Mg: [0.01068, 1.695, 57.16, 0.02453, 1.915, 80.5, 2.1],
  SO4: [0.01037, 2.838, 82.37, 0.03324, 5.889, 193.5, 2.6],
  HSO4: [0.000927, 0.8337, 29.56, 0.02887, 0.873, 36.25, 7.0],
  HCO3: [0.000614, 0.9048, 21.14, 0.00503, 0.8957, 10.97, 0.1],
  CO3: [0.00326, 2.998, 64.03, 0.00181, 5.542, 120.2, 2.3],
  KSO4: SULFATE_PAIR,
  NH4SO4: SULFATE_PAIR,
  NaSO4: [0.002309, 5.459, 219.2, 0.01454, 5.193, 253.6, 0.5],
  Mn: [0.01275, 2.109, 46.19, 0.1071, 9.023, 135.4, 7.6],
  Zn: [0.01249, 1.912, 48.2, 0.08284, 5.188, 75.73, 7.0],
  Cu: [0.00818, 1.939, 53.26, 0.0292, 6.745, 151.5, 8.0],
  H2PO4: PRIMARY_PHOSPHATE,
  KHPO4: PRIMARY_PHOSPHATE,
  NaHPO4: PRIMARY_PHOSPHATE,
  HPO4: SECONDARY_PHOSPHATE,
  MoO4: SECONDARY_PHOSPHATE,
  CaH2PO4: BULKY_PAIR,
  MgH2PO4: BULKY_PAIR,
  CaHCO3: BULKY_PAIR,
  MgHCO3: BULKY_PAIR,
}

/** Mobility of every species at one temperature, ready for use. */
export interface Mobilities {
  readonly temperatureC: number
  readonly free: Float64Array
  readonly drag: Float64Array
  readonly bend: Float64Array
}

/** The coefficients at a temperature, 0 to 45 °C. */
export function mobilitiesAt(temperatureC: number): Mobilities {
  const square = temperatureC * temperatureC
  const of = (pick: (c: Coefficients) => number) =>
    Float64Array.from(SPECIES, (name) => {
      const coefficients = COEFFICIENTS[name]
      return coefficients ? pick(coefficients) : 0
    })
  return {
    temperatureC,
    free: of(([l2, l1, l0]) => l2 * square + l1 * temperatureC + l0),
    drag: of(([, , , a2, a1, a0]) => a2 * square + a1 * temperatureC + a0),
    bend: of((c) => c[6]),
  }
}

/**
 * Conductivity at the temperature of the mobilities, dS/m (the same as mS/cm).
 *
 * Within 1.5 % of the NIST potassium chloride standards from 0.01 to 0.1 mol/kg and within 4 % of PHREEQC for nutrient
 * solutions. A kilogram of water is taken as a litre: below 0.05 mol/L that errs by less than 0.5 %.
 */
export function conductivityDsPerM(speciation: Speciation, mobilities: Mobilities): number {
  const root = Math.sqrt(speciation.ionicStrength)
  const { free, drag, bend } = mobilities
  let sum = 0
  for (let at = 0; at < free.length; at += 1) {
    const mobility = free[at]! - (drag[at]! * root) / (1 + bend[at]! * root)
    if (mobility > 0) sum += speciation.molPerL[at]! * mobility
  }
  return sum
}
