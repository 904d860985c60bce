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

/** One mistake of form that would explain a misfit. */
export interface FormSuspicion {
  readonly element: ElementName
  /** the form the figure was read in, and the one it may have been meant in */
  readonly readAs: ElementForm
  readonly perhaps: ElementForm
  /** mg/L of the element under the other reading */
  readonly mgPerL: number
}

const FORMS_OF_ELEMENTS = FORMS.filter((form): form is ElementForm => isElementForm(form))

/** The single mistakes of form after which both checks hold; empty where the report fits as it is. */
export function suspectForms(sample: LaboratorySample): FormSuspicion[] {
  const asIs = judgePlausibility(sample)
  if (asIs.missing.length > 0 || (asIs.isBalanced && asIs.isConductivityFitting)) return []
  return sample.values.flatMap((value) => {
    if (!('mgPerL' in value)) return []
    const { element, form } = value
    const others = FORMS_OF_ELEMENTS.filter((other) => other !== form && elementOf(other) === element)
    return others.flatMap((perhaps): FormSuspicion[] => {
      const mgPerL = (value.mgPerL * elementShare(perhaps)) / elementShare(form)
      const values = sample.values.map((one) => (one === value ? { ...value, mgPerL } : one))
      const other = judgePlausibility({ ...sample, values })
      return other.isBalanced && other.isConductivityFitting ? [{ element, readAs: form, perhaps, mgPerL }] : []
    })
  })
}
