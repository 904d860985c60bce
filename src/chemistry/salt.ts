// What a gram of fertilizer or a millilitre of acid or base brings.

import { CHARGE } from './alkalinity.ts'
import { type Composition, ELEMENTS, type ElementName } from './element.ts'
import { type ElementForm, elementOf, isElementForm, mmolPerG } from './form.ts'
import { ELEMENT_MOLAR_MASS, formulaElements, readFormula } from './molar-mass.ts'

/** A salt as its formula and purity, or as the analysis printed on its label. */
export type Salt =
  | {
      readonly kind: 'formula'
      readonly formula: string
      /** Share by mass that is the formula; above 0, at most 1. The rest is taken for inert. */
      readonly purity: number
    }
  | {
      readonly kind: 'label'
      /** Percent by mass of each form as printed: { 'NO3-N': 13.7, K2O: 46 }. */
      readonly percent: Readonly<Partial<Record<ElementForm, number>>>
      /**
       * Alkalinity if known, meq/g: 0 for a neutral salt. Labels are rounded, so the elements alone may seem to carry
       * a charge of 0.1 meq/g that is not there. Absent: it is taken from the elements.
       */
      readonly alkalinityMeqPerG?: number
    }

export type SaltContent = {
  readonly kind: 'salt'
  readonly mmolPerG: Composition
  /** Strong cations minus strong anions, and the declared remainder. */
  readonly alkalinityMeqPerG: number
  /** The part of the alkalinity that the tracked elements do not explain. */
  readonly untrackedMeqPerG: number
  readonly carbonateMmolPerG: number
}

export type BadSalt = { readonly kind: 'bad-salt'; readonly problem: string }

/**
 * Elements in one gram of a salt, mmol, with its alkalinity.
 *
 * @returns { kind: 'salt', ... }, or { kind: 'bad-salt', problem } for a formula that cannot be read or tracked, a
 *   purity outside (0, 1], an unknown form, percentages outside 0 to 100, one element stated twice, or elements of more than 100 % together
 */
export function readSalt(salt: Salt): SaltContent | BadSalt {
  return salt.kind === 'formula' ? fromFormula(salt.formula, salt.purity) : fromLabel(salt)
}

/** An acid or base in water, as its bottle states it. */
export type Reagent = {
  readonly formula: string
  /** Share by mass, above 0, at most 1: 0.60 for 60 % nitric acid. */
  readonly massFraction: number
  readonly densityKgPerL: number
}

export type ReagentContent = {
  readonly kind: 'reagent'
  /** mol/L of the acid or base itself: a need in mmol/L divided by it is mL per litre of water. */
  readonly formulaMmolPerMl: number
  readonly mmolPerMl: Composition
  /** Negative for an acid. Phosphoric acid counts once: its further charge is reckoned by the solution's pH. */
  readonly alkalinityMeqPerMl: number
  readonly carbonateMmolPerMl: number
}

export type BadReagent = { readonly kind: 'bad-reagent'; readonly problem: string }

/**
 * Elements and alkalinity in one millilitre of an acid or base.
 *
 * @returns { kind: 'reagent', ... }, or { kind: 'bad-reagent', problem }. Densities of 0.8 to 2.0 kg/L are accepted.
 */
export function readReagent(reagent: Reagent): ReagentContent | BadReagent {
  const { formula, massFraction, densityKgPerL } = reagent
  if (!(densityKgPerL >= 0.8 && densityKgPerL <= 2)) {
    return {
      kind: 'bad-reagent',
      problem: `density ${densityKgPerL} kg/L; from 0.8 to 2.0 is allowed, see the bottle or its data sheet`,
    }
  }
  const content = fromFormula(formula, massFraction)
  if (content.kind === 'bad-salt') return { kind: 'bad-reagent', problem: content.problem }
  const gPerMl = densityKgPerL
  return {
    kind: 'reagent',
    formulaMmolPerMl: content.formulaMmolPerG * gPerMl,
    mmolPerMl: scaled(content.mmolPerG, gPerMl),
    alkalinityMeqPerMl: content.alkalinityMeqPerG * gPerMl,
    carbonateMmolPerMl: content.carbonateMmolPerG * gPerMl,
  }
}

/** Alkalinity of a composition by its strong ions, meq in the measure of the amounts. */
export function strongIonMeq(mmol: Composition): number {
  return ELEMENTS.reduce((sum, name) => sum + CHARGE[name] * (mmol[name] ?? 0), 0)
}

function fromFormula(formula: string, purity: number): (SaltContent & { formulaMmolPerG: number }) | BadSalt {
  if (!(purity > 0 && purity <= 1)) {
    return { kind: 'bad-salt', problem: `${formula}: purity ${purity}; a share above 0 and at most 1 is allowed` }
  }
  const read = readFormula(formula)
  const elements = formulaElements(formula)
  if (read.kind !== 'formula') return { kind: 'bad-salt', problem: `${formula}: ${read.problem}` }
  if (elements.kind !== 'elements') return { kind: 'bad-salt', problem: elements.problem }
  const formulaMmolPerG = (1000 * purity) / read.molarMassGPerMol
  const mmolPerG = scaled(elements.molPerMol, formulaMmolPerG)
  return {
    kind: 'salt',
    formulaMmolPerG,
    mmolPerG,
    alkalinityMeqPerG: strongIonMeq(mmolPerG),
    untrackedMeqPerG: 0,
    carbonateMmolPerG: read.groups.CO3 * formulaMmolPerG,
  }
}

function fromLabel(salt: Extract<Salt, { kind: 'label' }>): SaltContent | BadSalt {
  const sums: Partial<Record<ElementName, number>> = {}
  for (const [form, percent] of Object.entries(salt.percent)) {
    if (!isElementForm(form)) return { kind: 'bad-salt', problem: `${form} is not a form an analysis can state` }
    if (!(percent >= 0 && percent <= 100))
      return { kind: 'bad-salt', problem: `${form}: ${percent} %; 0 to 100 is allowed` }
    const element = elementOf(form)
    if (sums[element] !== undefined)
      return { kind: 'bad-salt', problem: `${element} is stated twice, again as ${form}` }
    sums[element] = (percent / 100) * mmolPerG(form)
  }
  const together = ELEMENTS.reduce((sum, name) => sum + ((sums[name] ?? 0) * ELEMENT_MOLAR_MASS[name]) / 10, 0)
  if (together > 100)
    return { kind: 'bad-salt', problem: `the elements are ${together.toFixed(1)} % together, more than 100` }
  const strong = strongIonMeq(sums)
  const alkalinityMeqPerG = salt.alkalinityMeqPerG ?? strong
  return {
    kind: 'salt',
    mmolPerG: sums,
    alkalinityMeqPerG,
    untrackedMeqPerG: alkalinityMeqPerG - strong,
    carbonateMmolPerG: 0,
  }
}

function scaled(amounts: Composition, factor: number): Composition {
  return Object.fromEntries(Object.entries(amounts).map(([name, amount]) => [name, amount * factor]))
}
