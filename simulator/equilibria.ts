// Constants of the plant's own water chemistry at a temperature. Chosen apart from the daemon's: another activity
// model and more ion pairs, so that the two can only agree by both being near the truth.

export interface Equilibria {
  readonly temperatureC: number
  /** slope A and distance factor B (per ångström) of the extended Debye-Hückel law */
  readonly debyeA: number
  readonly debyeB: number
  /** CO2(g) = CO2(aq), mol/(kg atm) */
  readonly henryCo2: number
  readonly k1Carbonic: number
  readonly k2Carbonic: number
  readonly k1Phosphoric: number
  readonly k2Phosphoric: number
  readonly kBisulfate: number
  readonly kAmmonium: number
  readonly kWater: number
}

const GAS_J_PER_MOL_K = 8.314462

/**
 * Equilibrium constants at 0 to 45 °C, mol/kg.
 *
 * Carbonic acid: Plummer & Busenberg 1982 (Geochim. Cosmochim. Acta 46, 1011). The others at 25 °C from the CRC
 * Handbook (Perrin 1982), carried by van 't Hoff's law with enthalpies of the USGS PHREEQC database (phosphate,
 * ammonium) or from memory (water 55.8, bisulfate -16, phosphoric acid -8 kJ/mol). Debye-Hückel A and B: water's
 * density and dielectric constant in the short forms of Truesdell & Jones 1974 (from memory), A 0.5092 at 25 °C.
 */
export function equilibriaAt(temperatureC: number): Equilibria {
  const t = temperatureC + 273.15
  const logs = carbonicLogs(t)
  const dielectric = 87.74 - 0.40008 * temperatureC + 9.398e-4 * temperatureC ** 2 - 1.41e-6 * temperatureC ** 3
  const density =
    1 - ((temperatureC + 288.9414) * (temperatureC - 3.9863) ** 2) / (508929.2 * (temperatureC + 68.12963))
  return {
    temperatureC,
    debyeA: (1.82483e6 * Math.sqrt(density)) / (dielectric * t) ** 1.5,
    debyeB: (50.2916 * Math.sqrt(density)) / Math.sqrt(dielectric * t),
    henryCo2: 10 ** logs.henry,
    k1Carbonic: 10 ** logs.k1,
    k2Carbonic: 10 ** logs.k2,
    k1Phosphoric: vantHoff(-2.16, -8, t),
    k2Phosphoric: vantHoff(-7.21, 4.14, t),
    kBisulfate: vantHoff(-1.99, -16, t),
    kAmmonium: vantHoff(-9.25, 52.22, t),
    kWater: vantHoff(-13.995, 55.8, t),
  }
}

function carbonicLogs(t: number): { henry: number; k1: number; k2: number } {
  const log = Math.log10(t)
  return {
    henry: 108.3865 + 0.01985076 * t - 6919.53 / t - 40.45154 * log + 669365 / t ** 2,
    k1: -356.3094 - 0.06091964 * t + 21834.37 / t + 126.8339 * log - 1684915 / t ** 2,
    k2: -107.8871 - 0.03252849 * t + 5151.79 / t + 38.92561 * log - 563713.9 / t ** 2,
  }
}

function vantHoff(log25: number, enthalpyKjPerMol: number, t: number): number {
  return 10 ** log25 * Math.exp(((enthalpyKjPerMol * 1000) / GAS_J_PER_MOL_K) * (1 / 298.15 - 1 / t))
}

/**
 * Ion pairs, association constants at 25 °C. MINTEQ.v4, WATEQ4F and phreeqc.dat figures of the USGS PHREEQC
 * distribution; CaHCO3+ of Plummer & Busenberg 1982; KHPO4- and NaHPO4- from memory of the same files.
 */
export const PAIR_CONSTANT = {
  caSo4: 10 ** 2.3,
  mgSo4: 10 ** 2.26,
  kSo4: 10 ** 0.85,
  naSo4: 10 ** 0.7,
  nh4So4: 10 ** 1.03,
  caHpo4: 10 ** 2.739,
  mgHpo4: 10 ** 2.87,
  kHpo4: 10 ** 0.88,
  naHpo4: 10 ** 0.29,
  caH2po4: 10 ** 1.408,
  mgH2po4: 10 ** 1.513,
  caHco3: 10 ** 1.11,
  mgHco3: 10 ** 1.07,
} as const
