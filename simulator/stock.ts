// What a bottle holds, as its label says.

import { ELEMENT_INDEX, type ElementName } from '../src/chemistry/element.ts'
import { formulaElements, molarMassGPerMol } from '../src/chemistry/molar-mass.ts'
import type { PumpScenario } from './scenario.ts'
import { SOLUTE_COUNT, type Solutes, solutesFromMg, UNTRACKED } from './solution.ts'

/** mmol in one mL of a stock as labelled. An acid or a salt by its formula, anything else by element. */
export function stockMmolPerMl(stock: PumpScenario['stock']): Solutes {
  const total = solutesFromMg(stock.elements)
  total[UNTRACKED] = stock.untrackedMeqPerMl
  for (const { formula, gPerL } of stock.salts) {
    const salt = saltMmol(formula, gPerL / 1000)
    for (let at = 0; at < SOLUTE_COUNT; at += 1) total[at]! += salt[at]!
  }
  return total
}

/** Mass of dissolved salts in one mL, g. */
export function saltGPerMl(stock: PumpScenario['stock']): number {
  return (stock.otherGPerL + stock.salts.reduce((sum, { gPerL }) => sum + gPerL, 0)) / 1000
}

/** Elements of a mass of a pure salt, mmol. Throws where the formula cannot be read. */
export function saltMmol(formula: string, massG: number): Solutes {
  const mass = molarMassGPerMol(formula)
  const elements = formulaElements(formula)
  if (mass.kind !== 'molar-mass') throw new Error(`${formula}: ${mass.problem}`)
  if (elements.kind !== 'elements') throw new Error(`${formula}: ${elements.problem}`)
  const solutes = new Float64Array(SOLUTE_COUNT)
  for (const [name, count] of Object.entries(elements.molPerMol)) {
    solutes[ELEMENT_INDEX[name as ElementName]] = (count * massG * 1000) / mass.gPerMol
  }
  return solutes
}
