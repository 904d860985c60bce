/** Reads a laboratory report: CSV in three layouts, tables and lists printed as text, or JSON. */

import type { ElementForm } from '../../chemistry/form.ts'
import { type Cell, type Entry, quoted, type Trouble, troubleAt } from './cell.ts'
import { csvCells } from './csv-cells.ts'
import { doubtsOfMarks, doubtsOfNotes } from './doubt-marks.ts'
import { exchangedPh } from './exchanged.ts'
import { headingAt } from './heading.ts'
import { interpret, type Reading } from './interpret.ts'
import { jsonEntries } from './json-entries.ts'
import { readLayout } from './layout.ts'
import { explained, formNotesOf, type Legend, legendOf, withFormNoted } from './legend.ts'
import type { Meaning } from './meaning.ts'
import { notAReport } from './not-a-report.ts'
import { type DecimalStyle, decimalStyleOf } from './number-text.ts'
import { doubtsOfOtherBottles } from './other-bottle.ts'
import { otherReports } from './other-report.ts'
import { judgePlausibility } from './plausibility.ts'
import { doubtsOfRemarks } from './remarks.ts'
import type { LaboratorySample, ReportReading } from './report.ts'
import { type DayOrder, dayOrderOf, readSamplingDate } from './sampling-date.ts'
import { saysOfMany, withoutSummaries } from './summary.ts'
import { textList } from './text-list.ts'
import { textTable } from './text-table.ts'
import { doubtsOfForm } from './told-forms.ts'
import { totalAlone } from './total-nitrogen.ts'
import { COMMON_VOCABULARY, type Vocabulary } from './vocabulary.ts'

/**
 * What a laboratory report says, in mg/L of the elements.
 *
 * Nothing is guessed: an unknown analyte, a form or unit left open, a number or date that can be read in two ways, a
 * second value of one analyte, a conductivity that contradicts the ions are errors, all of them told at once with their
 * places. Blank and n/a are not measured; '<0.01' and ND are below a limit; known substances that are not tracked, guide
 * values and unknown columns of words are noted.
 *
 * @param name the file’s name, for messages and as the label of a nameless sample
 * @param ignored names of analytes to leave aside, as they stand in the report
 * @param words what headings and names mean, where a mapping file adds to what is understood without one
 */
export function readLaboratoryReport(
  name: string,
  text: string,
  ignored: readonly string[] = [],
  words: Vocabulary = COMMON_VOCABULARY,
): ReportReading {
  const fail = (troubles: readonly Trouble[]): ReportReading => ({
    ok: false,
    errors: inOrder(troubles).map((trouble) => ({ file: name, ...trouble })),
  })
  if (text.replace('\ufeff', '').trim() === '') return fail([EMPTY])
  const foreign = notAReport(text)
  if (foreign !== undefined) return fail([foreign])
  const {
    entries: stated,
    troubles,
    preset,
    passedOver = [],
  } = /^\ufeff?\s*[{[]/.test(text) ? fromJson(text, words) : fromCsv(text, words)
  if (stated.length === 0) return fail(troubles.length > 0 ? troubles : [EMPTY])
  const [legend, formNotes] = [legendOf(text), formNotesOf(text)]
  const bottles = withoutSummaries(stated.map((entry) => withWords(entry, legend, formNotes)))
  const { entries } = bottles
  const decimals = decimalStyleOf(
    entries.map(({ value }) => value),
    preset,
  )
  const isIgnored = new Set(ignored.map((one) => one.trim().toLowerCase()))
  const reading = { words, style: decimals.style, ignored: isIgnored }
  const groups = bySample(entries, name)
  const order = dayOrderOf(text)
  const samples = [...groups].map(([label, group]) =>
    assemble({ label, order }, group, (entry) => interpret(entry, reading)),
  )
  const doubts = doubtsOf(text, entries, reading)
  const mixed = groups.size === 1 ? doubtsOfOtherBottles(text, entries) : []
  const told = [...doubts, ...mixed, ...bottles.troubles, ...otherReports(text, groups.size === 1, words)]
  const all = [...troubles, ...told, ...decimals.troubles, ...samples.flatMap((sample) => sample.troubles)]
  const notes = [...passedOver, ...bottles.passedOver]
  return all.length > 0
    ? fail(all)
    : { ok: true, report: { samples: samples.map(({ sample }) => withNotes(sample, notes)) } }
}

/** What sentences and marks of the report say against its figures. */
function doubtsOf(text: string, entries: readonly Entry[], reading: Reading): readonly Trouble[] {
  const meant = entries.map((entry) => ({ entry, meaning: interpret(entry, reading) }))
  const used = meant.filter(({ meaning }) => !['noted', 'nothing'].includes(meaning.kind))
  return [
    ...doubtsOfForm(text, entries, { words: reading.words, read: (entry) => formRead(interpret(entry, reading)) }),
    ...saysOfMany(text),
    ...doubtsOfRemarks(text, entries),
    ...doubtsOfNotes(text, entries),
    ...doubtsOfMarks(
      text,
      used.map(({ entry }) => entry),
      (entry) => interpret(entry, reading).kind === 'ph',
    ),
  ]
}

function formRead(meaning: Meaning): ElementForm | undefined {
  return meaning.kind === 'value' ? meaning.value.form : undefined
}

function withWords(entry: Entry, legend: Legend, notes: ReadonlyMap<string, string>): Entry {
  const analyte = { ...entry.analyte, text: withFormNoted(entry.analyte.text, notes) }
  return { ...entry, analyte, value: { ...entry.value, text: explained(entry.value.text, legend) } }
}

/** What the report holds beside its samples is told with each of them. */
function withNotes(sample: LaboratorySample, notes: LaboratorySample['noted']): LaboratorySample {
  return { ...sample, noted: [...sample.noted, ...notes] }
}

const EMPTY = troubleAt({ text: '', line: 1, column: 1 }, 'no figures', 'a report in CSV or JSON', 'Export it again.')

interface Statements {
  readonly entries: readonly Entry[]
  readonly troubles: readonly Trouble[]
  readonly preset?: DecimalStyle
  readonly passedOver?: LaboratorySample['noted']
}

function fromCsv(text: string, words: Vocabulary): Statements {
  const table = textTable(text, words)
  if (table !== undefined) {
    const layout = readLayout(table.rows, words)
    return { ...layout, troubles: [...table.troubles, ...layout.troubles] }
  }
  const { rows, separator, troubles } = csvCells(text)
  if (troubles.length > 0) return { entries: [], troubles }
  const list = headingAt(rows, words) < 0 ? textList(text, words) : undefined
  if (list !== undefined) return readLayout(list, words)
  // a comma that separates columns cannot mark decimals as well
  return { ...readLayout(rows, words), ...(separator === ',' ? { preset: 'point' as const } : {}) }
}

function fromJson(text: string, words: Vocabulary): Statements {
  return { ...jsonEntries(text, words), preset: 'point' }
}

function bySample(entries: readonly Entry[], fallback: string): Map<string, Entry[]> {
  const groups = new Map<string, Entry[]>()
  for (const entry of entries) {
    const label = entry.sample?.text.trim() || fallback
    const group = groups.get(label)
    if (group === undefined) groups.set(label, [entry])
    else group.push(entry)
  }
  return groups
}

interface Assembled {
  readonly sample: LaboratorySample
  readonly troubles: readonly Trouble[]
}

type Spoken = Extract<Meaning, { kind: 'value' | 'conductivity' | 'ph' | 'alkalinity' }>

function assemble(
  { label, order }: { readonly label: string; readonly order: DayOrder | undefined },
  entries: readonly Entry[],
  read: (entry: Entry) => Meaning,
): Assembled {
  const troubles: Trouble[] = []
  const heard = new Map<string, Heard>()
  const noted: LaboratorySample['noted'][number][] = []
  const carbonates: Extract<Meaning, { kind: 'carbonate' }>[] = []
  const plainNitrogen: Extract<Meaning, { kind: 'nitrogen' }>[] = []
  for (const entry of entries) {
    const meaning = firstThatIsSaid(entry, read)
    if (meaning.kind !== 'trouble') troubles.push(...contradictions(entry, meaning, read))
    if (meaning.kind === 'trouble') troubles.push(meaning.trouble)
    else if (meaning.kind === 'noted') noted.push(meaning.noted)
    else if (meaning.kind === 'nitrogen') plainNitrogen.push(meaning)
    else if (meaning.kind === 'carbonate') carbonates.push(meaning)
    else if (meaning.kind !== 'nothing') {
      const key = meaning.kind === 'value' ? meaning.value.element : meaning.kind
      const earlier = heard.get(key)
      if (earlier === undefined) heard.set(key, { meaning, cell: entry.analyte, value: entry.value })
      else if (agree(earlier.meaning, meaning)) noted.push(sameAgain(entry))
      else troubles.push(saidTwice(entry, meaning, earlier))
    }
  }
  if (heard.has('NO3-N')) noted.push(...plainNitrogen.map((one) => one.noted))
  else troubles.push(...plainNitrogen.map((one) => one.trouble))
  troubles.push(...totalAlone(entries, read))
  const date = sampledAt(entries, order, troubles)
  if (heard.size === 0 && troubles.length === 0) troubles.push(nothingMeasured(entries[0]!, label))
  const said = [...heard.values()].map(({ meaning }) => withCarbonate(meaning, carbonates))
  noted.push(...carbonates.map((one) => one.noted))
  const sample = { label, ...date, ...figures(said), noted }
  const [conductivity, ph] = [heard.get('conductivity'), heard.get('ph')]
  const exchanged = ph === undefined ? [] : exchangedPh(ph.value, sample)
  if (exchanged.length > 0) troubles.push(...exchanged)
  else if (conductivity !== undefined) troubles.push(...wrongByFar(conductivity.cell, sample))
  return { sample, troubles }
}

/** So far off no report is by its own error: mS/m and mS/cm differ by ten, mS/cm and uS/cm by a thousand. */
const CONDUCTIVITY_OFF = 8
/** With more of the main ions missing, the conductivity of the rest tells nothing of the whole. */
const MISSING_MAX = 2

/** A conductivity that contradicts the ions beside it by a wrong unit. */
function wrongByFar(cell: Cell, sample: LaboratorySample): Trouble[] {
  const { conductivityRatio: ratio = 1, calculatedDsPerM, missing } = judgePlausibility(sample)
  const isTooLow = ratio > CONDUCTIVITY_OFF
  const isTooHigh = ratio < 1 / CONDUCTIVITY_OFF && missing.length <= MISSING_MAX
  if (!isTooLow && !isTooHigh) return []
  const [said, worked] = [sample.conductivityDsPerM!, calculatedDsPerM].map((one) => Number(one.toPrecision(3)))
  const found = `${said} mS/cm for ${cell.text}, where the ions beside it conduct about ${worked}`
  const message = 'Is it mS/cm or uS/cm, and is the unit of the ions right? Ask the laboratory.'
  return [troubleAt(cell, found, 'a conductivity that the ions come to', message)]
}

/** What took up the acid is bicarbonate and carbonate; a total alkalinity has both in it already. */
function withCarbonate(meaning: Spoken, carbonates: readonly { readonly meqPerL: number }[]): Spoken {
  if (meaning.kind !== 'alkalinity' || !meaning.isBicarbonate) return meaning
  return { ...meaning, meqPerL: carbonates.reduce((sum, { meqPerL }) => sum + meqPerL, meaning.meqPerL) }
}

function figures(said: readonly Spoken[]): Omit<LaboratorySample, 'label' | 'noted' | 'sampledAt'> {
  const conductivity = said.find((one) => one.kind === 'conductivity')
  const ph = said.find((one) => one.kind === 'ph')
  const alkalinity = said.find((one) => one.kind === 'alkalinity')
  return {
    values: said.filter((one) => one.kind === 'value').map(({ value }) => value),
    ...(conductivity === undefined ? {} : { conductivityDsPerM: conductivity.dsPerM }),
    ...(ph === undefined ? {} : { ph: ph.ph }),
    ...(alkalinity === undefined ? {} : { alkalinityMeqPerL: alkalinity.meqPerL }),
  }
}

/** Rounded reports in two forms differ by a percent or so. */
const SAME_SHARE = 0.02

/** K and K2O, HCO3 and CaCO3, or EC on two scales may say the same thing twice; the same form twice is a mistake somewhere. */
function agree(a: Spoken, b: Spoken): boolean {
  const [one, other] = [amount(a), amount(b)]
  if (one === undefined || other === undefined) return false
  if (a.kind === 'value' && b.kind === 'value' && a.value.form === b.value.form) return false
  return Math.abs(one - other) <= SAME_SHARE * Math.max(one, other)
}

/** ‘(65.5 mg/L of NO3-N)’, so that two forms can be compared. */
function shownAmount(meaning: Spoken): string {
  const shown = amount(meaning)
  if (shown === undefined) return ''
  const unit = { value: 'mg/L of ', alkalinity: 'meq/L', conductivity: 'mS/cm', ph: '' }[meaning.kind]
  return ` (${Number(shown.toPrecision(3))} ${unit}${meaning.kind === 'value' ? meaning.value.element : ''})`
}

/** The first column of several that can be read: nitrate is open in mg/L and clear in meq/L, phosphate the other way. */
function firstThatIsSaid(entry: Entry, read: (entry: Entry) => Meaning): Meaning {
  const meanings = [entry, ...(entry.also ?? [])].map(read)
  return meanings.find(({ kind }) => kind !== 'trouble') ?? meanings[0]!
}

/** Columns that say one figure in several units may differ by their rounding. */
function contradictions(entry: Entry, meaning: Meaning, read: (entry: Entry) => Meaning): Trouble[] {
  const own = isSpoken(meaning) ? amount(meaning) : undefined
  if (own === undefined) return []
  return [entry, ...(entry.also ?? [])].flatMap((one) => {
    const other = read(one)
    const said = isSpoken(other) ? amount(other) : undefined
    if (said === undefined || Math.abs(said - own) <= roundingShare(one) * said + roundingShare(entry) * own) return []
    const found = `${quoted(one.value.text)} for ${one.analyte.text}, which is not what the column beside it says`
    return [troubleAt(one.value, found, 'one figure in all units', 'Ask the laboratory which of them is right.')]
  })
}

function isSpoken(meaning: Meaning): meaning is Spoken {
  return ['value', 'conductivity', 'ph', 'alkalinity'].includes(meaning.kind)
}

/** Half of the last digit that is written, as a share, and a little for the molar masses used. */
function roundingShare({ value }: Entry): number {
  const digits = value.text.replaceAll(/[^\d]/g, '').replace(/^0+/, '')
  return 0.005 + (digits === '' ? 0 : 0.5 / Number(digits))
}

function amount(meaning: Spoken): number | undefined {
  if (meaning.kind === 'alkalinity') return meaning.meqPerL
  if (meaning.kind === 'conductivity') return meaning.dsPerM
  return meaning.kind === 'value' && 'mgPerL' in meaning.value ? meaning.value.mgPerL : undefined
}

function sameAgain(entry: Entry) {
  const why = 'says the same as another form of it'
  return { analyte: entry.analyte.text, asWritten: entry.value.text.trim(), why }
}

interface Heard {
  readonly meaning: Spoken
  readonly cell: Cell
  readonly value: Cell
}

function saidTwice(entry: Entry, meaning: Spoken, { meaning: before, cell }: Heard): Trouble {
  const earlier = `${quoted(cell.text)}${shownAmount(before)} of line ${cell.line}, column ${cell.column}`
  const found = `${quoted(entry.analyte.text)}${shownAmount(meaning)} after ${earlier}`
  return troubleAt(entry.analyte, found, 'one value for each element of a sample', 'Remove the wrong one.')
}

function nothingMeasured({ value }: Entry, label: string): Trouble {
  return troubleAt(value, `no value at all for ${label}`, 'at least one', 'Remove the sample, or fill it in.')
}

function sampledAt(
  entries: readonly Entry[],
  order: DayOrder | undefined,
  troubles: Trouble[],
): { sampledAt?: string } {
  const cells = entries.flatMap(({ sampledAt: cell }) => (cell === undefined || cell.text === '' ? [] : [cell]))
  const first = cells[0]
  if (first === undefined) return {}
  const other = cells.find(({ text }) => text !== first.text)
  if (other !== undefined) {
    const found = `${quoted(other.text)} where line ${first.line} says ${quoted(first.text)}`
    troubles.push(troubleAt(other, found, 'one time of sampling for a sample', 'Correct one, or give two labels.'))
  }
  const read = readSamplingDate(first.text, order)
  if (read.kind === 'date') return { sampledAt: read.iso }
  troubles.push(troubleAt(first, quoted(first.text), 'a day that can be read in one way', read.message))
  return {}
}

/** By place; a heading that is wrong for every row below it is told once. */
function inOrder(troubles: readonly Trouble[]): Trouble[] {
  const told = new Map(troubles.map((trouble) => [JSON.stringify(trouble), trouble]))
  return [...told.values()].sort((a, b) => a.line - b.line || a.column - b.column)
}
