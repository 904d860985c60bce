import { fixedChargeAt } from './acidity.ts'
import type { Chance } from './chance.ts'
import { fixedChargeMeqPerL, fromMgPerL, IONS, noSolutes, type OpenSolutes, type Solute, type Solutes } from './ion.ts'

/** mg/L of calcium carbonate per meq/L of alkalinity */
const CARBONATE_MG_PER_MEQ = 50.04

/** Hard well water, mmol/L: its sodium is set so that the alkalinity is exactly 138 mg/L; CO₂ as at pH 7.2 underground. */
export function wellWater(): Solutes {
  const water = fromMgPerL({ Ca: 58, Mg: 8, K: 2, Na: 14, Cl: 22, SO4: 11, NO3: 2.1 })
  const alkalinityMeqPerL = 138 / CARBONATE_MG_PER_MEQ
  balanceCharge(water, alkalinityMeqPerL)
  water.C = alkalinityMeqPerL * (1 + 10 ** (6.3 - 7.2))
  return water
}

/** The reservoir’s first fill, mmol/L: each element up to 5 % off the recipe, sodium or chloride set so that pH is `ph`. */
export function firstFill(chance: Chance): Solutes {
  const fill = fromMgPerL({
    NO3: 150,
    NH4: 2,
    P: 40,
    K: 200,
    Ca: 130,
    Mg: 35,
    SO4: 50,
    Na: 14,
    Cl: 22,
    Fe: 2,
    Mn: 0.5,
    Zn: 0.25,
    B: 0.3,
    Cu: 0.06,
    Mo: 0.04,
  })
  for (const ion of IONS) fill[ion] *= chance.between(0.95, 1.05)
  const air = fixedChargeAt(5.9, fill.P)
  balanceCharge(fill, air.meqPerL)
  fill.C = air.carbonMmolPerL
  return fill
}

export interface Stock {
  readonly rateMlPerMin: number
  /** mmol/L */
  readonly solutes: Solutes
}

/** The four stocks by the pump that draws on them. */
export const STOCKS: Readonly<Record<string, Stock>> = {
  'pump-1': {
    rateMlPerMin: 30,
    solutes: dissolve(
      [100, 236.15, { Ca: 1, NO3: 2 }], // calcium nitrate tetrahydrate
      [2.2 * 0.11, 55.845, { Fe: 1, Na: 1 }], // iron DTPA 11 % as its monosodium salt
    ),
  },
  'pump-2': {
    rateMlPerMin: 30,
    solutes: dissolve(
      [22, 136.086, { K: 1, P: 1 }], // monopotassium phosphate
      [12, 246.47, { Mg: 1, SO4: 1 }], // magnesium sulfate heptahydrate
      [0.2, 169.02, { Mn: 1, SO4: 1 }], // manganese sulfate monohydrate
      [0.14, 287.55, { Zn: 1, SO4: 1 }], // zinc sulfate heptahydrate
      [0.22, 61.83, { B: 1 }], // boric acid
      [0.03, 249.68, { Cu: 1, SO4: 1 }], // copper sulfate pentahydrate
      [0.012, 241.95, { Mo: 1, Na: 2 }], // sodium molybdate dihydrate
    ),
  },
  'pump-3': { rateMlPerMin: 30, solutes: dissolve([120, 101.1, { K: 1, NO3: 1 }]) },
  'pump-4': { rateMlPerMin: 20, solutes: dissolve([63.01, 63.01, { NO3: 1 }]) }, // nitric acid, 1 mol/L
}

function dissolve(...salts: [gPerL: number, gPerMol: number, parts: Partial<Record<Solute, number>>][]): Solutes {
  const solutes = noSolutes()
  for (const [gPerL, gPerMol, parts] of salts) {
    for (const [solute, count] of Object.entries(parts)) {
      solutes[solute as Solute] += (1000 * gPerL * count) / gPerMol
    }
  }
  return solutes
}

/** Adds the conservative ion that is short: sodium or chloride. */
function balanceCharge(water: OpenSolutes, wantedMeqPerL: number): void {
  const short = wantedMeqPerL - fixedChargeMeqPerL(water)
  if (short > 0) water.Na += short
  else water.Cl -= short
}
