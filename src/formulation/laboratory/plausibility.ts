/** Do the figures of a report fit each other? Electrically, and with the conductivity that was measured. */

import { alkalinityFromPh } from '../../chemistry/acidity.ts'
import { CHARGE } from '../../chemistry/alkalinity.ts'
import { OPEN_AIR } from '../../chemistry/carbon.ts'
import { conductivity25DsPerM } from '../../chemistry/conductivity.ts'
import { ELEMENTS, type ElementName, toVector } from '../../chemistry/element.ts'
import { type ElementForm, elementOf, elementShare, FORMS, isElementForm } from '../../chemistry/form.ts'
import { toMmolPerL } from '../../chemistry/molar-mass.ts'
import type { LaboratorySample } from './report.ts'

export interface Plausibility {
  readonly cationsMeqPerL: number
  readonly anionsMeqPerL: number
  /** 100 (cations - anions) / (cations + anions) */
  readonly balancePercent: number
  /** what Standard Methods 1030E allows for this anion sum, in percent of the sum of both */
  readonly allowedPercent: number
  readonly isBalanced: boolean
  /** from the composition, at 25 °C */
  readonly calculatedDsPerM: number
  /** calculated over measured; absent where none was measured */
  readonly conductivityRatio?: number
  /** within 0.9 to 1.1 (Standard Methods 1030E, from memory); true where none was measured */
  readonly isConductivityFitting: boolean
  /** ions that carry much of the charge and are not in the report: with them missing no balance is meaningful */
  readonly missing: readonly ElementName[]
}

/** Ions without which a nutrient solution cannot balance. Ammonium and sodium may be too little to be asked for. */
const CARRIERS: readonly ElementName[] = ['NO3-N', 'P', 'K', 'Ca', 'Mg', 'S', 'Cl', 'Na']

/** Where the report has no pH. */
const PH_ASSUMED = 6

/**
 * Charge balance and conductivity of a sample.
 *
 * Alkalinity counts on the anions’ side beside phosphate as one charge a mole; where the report has none it is taken
 * from the pH in open air. A value below its limit counts as half the limit.
 * Standard Methods 1030E (from memory; the 5 % seen second-hand): allowed is 0.2 meq/L up to an anion sum of 3, 2 % to
 * 10, 5 % above.
 */
export function judgePlausibility(sample: LaboratorySample): Plausibility {
  const mmolPerL = vectorOf(sample)
  const ph = sample.ph ?? PH_ASSUMED
  const alkalinity = sample.alkalinityMeqPerL ?? alkalinityFromPh(mmolPerL, ph, OPEN_AIR)
  const meq = ELEMENTS.map((name, at) => CHARGE[name] * mmolPerL[at]!)
  const cationsMeqPerL = sum(meq.filter((charge) => charge > 0)) + Math.max(0, -alkalinity)
  const anionsMeqPerL = -sum(meq.filter((charge) => charge < 0)) + Math.max(0, alkalinity)
  const both = cationsMeqPerL + anionsMeqPerL
  const balancePercent = both > 0 ? (100 * (cationsMeqPerL - anionsMeqPerL)) / both : 0
  const allowedPercent = allowedFor(anionsMeqPerL, both)
  const calculatedDsPerM = conductivity25DsPerM(mmolPerL, ph, OPEN_AIR)
  const measured = sample.conductivityDsPerM
  const ratio = measured === undefined || measured === 0 ? undefined : calculatedDsPerM / measured
  return {
    ...{ cationsMeqPerL, anionsMeqPerL, balancePercent, allowedPercent, calculatedDsPerM },
    isBalanced: Math.abs(balancePercent) <= allowedPercent,
    ...(ratio === undefined ? {} : { conductivityRatio: ratio }),
    isConductivityFitting: ratio === undefined || (ratio >= 0.9 && ratio <= 1.1),
    missing: CARRIERS.filter((name) => !sample.values.some(({ element }) => element === name)),
  }
}

function vectorOf({ values }: LaboratorySample): Float64Array {
  const pairs = values.map((value) => {
    const mgPerL = 'mgPerL' in value ? value.mgPerL : value.belowMgPerL / 2
    return [value.element, toMmolPerL(value.element, mgPerL)]
  })
  return toVector(Object.fromEntries(pairs))
}

function allowedFor(anionsMeqPerL: number, bothMeqPerL: number): number {
  if (anionsMeqPerL <= 3) return bothMeqPerL > 0 ? (100 * 0.2) / bothMeqPerL : 0
  return anionsMeqPerL <= 10 ? 2 : 5
}

function sum(values: readonly number[]): number {
  return values.reduce((total, value) => total + value, 0)
}

/** One figure read in another form. */
export interface FormSuspicion {
  readonly element: ElementName
  /** the form the figure was read in, and the one it may have been meant in */
  readonly readAs: ElementForm
  readonly perhaps: ElementForm
  /** mg/L of the element under the other reading */
  readonly mgPerL: number
}

/** How far a report is from fitting itself. */
export interface Misfit {
  readonly balancePercent: number
  readonly allowedPercent: number
  /** calculated over measured; absent where none was measured */
  readonly conductivityRatio?: number
  /** 1 is a misfit as large as either check allows; both together by root of squares */
  readonly size: number
}

/** One or two mistakes of form after which a report fits, and what they mend. */
export interface FormHypothesis {
  readonly changes: readonly FormSuspicion[]
  readonly before: Misfit
  readonly after: Misfit
}

/** Phosphate with its hydrogen differs from PO4 by two percent, which no balance shows. */
const FORMS_OF_ELEMENTS = FORMS.filter((form): form is ElementForm => isElementForm(form) && !/^H/.test(form))

/**
 * The mistakes of form after which both checks hold, the best fit first; empty where the report fits as it is or lacks
 * main ions. Two mistakes at once are looked for only where no single one will do, and only beside a measured
 * conductivity: a balance alone is met by too many pairs.
 */
export function explainMisfit(sample: LaboratorySample): FormHypothesis[] {
  const asIs = judgePlausibility(sample)
  if (asIs.missing.length > 0 || holds(asIs)) return []
  const single = otherReadings(sample)
  const ones = fitting(
    sample,
    asIs,
    single.map((change) => [change]),
  )
  if (ones.length > 0 || asIs.conductivityRatio === undefined) return ones
  const pairs = single.flatMap((one, at) =>
    single.slice(at + 1).flatMap((other) => (one.element === other.element ? [] : [[one, other]])),
  )
  return fitting(sample, asIs, pairs)
}

/** The single mistakes of form after which both checks hold; empty where the report fits as it is. */
export function suspectForms(sample: LaboratorySample): FormSuspicion[] {
  return explainMisfit(sample).flatMap(({ changes }) => (changes.length === 1 ? changes : []))
}

function holds({ isBalanced, isConductivityFitting }: Plausibility): boolean {
  return isBalanced && isConductivityFitting
}

function otherReadings({ values }: LaboratorySample): FormSuspicion[] {
  return values.flatMap((value) => {
    if (!('mgPerL' in value)) return []
    const { element, form, mgPerL } = value
    const others = FORMS_OF_ELEMENTS.filter((other) => other !== form && elementOf(other) === element)
    return others.map((perhaps) => {
      const share = elementShare(perhaps) / elementShare(form)
      return { element, readAs: form, perhaps, mgPerL: mgPerL * share }
    })
  })
}

function fitting(
  sample: LaboratorySample,
  asIs: Plausibility,
  changeSets: readonly (readonly FormSuspicion[])[],
): FormHypothesis[] {
  const before = misfitOf(asIs)
  return changeSets
    .map((changes) => ({ changes, judged: judgePlausibility(changed(sample, changes)) }))
    .filter(({ judged }) => holds(judged))
    .map(({ changes, judged }) => ({ changes, before, after: misfitOf(judged) }))
    .sort((a, b) => a.after.size - b.after.size)
}

function changed(sample: LaboratorySample, changes: readonly FormSuspicion[]): LaboratorySample {
  const values = sample.values.map((value) => {
    const change = changes.find(({ element }) => element === value.element)
    if (change === undefined || !('mgPerL' in value)) return value
    return { ...value, form: change.perhaps, mgPerL: change.mgPerL }
  })
  return { ...sample, values }
}

function misfitOf({ balancePercent, allowedPercent, conductivityRatio }: Plausibility): Misfit {
  const balance = allowedPercent > 0 ? balancePercent / allowedPercent : 0
  const conductivity = conductivityRatio === undefined ? 0 : Math.log(conductivityRatio) / Math.log(1.1)
  return {
    ...{ balancePercent, allowedPercent, size: Math.hypot(balance, conductivity) },
    ...(conductivityRatio === undefined ? {} : { conductivityRatio }),
  }
}
