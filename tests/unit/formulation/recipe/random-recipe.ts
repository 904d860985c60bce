// Random shelves, waters and bands for recipes: of the size that growers meet, and worse.

import { ELEMENTS, type ElementName, toVector } from '../../../../src/chemistry/element.ts'
import { toMmolPerL } from '../../../../src/chemistry/molar-mass.ts'
import { readSalt, type Salt } from '../../../../src/chemistry/salt.ts'
import type { RecipeQuestion, RecipeSalt } from '../../../../src/formulation/recipe/recipe.ts'

const pure = (formula: string): Salt => ({ kind: 'formula', formula, purity: 1 })

/** Salts of the trade, two blends by label, and one chelate. */
export const SHELF: Readonly<Record<string, Salt>> = {
  'calcium nitrate': pure('Ca(NO3)2.4H2O'),
  'calcium ammonium nitrate': pure('5Ca(NO3)2.NH4NO3.10H2O'),
  'calcium chloride': pure('CaCl2.2H2O'),
  'potassium nitrate': pure('KNO3'),
  'potassium sulfate': pure('K2SO4'),
  'potassium chloride': pure('KCl'),
  'monopotassium phosphate': pure('KH2PO4'),
  'monoammonium phosphate': pure('NH4H2PO4'),
  'magnesium sulfate': pure('MgSO4.7H2O'),
  'magnesium nitrate': pure('Mg(NO3)2.6H2O'),
  'ammonium nitrate': pure('NH4NO3'),
  'ammonium sulfate': pure('(NH4)2SO4'),
  'iron chelate': { kind: 'label', percent: { Fe: 11, Na: 4.5 }, alkalinityMeqPerG: 0 },
  'manganese sulfate': pure('MnSO4.H2O'),
  'zinc sulfate': pure('ZnSO4.7H2O'),
  'copper sulfate': pure('CuSO4.5H2O'),
  'boric acid': pure('H3BO3'),
  borax: pure('Na2B4O7.10H2O'),
  'sodium molybdate': pure('Na2MoO4.2H2O'),
  'base blend': {
    kind: 'label',
    percent: { 'NO3-N': 5, P2O5: 12, K2O: 26, MgO: 5, Fe: 0.3, Mn: 0.05, Zn: 0.015, B: 0.05, Cu: 0.015, Mo: 0.01 },
  },
  'blend with boron': { kind: 'label', percent: { 'NO3-N': 8, P2O5: 10, K2O: 30, B: 0.2, Mn: 0.1 } },
}

export function saltNamed(name: string, salt: Salt = SHELF[name]!): RecipeSalt {
  const content = readSalt(salt)
  if (content.kind !== 'salt') throw new Error(`${name}: ${content.problem}`)
  return { name, mmolPerG: toVector(content.mmolPerG) }
}

/** Working bands for leafy crops, mg/L: low, aim, high, weight. */
const LEAFY: Readonly<Record<ElementName, readonly [number, number, number, number]>> = {
  'NO3-N': [110, 150, 220, 1],
  'NH4-N': [0, 4, 20, 0.1],
  P: [20, 40, 60, 1],
  K: [130, 200, 300, 1],
  Ca: [80, 130, 200, 1],
  Mg: [20, 35, 60, 0.7],
  S: [20, 55, 110, 0.3],
  Na: [0, 20, 50, 0],
  Cl: [0, 20, 70, 0],
  Fe: [1, 2, 4, 0.3],
  Mn: [0.25, 0.5, 1, 0.1],
  Zn: [0.1, 0.25, 0.5, 0.1],
  B: [0.15, 0.3, 0.5, 0.1],
  Cu: [0.02, 0.06, 0.15, 0.1],
  Mo: [0.01, 0.04, 0.08, 0.1],
}

export const LEAFY_BANDS = ELEMENTS.map((name) => {
  const [low, aim, high] = LEAFY[name].map((mgPerL) => toMmolPerL(name, mgPerL)) as [number, number, number, number]
  return { low, aim, high, weight: LEAFY[name][3] }
})

/** The same random question for the same seed: mulberry32. */
export function randomQuestion(seed: number): RecipeQuestion {
  const next = generator(seed)
  const between = (low: number, high: number) => low + (high - low) * next()
  const names = Object.keys(SHELF).filter(() => next() < 0.55)
  const salts = names.map((name) => {
    const salt = saltNamed(name)
    const chance = next()
    if (chance < 0.08) return { ...salt, pinnedGPerL: between(0, 0.6) }
    return chance < 0.16 ? { ...salt, maxGPerL: between(0, 0.5) } : salt
  })
  const bands = LEAFY_BANDS.map(({ low, aim, high, weight }) => {
    const [stretch, narrow] = [between(0.5, 1.8), between(0, 1)]
    const middle = aim * stretch
    return {
      low: next() < 0.1 ? 0 : middle + (low * stretch - middle) * narrow,
      aim: middle,
      high: middle + (high * stretch - middle) * narrow,
      weight: next() < 0.1 ? 0 : weight * between(0.3, 3),
    }
  })
  const used = next() < 0.5
  const presentMmolPerL = Float64Array.from(bands, ({ aim, high }) => {
    if (next() < 0.15) return 0
    if (next() < 0.1) return high * between(1, 2)
    return used ? aim * between(0, 1.3) : aim * between(0, 0.4)
  })
  return { presentMmolPerL, bands, salts, ammoniumShareMax: between(0, 0.3) }
}

function generator(seed: number): () => number {
  let state = seed >>> 0
  return () => {
    state = (state + 0x6d2b79f5) >>> 0
    let mixed = Math.imul(state ^ (state >>> 15), 1 | state)
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4294967296
  }
}
