// Questions in the words of the published examples: mg/L wanted, salts by formula or label, grams out.

import { ELEMENTS, type ElementName } from '../../../../src/chemistry/element.ts'
import { toMgPerL, toMmolPerL } from '../../../../src/chemistry/molar-mass.ts'
import type { Salt } from '../../../../src/chemistry/salt.ts'
import { type Recipe, type RecipeSalt, solveRecipe } from '../../../../src/formulation/recipe/recipe.ts'
import { saltNamed } from './random-recipe.ts'

export type MgPerL = Readonly<Partial<Record<ElementName, number>>>

export const formula = (text: string, purity = 1): Salt => ({ kind: 'formula', formula: text, purity })
export const label = (percent: Extract<Salt, { kind: 'label' }>['percent']): Salt => ({ kind: 'label', percent })

export function saltsOf(shelf: Readonly<Record<string, Salt>>): RecipeSalt[] {
  return Object.entries(shelf).map(([name, salt]) => saltNamed(name, salt))
}

/** Aims alone, the bands wide: an example asks for figures, not for ranges. */
export function bandsFor(wanted: MgPerL) {
  return ELEMENTS.map((name) => {
    const aim = toMmolPerL(name, wanted[name] ?? 0)
    return { low: 0, aim, high: aim > 0 ? 3 * aim : toMmolPerL(name, 1000), weight: aim > 0 ? 1 : 0 }
  })
}

/** Salts for figures in mg/L, nothing being there but the water. */
export function backward(wanted: MgPerL, shelf: Readonly<Record<string, Salt>>, water: MgPerL = {}): Recipe {
  const presentMmolPerL = Float64Array.from(ELEMENTS, (name) => toMmolPerL(name, water[name] ?? 0))
  const question = { presentMmolPerL, bands: bandsFor(wanted), salts: saltsOf(shelf), ammoniumShareMax: 1 }
  const answer = solveRecipe(question)
  if (answer.kind !== 'recipe') throw new Error(answer.explanation)
  return answer
}

/** mg/L of every element from pinned amounts, g/L. */
export function forward(gPerL: Readonly<Record<string, number>>, shelf: Readonly<Record<string, Salt>>) {
  const salts = saltsOf(shelf).map((salt) => ({ ...salt, pinnedGPerL: gPerL[salt.name] ?? 0 }))
  const presentMmolPerL = new Float64Array(ELEMENTS.length)
  const answer = solveRecipe({ presentMmolPerL, bands: bandsFor({}), salts, ammoniumShareMax: 1 })
  if (answer.kind !== 'recipe') throw new Error(answer.explanation)
  return mgPerLOf(answer)
}

export function mgPerLOf({ totalMmolPerL }: Recipe): Record<ElementName, number> {
  const pairs = ELEMENTS.map((name, e) => [name, toMgPerL(name, totalMmolPerL[e]!)])
  return Object.fromEntries(pairs) as Record<ElementName, number>
}

/** How far a figure is from the printed one, as a share of it. */
export function off(figure: number, printed: number): number {
  return Math.abs(figure / printed - 1)
}
