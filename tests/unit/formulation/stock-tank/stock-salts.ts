// Salts as the tests put them into tanks.

import { type TankSalt, tankSalt } from '../../../../src/formulation/stock-tank/tank-salt.ts'

export function byFormula(name: string, formula: string, gPerL: number): TankSalt {
  return tankSalt({ name, gPerL, salt: { kind: 'formula', formula, purity: 1 } })
}

export const ironDtpa = (gPerL: number): TankSalt =>
  tankSalt({
    ...{ name: 'iron DTPA 10 %', gPerL, solubilityAt20GPerL: 130 },
    salt: { kind: 'label', percent: { Fe: 10, Na: 4.1 }, alkalinityMeqPerG: 0 },
  })

/**
 * The leafy recipe of Mattson & Peters 2014 (modified Sonneveld solution), grams for 100 US gal (378.54 L), with the
 * five micronutrients of the same target as pure salts.
 */
const BATCH_L = 378.54
export const LEAFY: readonly TankSalt[] = [
  byFormula('calcium nitrate', '5Ca(NO3)2.NH4NO3.10H2O', 184.0 / BATCH_L),
  byFormula('ammonium nitrate', 'NH4NO3', 14.4 / BATCH_L),
  byFormula('potassium nitrate', 'KNO3', 167.3 / BATCH_L),
  ironDtpa(3.8 / BATCH_L),
  byFormula('monopotassium phosphate', 'KH2PO4', 51.5 / BATCH_L),
  byFormula('magnesium sulfate', 'MgSO4.7H2O', 92.0 / BATCH_L),
  byFormula('manganese sulfate', 'MnSO4.H2O', 0.00077),
  byFormula('zinc sulfate', 'ZnSO4.7H2O', 0.00057),
  byFormula('boric acid', 'H3BO3', 0.00092),
]
