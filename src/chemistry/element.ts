// The elements whose amounts are tracked. The order is part of the promise: a composition vector
// (Float64Array) anywhere in the house is indexed by it.

export const ELEMENTS = [
  'NO3-N',
  'NH4-N',
  'P',
  'K',
  'Ca',
  'Mg',
  'S',
  'Na',
  'Cl',
  'Fe',
  'Mn',
  'Zn',
  'B',
  'Cu',
  'Mo',
] as const

export type ElementName = (typeof ELEMENTS)[number]

export const ELEMENT_COUNT = 15

/** The six that crops take most of. Nitrogen stands for both its forms by the one there is most of. */
export const MACRONUTRIENTS = ['NO3-N', 'P', 'K', 'Ca', 'Mg', 'S'] as const satisfies readonly ElementName[]

/** Where each element stands in a composition vector. */
export const ELEMENT_INDEX: Readonly<Record<ElementName, number>> = {
  'NO3-N': 0,
  'NH4-N': 1,
  P: 2,
  K: 3,
  Ca: 4,
  Mg: 5,
  S: 6,
  Na: 7,
  Cl: 8,
  Fe: 9,
  Mn: 10,
  Zn: 11,
  B: 12,
  Cu: 13,
  Mo: 14,
}

/** Amounts or concentrations by element; the unit is said by the name of the variable; absent means 0. */
export type Composition = Readonly<Partial<Record<ElementName, number>>>

/** Is this text the name of a tracked element? */
export function isElementName(text: string): text is ElementName {
  return Object.hasOwn(ELEMENT_INDEX, text)
}

/** The composition as a fresh vector in the order of ELEMENTS, same unit. */
export function toVector(composition: Composition): Float64Array {
  return Float64Array.from(ELEMENTS, (name) => composition[name] ?? 0)
}

/** The vector as a composition, same unit; elements that are exactly 0 are left out. */
export function fromVector(vector: Float64Array): Composition {
  if (vector.length !== ELEMENT_COUNT) throw new Error(`a composition vector holds 15 elements, not ${vector.length}`)
  return Object.fromEntries(ELEMENTS.map((name, at) => [name, vector[at]!]).filter(([, amount]) => amount !== 0))
}
