/** From one statement of a report to what it says, in the units used inside. */

import { CHARGE } from '../../chemistry/alkalinity.ts'
import type { ElementName } from '../../chemistry/element.ts'
import { type AlkalinityForm, type ElementForm, elementOf, readForm } from '../../chemistry/form.ts'
import { alkalinityToMeqPerL } from '../../chemistry/hardness.ts'
import { ELEMENT_MOLAR_MASS, toMgPerL } from '../../chemistry/molar-mass.ts'
import { ANALYTES_SHOWN, type Analyte, type AnalyteReading, formOf, isSettled, withStatedForm } from './analyte.ts'
import { type Cell, type Entry, quoted, type Trouble, troubleAt } from './cell.ts'
import { dateHint } from './column.ts'
import { type DecimalStyle, readValue } from './number-text.ts'
import type { NotedValue, ReportedValue } from './report.ts'
import { type LaboratoryUnit, readUnit, UNITS_SHOWN } from './unit.ts'
import type { Vocabulary } from './vocabulary.ts'

/** What one statement comes to. */
export type Meaning =
  | { readonly kind: 'value'; readonly value: ReportedValue }
  | { readonly kind: 'conductivity'; readonly dsPerM: number }
  | { readonly kind: 'ph'; readonly ph: number }
  /** `isBicarbonate` where carbonate is not in it */
  | { readonly kind: 'alkalinity'; readonly meqPerL: number; readonly isBicarbonate?: boolean }
  | { readonly kind: 'carbonate'; readonly meqPerL: number; readonly noted: NotedValue }
  | { readonly kind: 'noted'; readonly noted: NotedValue }
  /** nitrogen and no more: noted where the sample has nitrate nitrogen too, else a trouble */
  | { readonly kind: 'nitrogen'; readonly noted: NotedValue; readonly trouble: Trouble }
  | { readonly kind: 'nothing' }
  | { readonly kind: 'trouble'; readonly trouble: Trouble }

/** Limits taken where a report says “not detected” and no limit: wide, since being wrong here is silent. Judgement. */
const ASSUMED_LIMIT_MG_PER_L: Readonly<Record<ElementName, number>> = {
  ...{ 'NO3-N': 1, 'NH4-N': 1, P: 0.5, K: 1, Ca: 1, Mg: 1, S: 2, Na: 2, Cl: 5 },
  ...{ Fe: 0.05, Mn: 0.05, Zn: 0.05, B: 0.05, Cu: 0.05, Mo: 0.05 },
}

export interface Reading {
  readonly words: Vocabulary
  readonly style: DecimalStyle | undefined
  /** names of analytes, in lower case, that are left aside on purpose */
  readonly ignored: ReadonlySet<string>
}

/** What one statement comes to, in the units used inside. */
export function interpret(entry: Entry, { words, style, ignored }: Reading): Meaning {
  const named = withFormCell(entry, words)
  if ('kind' in named) return named
  const { analyte, asForm, unit: unitInName } = named
  if (ignored.has(entry.analyte.text.trim().toLowerCase())) return note(entry, 'left aside on request')
  if (analyte?.kind === 'untracked') return untracked(entry, analyte.why, { unitInName, style })
  if (analyte === undefined) return unknownAnalyte(entry)
  if (analyte.kind === 'carbonate') return carbonate(entry, named, style)
  const read = qualified(readValue(entry.value.text, style), entry, style)
  if (read.kind === 'not-measured') return { kind: 'nothing' }
  if (read.kind === 'trouble') return trouble(entry, read.found, read.allowed, read.message)
  if (analyte.kind === 'nitrogen') return interpretNitrogen(entry)
  const unit = unitOf(entry, unitInName, read.rest)
  if (unit?.kind === 'trouble') return unit
  if (analyte.kind === 'ph') return interpretPh(entry, read, unit)
  if (analyte.kind === 'salts' && unit?.kind !== 'conductivity') return note(entry, 'follows from other values')
  if (unit === undefined) return noUnit(entry)
  if (analyte.kind === 'conductivity' || analyte.kind === 'salts')
    return interpretConductivity(entry, { analyte, read, unit })
  if (analyte.kind === 'alkalinity') return interpretAlkalinity(entry, { analyte, read, unit, asForm })
  return interpretElement(entry, { analyte, read, unit, asForm, style })
}

/** The analyte by its name and, where there is one, the cell with its form. */
function withFormCell(entry: Entry, { analyteOf }: Vocabulary): AnalyteReading | TroubleMeaning {
  const named = analyteOf(entry.analyte.text)
  const text = entry.form?.text.trim() ?? ''
  if (text === '' || named.analyte?.kind === 'untracked') return named
  const found = `the form ${quoted(text)} for ${entry.analyte.text}`
  const allowed = 'a form of that analyte, as NO3-N, P2O5, CaCO3'
  const refusal = (cell: Cell): TroubleMeaning => ({
    kind: 'trouble',
    trouble: troubleAt(cell, found, allowed, 'Correct the form or the name.'),
  })
  return withStatedForm(named, text) ?? refusal(entry.form!)
}

function interpretNitrogen(entry: Entry): Meaning {
  const { analyte, value } = entry
  const asWritten = value.text.trim()
  const found = `no kind of nitrogen for ${analyte.text} ${asWritten}`
  const message = 'Ask the laboratory for NO3-N and NH4-N, or name it total nitrogen: then it is noted and not used.'
  return {
    kind: 'nitrogen',
    noted: { analyte: analyte.text, asWritten, why: 'nitrogen in all is not split into its forms' },
    trouble: troubleAt(analyte, found, 'NO3-N, NH4-N or total nitrogen', message),
  }
}

/** What laboratories flag a result with that lies below the limit, the figure beside it being the limit. */
const BELOW_FLAG = /^(?:<|≤|u|uj|nd|n\.d\.?|bdl|blq|<\s?(?:lod|loq|rl|mdl))$/i
const ABOVE_FLAG = /^(?:>.*|≥.*|e|ej|or|ovr|ol|r|over.*|above.*)$/i

/** ‘0.05’ with ‘<’ or ‘U’ in a column of its own was not found: the figure is the limit. */
function qualified(read: ReturnType<typeof readValue>, entry: Entry, style: DecimalStyle | undefined) {
  const flag = entry.qualifier?.text.trim() ?? ''
  if (ABOVE_FLAG.test(flag) && read.kind === 'number') {
    const message = 'Above its range nothing was measured: ask the laboratory to dilute and measure again.'
    return {
      kind: 'trouble',
      found: `the flag ${quoted(flag)}`,
      allowed: 'a figure within the range',
      message,
    } as const
  }
  if (!BELOW_FLAG.test(flag)) return read
  if (read.kind === 'not-measured') return { kind: 'below', rest: '' } as const
  if (read.kind !== 'number') return read
  const beside = limitBeside(entry, style)
  if (beside !== undefined && read.value > beside) {
    const found = `the flag ${quoted(flag)} beside ${quoted(entry.value.text)}, which is above its limit,`
    const message = 'Ask the laboratory whether it was found, or what the flag means.'
    return { kind: 'trouble', found, allowed: 'a figure up to the limit where it was not found', message } as const
  }
  const limit = beside ?? read.value
  return limit > 0
    ? ({ kind: 'below', limit, rest: read.rest } as const)
    : ({ kind: 'below', rest: read.rest } as const)
}

/** A figure that is not tracked may be of use to a verdict on water, which knows it by mg/L. */
function untracked(
  entry: Entry,
  why: string,
  { unitInName, style }: { readonly unitInName: Unit | undefined; readonly style: DecimalStyle | undefined },
): Meaning {
  const noted = note(entry, why)
  const read = qualified(readValue(entry.value.text, style), entry, style)
  if (noted.kind !== 'noted' || read.kind !== 'number') return noted
  const unit = unitOf(entry, unitInName, read.rest)
  if (unit?.kind !== 'mass') return noted
  return { kind: 'noted', noted: { ...noted.noted, mgPerL: read.value * unit.mgPerL } }
}

/** Half the mass of CO3 for an equivalent, as its two charges have it. */
const CO3_MG_PER_MEQ = 30.004

function carbonate(entry: Entry, { unit: inName, asForm }: AnalyteReading, style: DecimalStyle | undefined): Meaning {
  const noted = note(entry, 'counts with bicarbonate alone')
  const read = qualified(readValue(entry.value.text, style), entry, style)
  if (noted.kind !== 'noted' || read.kind !== 'number' || read.value === 0) return noted
  const unit = unitOf(entry, inName, read.rest)
  if (unit?.kind === 'trouble') return unit
  if (unit === undefined) return noUnit(entry)
  const form = (unit as { form?: string }).form ?? asForm ?? 'CO3'
  const meqPerL = carbonateMeqPerL(read.value, unit, form)
  if (meqPerL !== undefined) return { ...noted, kind: 'carbonate', meqPerL }
  return trouble(entry, 'a unit or a form unknown', 'mg/L of CO3 or as CaCO3, mmol/L, meq/L', 'Correct it.')
}

function carbonateMeqPerL(value: number, unit: Unit, form: string): number | undefined {
  if (unit.kind === 'charge') return value * unit.meqPerL
  if (unit.kind === 'amount') return value * unit.mmolPerL * 2
  if (unit.kind !== 'mass') return undefined
  if (form === 'CaCO3') return alkalinityToMeqPerL(value * unit.mgPerL, 'mg/L CaCO3')
  return form === 'CO3' ? (value * unit.mgPerL) / CO3_MG_PER_MEQ : undefined
}

type Read = Extract<ReturnType<typeof readValue>, { kind: 'number' | 'below' }>
type Unit = LaboratoryUnit
type TroubleMeaning = Extract<Meaning, { kind: 'trouble' }>

function note(entry: Entry, why: string): Meaning {
  const asWritten = entry.value.text.trim()
  return asWritten === ''
    ? { kind: 'nothing' }
    : { kind: 'noted', noted: { analyte: entry.analyte.text, asWritten, why } }
}

function trouble(entry: Entry, found: string, allowed: string, message: string): TroubleMeaning {
  return { kind: 'trouble', trouble: troubleAt(entry.value, `${found} for ${entry.analyte.text}`, allowed, message) }
}

/** A unit that cannot measure the analyte is told where it stands, if it stands in a cell of its own. */
function wrongUnit(entry: Entry, measured: string, allowed: string, message: string): TroubleMeaning {
  const shown = entry.unit === undefined ? '' : `: ${quoted(entry.unit.text)}`
  const found = `a unit that is none of ${measured} for ${entry.analyte.text}${shown}`
  return { kind: 'trouble', trouble: troubleAt(entry.unit ?? entry.value, found, allowed, message) }
}

function unknownAnalyte({ analyte }: Entry): Meaning {
  const message =
    dateHint(analyte.text) ??
    'Correct the name, say in a mapping file what it is, or name it among the analytes to ignore.'
  return {
    kind: 'trouble',
    trouble: troubleAt(analyte, `an unknown analyte ${quoted(analyte.text)}`, ANALYTES_SHOWN, message),
  }
}

function noUnit(entry: Entry): TroubleMeaning {
  const message = 'Give the unit with the name, in a column unit, or once for the whole report.'
  return trouble(entry, 'no unit', UNITS_SHOWN, message)
}

/** The nearest statement of the unit holds: with the value, in its own cell, in the name. They may not contradict. */
function unitOf(entry: Entry, inName: Unit | undefined, rest: string): Unit | TroubleMeaning | undefined {
  const withValue = rest === '' ? undefined : readUnit(rest)
  if (rest !== '' && withValue === undefined) {
    return trouble(
      entry,
      quoted(entry.value.text),
      'a number, with a unit behind it or none',
      'Move remarks to a column of their own.',
    )
  }
  const isSaid = entry.unit !== undefined && !NO_UNIT.test(entry.unit.text.trim())
  const inCell = isSaid ? readUnit(entry.unit.text) : undefined
  if (isSaid && inCell === undefined) return unknownUnit(entry, entry.unit)
  const said = [withValue, inCell, inName].filter((unit) => unit !== undefined)
  if (said.every((unit) => isSameUnit(unit, said[0]!))) return said.find((unit) => 'form' in unit) ?? said[0]
  return trouble(entry, 'two units that differ', 'one unit', 'Remove the wrong one.')
}

/** What stands in a unit’s place where there is none. */
const NO_UNIT = /^(?:|[-–—]+|none|n\/?a|unitless)$/i

function unknownUnit({ analyte }: Entry, unit: Cell): TroubleMeaning {
  const found = `an unknown unit ${quoted(unit.text)} for ${analyte.text}`
  const message = unit.text.includes('\ufffd')
    ? 'The file is not in UTF-8, which loses the micro sign: save it again as CSV UTF-8, or write ug/L, uS/cm.'
    : 'Correct the unit.'
  return { kind: 'trouble', trouble: troubleAt(unit, found, UNITS_SHOWN, message) }
}

function isSameUnit(a: Unit, b: Unit): boolean {
  const { form: _a, ...bare } = a as Unit & { form?: string }
  const { form: _b, ...other } = b as Unit & { form?: string }
  return JSON.stringify(bare) === JSON.stringify(other)
}

function interpretPh(entry: Entry, read: Read, unit: Unit | undefined): Meaning {
  if (unit !== undefined && unit.kind !== 'ph') return trouble(entry, 'a unit', 'no unit', 'pH has none.')
  if (read.kind === 'number' && read.value > 0 && read.value <= 14) return { kind: 'ph', ph: read.value }
  return trouble(entry, quoted(entry.value.text), 'a pH from 0 to 14', 'Correct it or leave it blank.')
}

/** More than any solution conducts at 25 °C, saturated brine (about 250 dS/m, from memory) included. */
const CONDUCTIVITY_MAX_DS_PER_M = 300

/** Conductivity at 25 °C over that at 20 °C, of natural waters (DIN EN 27888, from memory); solutions differ by a percent. */
const FROM_20_TO_25 = 1.116

function interpretConductivity(
  entry: Entry,
  { analyte, read, unit }: { readonly analyte: Analyte; readonly read: Read; readonly unit: Unit },
): Meaning {
  const atC = analyte.kind === 'conductivity' ? (analyte.atC ?? 25) : 25
  if (atC !== 25 && atC !== 20) {
    const message = 'From other temperatures nothing is worked out here: ask the laboratory for 25 °C.'
    return trouble(entry, `${atC} °C`, 'conductivity at 25 °C or at 20 °C', message)
  }
  if (unit.kind === 'mass') {
    const message =
      'Parts per million are no unit of conductivity: two scales are in use, 500 and 700 for 1 mS/cm. Ask for mS/cm.'
    return wrongUnit(entry, 'conductivity', 'mS/cm, dS/m, uS/cm', message)
  }
  if (unit.kind !== 'conductivity') return wrongUnit(entry, 'conductivity', 'mS/cm, dS/m, uS/cm', 'Correct the unit.')
  if (read.kind !== 'number') {
    return trouble(entry, quoted(entry.value.text), 'a number', 'Leave it blank where it was not measured.')
  }
  const dsPerM = read.value * unit.dsPerM * (atC === 20 ? FROM_20_TO_25 : 1)
  if (dsPerM <= CONDUCTIVITY_MAX_DS_PER_M) return { kind: 'conductivity', dsPerM }
  const allowed = `0 to ${CONDUCTIVITY_MAX_DS_PER_M} mS/cm`
  return trouble(entry, `${short(dsPerM)} mS/cm`, allowed, 'No solution conducts so well: is it uS/cm?')
}

interface Stated<Kind extends Analyte['kind']> {
  readonly analyte: Extract<Analyte, { kind: Kind }>
  readonly read: Read
  readonly unit: Unit
  readonly asForm: string | undefined
}

/** A limit counts as half of itself: what is left below it is within what alkalinity is known to. */
function interpretAlkalinity(entry: Entry, { analyte, read, unit, asForm }: Stated<'alkalinity'>): Meaning {
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
function meqOfForm(form: AlkalinityForm, value: number, unit: Extract<Unit, { kind: 'mass' | 'amount' }>): number {
  if (unit.kind === 'amount') return value * unit.mmolPerL * (form === 'CaCO3' ? 2 : 1)
  return alkalinityToMeqPerL(value * unit.mgPerL, form === 'CaCO3' ? 'mg/L CaCO3' : 'mg/L HCO3')
}

function interpretElement(
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

function limitBeside(entry: Entry, style: DecimalStyle | undefined): number | undefined {
  const read = entry.limit === undefined ? undefined : readValue(entry.limit.text, style)
  return read?.kind === 'number' && read.value > 0 ? read.value : undefined
}

function chosenForm(
  entry: Entry,
  element: ElementName,
  { analyte, read, unit, asForm }: Stated<'form' | 'open'>,
): ElementForm | TroubleMeaning {
  const asked = (unit as { form?: string }).form ?? asForm
  if (asked !== undefined) {
    const form = formOf(element, asked)
    if (form !== undefined && analyte.kind === 'form' && isSettled(analyte.form) && form !== analyte.form) {
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

const PHOSPHATE_CHARGE: Readonly<Partial<Record<ElementForm, number>>> = { H2PO4: 1, HPO4: 2 }

/** What one of the unit is in mg/L of the element, or what is wrong with the unit. */
function mgPerLOfElement(
  form: ElementForm,
  unit: Extract<Unit, { kind: 'mass' | 'amount' | 'charge' }>,
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

function short(value: number): string {
  return String(Number(value.toPrecision(3)))
}

function sentence(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1)
}
