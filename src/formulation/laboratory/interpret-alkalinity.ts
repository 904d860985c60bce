/** Statements of alkalinity, bicarbonate and carbonate, in meq/L. */

import type { AlkalinityForm } from '../../chemistry/form.ts'
import { alkalinityToMeqPerL } from '../../chemistry/hardness.ts'
import type { AnalyteReading } from './analyte.ts'
import type { Entry } from './cell.ts'
import { readFlagged } from './flag.ts'
import { type Meaning, note, noUnit, type Stated, short, trouble, wrongUnit } from './meaning.ts'
import type { DecimalStyle } from './number-text.ts'
import { unitOf } from './stated-unit.ts'
import type { LaboratoryUnit } from './unit.ts'

/** A limit counts as half of itself: what is left below it is within what alkalinity is known to. */
export function interpretAlkalinity(entry: Entry, { analyte, read, unit, asForm }: Stated<'alkalinity'>): Meaning {
  const value = read.kind === 'number' ? read.value : (read.limit ?? 0) / 2
  const asked = (unit as { form?: string }).form ?? asForm ?? analyte.form
  const isBicarbonate = analyte.form === 'HCO3'
  if (unit.kind === 'charge' || unit.kind === 'degree') {
    return { kind: 'alkalinity', meqPerL: value * unit.meqPerL, isBicarbonate }
  }
  if (unit.kind !== 'mass' && unit.kind !== 'amount') {
    const allowed = 'mg/L as CaCO3, mg/L as HCO3, meq/L, °dH'
    return wrongUnit(entry, 'alkalinity', allowed, 'Correct the unit.')
  }
  if (analyte.isAcid && unit.kind === 'amount') return { kind: 'alkalinity', meqPerL: value * unit.mmolPerL }
  if (asked === 'CaCO3' || asked === 'HCO3') {
    return { kind: 'alkalinity', meqPerL: meqOfForm(asked, value, unit), isBicarbonate }
  }
  const [caco3, hco3] = (['CaCO3', 'HCO3'] as const).map((form) => short(meqOfForm(form, value, unit)))
  const message = `As CaCO3 it is ${caco3} meq/L, as HCO3 ${hco3}. Ask the laboratory and write, say, mg/L as CaCO3.`
  return trouble(entry, 'no form', 'alkalinity as CaCO3, as HCO3, or in meq/L', message)
}

/** A mole of CaCO3 takes two moles of acid, a mole of HCO3 one. */
function meqOfForm(
  form: AlkalinityForm,
  value: number,
  unit: Extract<LaboratoryUnit, { kind: 'mass' | 'amount' }>,
): number {
  if (unit.kind === 'amount') return value * unit.mmolPerL * (form === 'CaCO3' ? 2 : 1)
  return alkalinityToMeqPerL(value * unit.mgPerL, form === 'CaCO3' ? 'mg/L CaCO3' : 'mg/L HCO3')
}

/** Half the mass of CO3 for an equivalent, as its two charges have it. */
const CO3_MG_PER_MEQ = 30.004

export function interpretCarbonate(
  entry: Entry,
  { unit: inName, asForm }: AnalyteReading,
  style: DecimalStyle | undefined,
): Meaning {
  const noted = note(entry, 'counts with bicarbonate alone')
  const read = readFlagged(entry, style)
  if (noted.kind !== 'noted' || read.kind !== 'number' || read.value === 0) return noted
  const unit = unitOf(entry, inName, read.rest)
  if (unit?.kind === 'trouble') return unit
  if (unit === undefined) return noUnit(entry)
  const form = (unit as { form?: string }).form ?? asForm ?? 'CO3'
  const meqPerL = carbonateMeqPerL(read.value, unit, form)
  if (meqPerL !== undefined) return { ...noted, kind: 'carbonate', meqPerL }
  return trouble(entry, 'a unit or a form unknown', 'mg/L of CO3 or as CaCO3, mmol/L, meq/L', 'Correct it.')
}

function carbonateMeqPerL(value: number, unit: LaboratoryUnit, form: string): number | undefined {
  if (unit.kind === 'charge') return value * unit.meqPerL
  if (unit.kind === 'amount') return value * unit.mmolPerL * 2
  if (unit.kind !== 'mass') return undefined
  if (form === 'CaCO3') return alkalinityToMeqPerL(value * unit.mgPerL, 'mg/L CaCO3')
  return form === 'CO3' ? (value * unit.mgPerL) / CO3_MG_PER_MEQ : undefined
}
