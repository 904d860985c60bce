// The forms in which laboratories and labels state an element: P2O5 for phosphorus, CaCO3 for alkalinity.

import type { ElementName } from './element.ts'
import { alkalinityToMeqPerL } from './hardness.ts'
import { ELEMENT_MOLAR_MASS, ATOMIC_WEIGHT_G_PER_MOL as W } from './molar-mass.ts'

const OXYGEN = W.O

/** For each form the element it tells of and the grams of the form that hold one mole of that element. */
const ELEMENT_FORMS = {
  NO3: ['NO3-N', W.N + 3 * OXYGEN],
  'NO3-N': ['NO3-N', W.N],
  NH4: ['NH4-N', W.N + 4 * W.H],
  'NH4-N': ['NH4-N', W.N],
  P: ['P', W.P],
  PO4: ['P', W.P + 4 * OXYGEN],
  H2PO4: ['P', 2 * W.H + W.P + 4 * OXYGEN],
  HPO4: ['P', W.H + W.P + 4 * OXYGEN],
  P2O5: ['P', W.P + 2.5 * OXYGEN],
  K: ['K', W.K],
  K2O: ['K', W.K + 0.5 * OXYGEN],
  Ca: ['Ca', W.Ca],
  CaO: ['Ca', W.Ca + OXYGEN],
  Mg: ['Mg', W.Mg],
  MgO: ['Mg', W.Mg + OXYGEN],
  S: ['S', W.S],
  SO4: ['S', W.S + 4 * OXYGEN],
  SO3: ['S', W.S + 3 * OXYGEN],
  Na: ['Na', W.Na],
  Cl: ['Cl', W.Cl],
  Fe: ['Fe', W.Fe],
  Mn: ['Mn', W.Mn],
  Zn: ['Zn', W.Zn],
  B: ['B', W.B],
  Cu: ['Cu', W.Cu],
  Mo: ['Mo', W.Mo],
} as const satisfies Record<string, readonly [ElementName, number]>

export type ElementForm = keyof typeof ELEMENT_FORMS

/** Forms that state alkalinity rather than an element. CaCO3 tells nothing of calcium here. */
export const ALKALINITY_FORMS = ['HCO3', 'CaCO3'] as const
export type AlkalinityForm = (typeof ALKALINITY_FORMS)[number]

export const FORMS: readonly (ElementForm | AlkalinityForm)[] = [
  ...(Object.keys(ELEMENT_FORMS) as ElementForm[]),
  ...ALKALINITY_FORMS,
]

export type FormReading =
  | { readonly kind: 'element'; readonly element: ElementName; readonly mgPerL: number }
  | { readonly kind: 'alkalinity'; readonly meqPerL: number }
  | { readonly kind: 'unknown-form'; readonly form: string; readonly known: readonly string[] }

/**
 * What a value in mg/L of some form says.
 *
 * @param form spelled as in FORMS
 * @returns the element in mg/L of the element, or alkalinity in meq/L for HCO3 and CaCO3, or the list of known forms.
 *   Factors from molar masses: P2O5 to P 0.43643, K2O to K 0.83015, NO3 to NO3-N 0.22590.
 */
export function readForm(form: string, mgPerL: number): FormReading {
  if (isElementForm(form)) {
    return { kind: 'element', element: elementOf(form), mgPerL: mgPerL * elementShare(form) }
  }
  if (form === 'HCO3') return { kind: 'alkalinity', meqPerL: alkalinityToMeqPerL(mgPerL, 'mg/L HCO3') }
  if (form === 'CaCO3') return { kind: 'alkalinity', meqPerL: alkalinityToMeqPerL(mgPerL, 'mg/L CaCO3') }
  return { kind: 'unknown-form', form, known: FORMS }
}

/** mg/L of an element written in one of its forms; the way back from readForm. */
export function writeForm(form: ElementForm, elementMgPerL: number): number {
  return elementMgPerL / elementShare(form)
}

/** Is this text a form of a tracked element, spelled as in FORMS? */
export function isElementForm(form: string): form is ElementForm {
  return Object.hasOwn(ELEMENT_FORMS, form)
}

/** The element a form tells of: P for P2O5. */
export function elementOf(form: ElementForm): ElementName {
  return ELEMENT_FORMS[form][0]
}

/** mmol of the element in one gram of the form. */
export function mmolPerG(form: ElementForm): number {
  return 1000 / ELEMENT_FORMS[form][1]
}

/** Grams of the element in one gram of the form. */
export function elementShare(form: ElementForm): number {
  return ELEMENT_MOLAR_MASS[elementOf(form)] / ELEMENT_FORMS[form][1]
}
