/** What the second plant keeps count of. Phosphate and carbon are totals; their charge depends on pH. */
export const IONS = ['NO3', 'NH4', 'P', 'K', 'Ca', 'Mg', 'SO4', 'Na', 'Cl', 'Fe', 'Mn', 'Zn', 'B', 'Cu', 'Mo'] as const

export type Ion = (typeof IONS)[number]

/** Ions and the dissolved inorganic carbon. */
export const SOLUTES = [...IONS, 'C'] as const
export type Solute = (typeof SOLUTES)[number]

/** mmol, or mmol/L, of every solute */
export type Solutes = Readonly<Record<Solute, number>>
export type OpenSolutes = Record<Solute, number>

interface IonFacts {
  /** as a laboratory names it, in mg/L of the element */
  readonly label: string
  /** g/mol of that element; standard atomic weights */
  readonly elementGPerMol: number
  /** charge that does not move with pH; iron travels as Fe(III)-DTPA, 2-; boric acid is neutral below pH 8.5 */
  readonly charge: number
  /**
   * S cm²/eq at 25 °C and infinite dilution, the figures of the usual handbook tables (from memory, ±1 %);
   * the chelate’s is a guess, it carries 0.3 % of the current.
   */
  readonly equivalentConductivity: number
}

export const ION_FACTS: Readonly<Record<Ion, IonFacts>> = {
  NO3: { label: 'NO3-N', elementGPerMol: 14.007, charge: -1, equivalentConductivity: 71.4 },
  NH4: { label: 'NH4-N', elementGPerMol: 14.007, charge: 1, equivalentConductivity: 73.5 },
  P: { label: 'P', elementGPerMol: 30.974, charge: 0, equivalentConductivity: 0 },
  K: { label: 'K', elementGPerMol: 39.098, charge: 1, equivalentConductivity: 73.5 },
  Ca: { label: 'Ca', elementGPerMol: 40.078, charge: 2, equivalentConductivity: 59.5 },
  Mg: { label: 'Mg', elementGPerMol: 24.305, charge: 2, equivalentConductivity: 53.1 },
  SO4: { label: 'S', elementGPerMol: 32.06, charge: -2, equivalentConductivity: 80 },
  Na: { label: 'Na', elementGPerMol: 22.99, charge: 1, equivalentConductivity: 50.1 },
  Cl: { label: 'Cl', elementGPerMol: 35.45, charge: -1, equivalentConductivity: 76.35 },
  Fe: { label: 'Fe', elementGPerMol: 55.845, charge: -2, equivalentConductivity: 30 },
  Mn: { label: 'Mn', elementGPerMol: 54.938, charge: 2, equivalentConductivity: 53.5 },
  Zn: { label: 'Zn', elementGPerMol: 65.38, charge: 2, equivalentConductivity: 52.8 },
  B: { label: 'B', elementGPerMol: 10.81, charge: 0, equivalentConductivity: 0 },
  Cu: { label: 'Cu', elementGPerMol: 63.546, charge: 2, equivalentConductivity: 53.6 },
  Mo: { label: 'Mo', elementGPerMol: 95.95, charge: -2, equivalentConductivity: 74.5 },
}

/** A blank sheet. */
export function noSolutes(): OpenSolutes {
  return Object.fromEntries(SOLUTES.map((solute) => [solute, 0])) as OpenSolutes
}

/** mmol/L from mg/L of the element; ions left out are absent. */
export function fromMgPerL(mgPerL: Partial<Record<Ion, number>>): OpenSolutes {
  const solutes = noSolutes()
  for (const ion of IONS) solutes[ion] = (mgPerL[ion] ?? 0) / ION_FACTS[ion].elementGPerMol
  return solutes
}

/** mg/L of the element under the laboratory’s names, from mmol/L. */
export function toMgPerL(mmolPerL: Solutes): Record<string, number> {
  return Object.fromEntries(IONS.map((ion) => [ION_FACTS[ion].label, mmolPerL[ion] * ION_FACTS[ion].elementGPerMol]))
}

/** meq/L of charge that no pH can change; phosphate, carbonate, H⁺ and OH⁻ must balance it. */
export function fixedChargeMeqPerL(mmolPerL: Solutes): number {
  let sum = 0
  for (const ion of IONS) sum += ION_FACTS[ion].charge * mmolPerL[ion]
  return sum
}
