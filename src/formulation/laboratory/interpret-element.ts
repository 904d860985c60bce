/** Statements of an element in whatever form, in mg/L of the element. */

import { CHARGE } from '../../chemistry/alkalinity.ts'
import type { ElementName } from '../../chemistry/element.ts'
import { type ElementForm, elementOf, readForm } from '../../chemistry/form.ts'
import { ELEMENT_MOLAR_MASS, toMgPerL } from '../../chemistry/molar-mass.ts'
import { formOf, isSettled } from './analyte.ts'
import type { Entry } from './cell.ts'
import { limitBeside } from './flag.ts'
import { type Meaning, type Stated, sentence, short, type TroubleMeaning, trouble, wrongUnit } from './meaning.ts'
import type { DecimalStyle } from './number-text.ts'
import { type LaboratoryUnit, UNITS_SHOWN } from './unit.ts'

/** Limits taken where a report says “not detected” and no limit: wide, since being wrong here is silent. Judgement. */
const ASSUMED_LIMIT_MG_PER_L: Readonly<Record<ElementName, number>> = {
  ...{ 'NO3-N': 1, 'NH4-N': 1, P: 0.5, K: 1, Ca: 1, Mg: 1, S: 2, Na: 2, Cl: 5 },
  ...{ Fe: 0.05, Mn: 0.05, Zn: 0.05, B: 0.05, Cu: 0.05, Mo: 0.05 },
}

export function interpretElement(
  entry: Entry,
  stated: Stated<'form' | 'open'> & { style: DecimalStyle | undefined },
): Meaning {
  const { analyte, read, unit, style } = stated
  const element = analyte.kind === 'form' ? elementOf(analyte.form) : analyte.element
  const form = chosenForm(entry, element, stated)
  if (typeof form !== 'string') return form
  if (unit.kind === 'conductivity' || unit.kind === 'degree' || unit.kind === 'ph' || unit.kind === 'other') {
    return wrongUnit(entry, 'concentration', UNITS_SHOWN, 'Correct the unit.')
  }
  const factor = mgPerLOfElement(form, unit)
  if (typeof factor === 'string') return trouble(entry, factor, UNITS_SHOWN, 'Give it in mg/L of a stated form.')
  const asWritten = `${entry.analyte.text.trim()} ${entry.value.text.trim()}`
  const shown = read.kind === 'number' ? read.value : (read.limit ?? 0)
  if (shown * factor > ELEMENT_MAX_MG_PER_L) return tooMuch(entry, element, shown * factor)
  if (read.kind === 'number') return { kind: 'value', value: { element, form, mgPerL: read.value * factor, asWritten } }
  const limit = read.limit ?? limitBeside(entry, style)
  if (limit !== undefined) return { kind: 'value', value: { element, form, belowMgPerL: limit * factor, asWritten } }
  const belowMgPerL = ASSUMED_LIMIT_MG_PER_L[element]
  return { kind: 'value', value: { element, form, belowMgPerL, asWritten, isLimitAssumed: true } }
}

/** More than dissolves of any tracked element: half a kilogram in a litre. */
const ELEMENT_MAX_MG_PER_L = 500_000

function tooMuch(entry: Entry, element: ElementName, mgPerL: number): TroubleMeaning {
  const found = `${short(mgPerL)} mg/L of ${element}`
  const message = 'A litre cannot hold so much: look for a lost decimal point or a wrong unit.'
  return trouble(entry, found, `0 to ${ELEMENT_MAX_MG_PER_L} mg/L`, message)
}

function chosenForm(
  entry: Entry,
  element: ElementName,
  { analyte, read, unit, asForm }: Stated<'form' | 'open'>,
): ElementForm | TroubleMeaning {
  const asked = (unit as { form?: string }).form ?? asForm
  if (asked !== undefined) {
    const form = formOf(element, asked)
    const isClear = analyte.kind === 'form' && (isSettled(analyte.form) || OXIDES.includes(analyte.form))
    if (form !== undefined && isClear && form !== analyte.form) {
      const allowed = `${analyte.form} or ${form}, not both`
      return trouble(entry, `two forms, ${analyte.form} and ${form},`, allowed, 'Ask the laboratory which it is.')
    }
    return form ?? trouble(entry, `the form ${asked}`, `a form of ${element}`, 'Correct the form or the name.')
  }
  if (analyte.kind === 'form') return analyte.form
  // one mole of nitrate holds one mole of nitrogen: in mmol/L the form does not matter
  if (unit.kind !== 'mass') return analyte.forms[0]!
  const value = read.kind === 'number' ? read.value : (read.limit ?? 0)
  const readings = analyte.forms.map((form) => {
    const reading = readForm(form, value * unit.mgPerL)
    return `as ${form} it is ${reading.kind === 'element' ? short(reading.mgPerL) : '?'} mg/L of ${element}`
  })
  const message = `${sentence(readings.join(', '))}. Ask the laboratory, and write the form with the name.`
  return trouble(
    entry,
    'no form',
    analyte.forms.map((form) => `${entry.analyte.text} as ${form}`).join(' or '),
    message,
  )
}

/** Nothing in the water is an oxide: the name is a form and no more, while ‘SO4 as S’ is sulfate told by its sulfur. */
const OXIDES: readonly ElementForm[] = ['P2O5', 'K2O', 'CaO', 'MgO', 'SO3']

const PHOSPHATE_CHARGE: Readonly<Partial<Record<ElementForm, number>>> = { H2PO4: 1, HPO4: 2 }

/** What one of the unit is in mg/L of the element, or what is wrong with the unit. */
function mgPerLOfElement(
  form: ElementForm,
  unit: Extract<LaboratoryUnit, { kind: 'mass' | 'amount' | 'charge' }>,
): number | string {
  const element = elementOf(form)
  if (unit.kind === 'mass') {
    const reading = readForm(form, unit.mgPerL)
    return reading.kind === 'element' ? reading.mgPerL : 'a form that is no element'
  }
  if (form === 'P2O5' || form === 'K2O') return `${form} in moles`
  if (unit.kind === 'amount') return toMgPerL(element, unit.mmolPerL)
  const charge = element === 'P' ? PHOSPHATE_CHARGE[form] : Math.abs(CHARGE[element])
  // the charge of phosphate follows pH where its hydrogen is not told, and iron is held by a chelate of unknown charge
  if (charge === undefined || charge === 0) return `${element} in equivalents`
  return (unit.meqPerL / charge) * ELEMENT_MOLAR_MASS[element]
}
