// A used reservoir, a shelf and the bands of butterhead lettuce, all written in mg/L.

import { ELEMENTS, type ElementName, toVector } from '../../../../src/chemistry/element.ts'
import { toMgPerL, toMmolPerL } from '../../../../src/chemistry/molar-mass.ts'
import { readSalt, type Salt } from '../../../../src/chemistry/salt.ts'
import { type Amendment, amend } from '../../../../src/formulation/amend/amend.ts'
import type { AmendQuestion } from '../../../../src/formulation/amend/amend-question.ts'
import type { RecipeBand, RecipeSalt } from '../../../../src/formulation/recipe/recipe.ts'

export type MgPerL = Readonly<Partial<Record<ElementName, number>>>

/** low, aim, high in mg/L and weight: as config/crops.yaml has them for butterhead lettuce, stored here. */
const LETTUCE: Readonly<Record<ElementName, readonly [number, number, number, number]>> = {
  'NO3-N': [110, 150, 220, 1],
  'NH4-N': [0, 4, 20, 0.1],
  P: [20, 40, 60, 1],
  K: [130, 200, 300, 1],
  Ca: [80, 130, 200, 1],
  Mg: [20, 35, 60, 0.7],
  S: [20, 55, 110, 0.3],
  Na: [0, 20, 50, 0.1],
  Cl: [0, 20, 70, 0.1],
  Fe: [1, 2, 4, 0.3],
  Mn: [0.25, 0.5, 1, 0.1],
  Zn: [0.1, 0.25, 0.5, 0.1],
  B: [0.15, 0.3, 0.5, 0.1],
  Cu: [0.02, 0.06, 0.15, 0.1],
  Mo: [0.01, 0.04, 0.08, 0.1],
}

export const BANDS: readonly RecipeBand[] = ELEMENTS.map((name) => {
  const [low, aim, high, weight] = LETTUCE[name]
  return { low: toMmolPerL(name, low), aim: toMmolPerL(name, aim), high: toMmolPerL(name, high), weight }
})

const formula = (text: string): Salt => ({ kind: 'formula', formula: text, purity: 1 })
const SALTS: Readonly<Record<string, Salt>> = {
  'calcium nitrate': formula('Ca(NO3)2.4H2O'),
  'potassium nitrate': formula('KNO3'),
  'potassium sulfate': formula('K2SO4'),
  'monopotassium phosphate': formula('KH2PO4'),
  'monoammonium phosphate': formula('NH4H2PO4'),
  'magnesium sulfate': formula('MgSO4.7H2O'),
  'magnesium nitrate': formula('Mg(NO3)2.6H2O'),
  'ammonium nitrate': formula('NH4NO3'),
  'calcium chloride': formula('CaCl2.2H2O'),
  'potassium chloride': formula('KCl'),
  'iron DTPA 11 %': { kind: 'label', percent: { Fe: 11, Na: 4.5 }, alkalinityMeqPerG: 0 },
  'manganese sulfate': formula('MnSO4.H2O'),
  'zinc sulfate': formula('ZnSO4.7H2O'),
  'copper sulfate': formula('CuSO4.5H2O'),
  'boric acid': formula('H3BO3'),
  'sodium molybdate': formula('Na2MoO4.2H2O'),
}

export const CATALOGUE: readonly RecipeSalt[] = Object.entries(SALTS).map(([name, salt]) => {
  const content = readSalt(salt)
  if (content.kind !== 'salt') throw new Error(content.problem)
  return { name, mmolPerG: toVector(content.mmolPerG) }
})

export function shelfOf(...names: readonly string[]): readonly RecipeSalt[] {
  return names.map((name) => CATALOGUE.find((salt) => salt.name === name)!)
}

export const MICROS = [
  ...['iron DTPA 11 %', 'manganese sulfate', 'zinc sulfate', 'copper sulfate', 'boric acid', 'sodium molybdate'],
] as const
export const LEAFY_SHELF = shelfOf(
  ...['calcium nitrate', 'potassium nitrate', 'potassium sulfate', 'monopotassium phosphate', 'magnesium sulfate'],
  ...MICROS,
)

/** A reservoir at the aims of lettuce, but for what is given. */
export const AT_AIM: MgPerL = Object.fromEntries(ELEMENTS.map((name) => [name, LETTUCE[name][1]]))

export function mmolOf(mgPerL: MgPerL): Float64Array {
  return Float64Array.from(ELEMENTS, (name) => toMmolPerL(name, mgPerL[name] ?? 0))
}

export function questionFor(used: MgPerL, other: Partial<AmendQuestion> = {}): AmendQuestion {
  return {
    used: { mmolPerL: mmolOf({ ...AT_AIM, ...used }), unmeasured: [], belowLimit: [] },
    ...{ volumeL: 220, bands: BANDS, shelf: LEAFY_SHELF, catalogue: CATALOGUE, ammoniumShareMax: 0.15 },
    newWaterMmolPerL: mmolOf({ Ca: 40, Mg: 11, S: 8, Na: 13, Cl: 14 }),
    ...other,
  }
}

export function amended(question: AmendQuestion): Amendment {
  const answer = amend(question)
  if (answer.kind === 'no-answer') throw new Error(answer.explanation)
  return answer
}

/** Grams by name, of what is added. */
export function gramsOf(
  { shelf }: Pick<AmendQuestion, 'shelf'>,
  { amounts }: { readonly amounts: Float64Array },
): Record<string, number> {
  return Object.fromEntries(
    shelf.map(({ name }, at) => [name, amounts[at]!]).filter(([, grams]) => Number(grams) > 0.001),
  )
}

export function mgIn({ recipe }: Amendment['amendOnly'], name: ElementName): number {
  return toMgPerL(name, recipe.totalMmolPerL[ELEMENTS.indexOf(name)]!)
}
