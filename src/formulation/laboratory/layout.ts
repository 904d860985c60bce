/**
 * From rows of cells to statements. Three layouts are in use:
 *   long    one analyte a row:              sample, analyte, value, unit
 *   table   analytes down, samples across:  analyte, unit, bottle A, bottle B
 *   wide    one sample a row:               sample, NO3-N (mg/L), K (mg/L)   or with a row of units below the headings
 */

import { type Cell, type Entry, quoted, type Trouble, troubleAt } from './cell.ts'
import { type ColumnRole, unitInHeading } from './column.ts'
import { readUnit } from './unit.ts'
import type { Vocabulary } from './vocabulary.ts'

type Row = readonly Cell[]

export interface Layout {
  readonly entries: readonly Entry[]
  readonly troubles: readonly Trouble[]
}

/** Finds the headings, takes what stands above them as said of every sample, and reads the rows below. */
export function readLayout(rows: readonly Row[], words: Vocabulary): Layout {
  const at = headingAt(rows, words)
  if (at < 0) return { entries: [], troubles: [noHeading(rows, words)] }
  const above = readAbove(rows.slice(0, at), words)
  const [heading, below] = [rows[at]!, rows.slice(at + 1)]
  if (below.length === 0) return { entries: [], troubles: [nothingBelow(heading)] }
  const layout = isLongHeading(heading, words) ? readLong(heading, below, words) : readWide(heading, below, words)
  const entries = layout.entries.map((entry) => ({
    ...entry,
    sample: entry.sample ?? above.sample,
    sampledAt: entry.sampledAt ?? above.sampledAt,
    unit: entry.unit ?? unitForAll(entry, above.unit, words),
  }))
  return { entries, troubles: [...above.troubles, ...layout.troubles] }
}

/** A line above the table may begin with ‘Analysis’ or ‘Test’ too: a row that heads results or units goes before it. */
function headingAt(rows: readonly Row[], words: Vocabulary): number {
  const first = rows.findIndex((row) => isLongHeading(row, words) || isWideHeading(row, words))
  if (first < 0 || isWideHeading(rows[first]!, words)) return first
  const sure = rows.findIndex((row) => isLongHeading(row, words) && headsFigures(row, words))
  return sure < 0 ? first : sure
}

function headsFigures(row: Row, { roleOf }: Vocabulary): boolean {
  return row.some(({ text }) => ['value', 'unit'].includes(roleOf(text) ?? '') || isConcentration(text))
}

/** A column headed by a unit alone holds results in it. */
/** Of several, mass goes first: it is given with the most digits. */
const KINDS_IN_ORDER = ['mass', 'amount', 'charge']

function byKind(a: Column, b: Column): number {
  const place = ({ cell }: Column) => KINDS_IN_ORDER.indexOf(readUnit(cell.text)?.kind ?? '')
  return place(a) - place(b)
}

function isConcentration(heading: string): boolean {
  return KINDS_IN_ORDER.includes(readUnit(heading)?.kind ?? '')
}

function isLongHeading(row: Row, { roleOf }: Vocabulary): boolean {
  return row.length >= 2 && row.some(({ text }) => roleOf(text) === 'analyte')
}

function isWideHeading(row: Row, { roleOf, analyteOf }: Vocabulary): boolean {
  const analytes = row.filter(({ text }) => roleOf(text) === undefined && analyteOf(text).analyte !== undefined)
  return analytes.length >= 2 || (analytes.length === 1 && row.some(({ text }) => roleOf(text) === 'sample'))
}

function noHeading(rows: readonly Row[], { analyteOf }: Vocabulary): Trouble {
  const spaced = rows.filter((row) => row.length === 1 && row[0]!.isSpaced)
  if (spaced.length > rows.length / 2) {
    const [found, columns] = ['columns set apart by blanks alone', 'columns separated by ; or , or tabs']
    return troubleAt(spaced[0]![0]!, found, columns, 'Open it in a spreadsheet, by fixed widths, and save it as CSV.')
  }
  const allowed = 'a row of headings: analyte, value and unit, or a sample in each row with its analytes as headings'
  const isFigure = (row: Row) =>
    analyteOf(row[0]!.text).analyte !== undefined && row.slice(1).some(({ text }) => text !== '')
  const first = rows.find(isFigure)?.[0]
  if (first !== undefined) {
    const message = 'Name the columns in a row above the figures: analyte, unit, and a name for each bottle.'
    return troubleAt(
      first,
      `no headings in ${rows.length} rows, the first figure being of ${quoted(first.text)}`,
      allowed,
      message,
    )
  }
  const cell = rows[0]?.[0] ?? { text: '', line: 1, column: 1 }
  return troubleAt(cell, `no headings in ${rows.length} rows`, allowed, 'Put the headings above the figures.')
}

function nothingBelow(heading: Row): Trouble {
  const found = `headings from ${quoted(heading[0]!.text)} on and no row of results below them`
  return troubleAt(heading[0]!, found, 'at least one row of results', 'Export the report again, with its results.')
}

interface Above {
  readonly sample?: Cell | undefined
  readonly sampledAt?: Cell | undefined
  readonly unit?: Cell | undefined
  readonly troubles: readonly Trouble[]
}

/** Lines above the headings are ‘Sampled at, 2026-03-16’ and the like. A figure for an analyte there is out of place. */
function readAbove(lines: readonly Row[], { roleOf, analyteOf }: Vocabulary): Above {
  const rows = lines.map(splitAtColon)
  const said = (role: ColumnRole) => filled(rows.find((row) => roleOf(row[0]!.text) === role && row[1])?.[1])
  const troubles = rows
    .filter((row) => row.slice(1).some(({ text }) => text !== '') && analyteOf(row[0]!.text).analyte !== undefined)
    .map(([cell]) => {
      const message = 'Move it below the headings, or it would be overlooked.'
      return troubleAt(cell!, `${quoted(cell!.text)} above the headings`, 'analytes below the headings', message)
    })
  return { sample: said('sample'), sampledAt: said('sampled'), unit: said('unit'), troubles }
}

/** ‘Sampled: 2026-03-16’ in one cell is as good as in two. */
function splitAtColon(row: Row): Row {
  const [cell, ...others] = row
  const at = cell!.text.indexOf(':')
  if (at < 0 || others.some(({ text }) => text !== '')) return row
  const [name, said] = [cell!.text.slice(0, at), cell!.text.slice(at + 1)]
  const column = cell!.column + at + 1 + (said.length - said.trimStart().length)
  return [
    { ...cell!, text: name.trim() },
    { line: cell!.line, column, text: said.trim() },
  ]
}

/** A unit said of the whole report goes for concentrations only; pH and conductivity have their own. */
export function unitForAll(entry: Entry, unit: Cell | undefined, { analyteOf }: Vocabulary): Cell | undefined {
  const kind = analyteOf(entry.analyte.text).analyte?.kind
  return kind === 'ph' || kind === 'conductivity' || kind === 'salts' || kind === undefined ? undefined : unit
}

function readLong(heading: Row, rows: readonly Row[], words: Vocabulary): Layout {
  const { roleOf } = words
  const roles = heading.map(({ text }) => roleOf(text))
  const of = (row: Row, role: ColumnRole) => filled(row[roles.indexOf(role)])
  const inUnits = roles.includes('value')
    ? []
    : columnsOf(heading, roles).filter(({ cell }) => isConcentration(cell.text))
  const isTable = !roles.includes('value') && inUnits.length === 0
  const headed = unitInHeading(heading[roles.indexOf('value')]?.text ?? '')
  const unitAbove = headed === undefined ? undefined : { ...heading[roles.indexOf('value')]!, text: headed }
  const isUnitKnown = (cell: Cell) => inUnits.some((one) => one.cell === cell)
  const isStrange = (cell: Cell) => (isTable ? saysMoreThanResult(cell.text, words) : !isUnitKnown(cell))
  const strange = unknownColumns(heading, roles).filter(({ cell }) => isStrange(cell))
  const troubles = [...twice(heading, roles), ...strange.map(({ trouble }) => trouble)]
  const samples = columnsOf(heading, roles)
  const entries = rows.flatMap((row): Entry[] => {
    const analyte = of(row, 'analyte')
    if (analyte === undefined || isRemark(row, analyte, words)) return []
    const aside = {
      form: of(row, 'form'),
      unit: of(row, 'unit'),
      limit: limitOf(row, roles),
      qualifier: of(row, 'qualifier'),
    }
    const common = { analyte, ...aside, sampledAt: of(row, 'sampled') }
    if (isTable) return samples.map(({ cell, at }) => ({ ...common, sample: cell, value: row[at] ?? after(row) }))
    const own = { ...common, sample: of(row, 'sample') }
    if (inUnits.length > 0) return [inEachUnit(row, own, inUnits, words)]
    const entry = { ...own, value: row[roles.indexOf('value')] ?? after(row) }
    return [{ ...entry, unit: entry.unit ?? unitForAll(entry, unitAbove, words) }]
  })
  const twoUnits = unitAbove !== undefined && roles.includes('unit') ? [saysAnotherUnit(unitAbove)] : []
  const lost = rows.filter((row) => of(row, 'analyte') === undefined).map((row) => nameless(row))
  const bare = isTable && samples.length === 0 ? [noValues(heading)] : []
  return { entries, troubles: [...troubles, ...twoUnits, ...lost, ...bare, ...overlong(rows, heading)] }
}

function saysAnotherUnit(cell: Cell): Trouble {
  const found = `the unit ${quoted(cell.text)} in a heading beside a column of units`
  return troubleAt(cell, found, 'units in one place', 'Remove it there, if the column is right.')
}

/** ‘Result (as CaCO3)’ is no bottle, and its bracket may not be lost. */
function saysMoreThanResult(heading: string, { roleOf }: Vocabulary): boolean {
  const [before, bracket] = heading.split(/[([]/)
  return bracket !== undefined && roleOf(before!) === 'value'
}

interface Column {
  readonly cell: Cell
  readonly at: number
}

/** Columns whose heading is none of a role: samples, analytes, units or unknown. */
function columnsOf(heading: Row, roles: readonly (ColumnRole | undefined)[]): readonly Column[] {
  return heading.map((cell, at) => ({ cell, at })).filter(({ cell, at }) => !roles[at] && cell.text !== '')
}

/** ‘mg/L’ and ‘meq/L’ as headings: one figure said in each of the columns that are filled. */
function inEachUnit(row: Row, own: Omit<Entry, 'value'>, columns: readonly Column[], words: Vocabulary): Entry {
  const said = [...columns].sort(byKind).flatMap(({ cell, at }): Entry[] => {
    const value = filled(row[at])
    if (value === undefined) return []
    const entry = { ...own, value }
    return [{ ...entry, unit: own.unit ?? unitForAll(entry, cell, words) }]
  })
  const [first, ...also] = said
  return first === undefined ? { ...own, value: after(row) } : { ...first, also }
}

/** ‘CATIONS’ between the rows, or a sentence below them: a name that is no analyte’s, and nothing beside it. */
function isRemark(row: Row, analyte: Cell, { analyteOf }: Vocabulary): boolean {
  return row.every((cell) => cell === analyte || cell.text === '') && analyteOf(analyte.text).analyte === undefined
}

/** Of two limits, of detection and of reporting, the wider: a value below it is then certainly below. */
function limitOf(row: Row, roles: readonly (ColumnRole | undefined)[]): Cell | undefined {
  const size = ({ text }: Cell) => Number.parseFloat(text.replace(',', '.'))
  const cells = row.filter(({ text }, at) => roles[at] === 'limit' && text !== '')
  return cells.sort((a, b) => (size(b) || 0) - (size(a) || 0))[0]
}

function readWide(heading: Row, rows: readonly Row[], { roleOf }: Vocabulary): Layout {
  const roles = heading.map(({ text }) => roleOf(text))
  const analytes = columnsOf(heading, roles)
  const hasUnits = rows[0] !== undefined && isUnitRow(rows[0], analytes)
  const of = (row: Row, role: ColumnRole) => filled(row[roles.indexOf(role)])
  const samples = hasUnits ? rows.slice(1) : rows
  const unnamed = samples.filter((row) => of(row, 'sample') === undefined)
  const entries = samples.flatMap((row) =>
    analytes.map(
      ({ cell, at }): Entry => ({
        analyte: cell,
        unit: hasUnits ? filled(rows[0]![at]) : undefined,
        value: row[at] ?? after(row),
        sample: of(row, 'sample') ?? (unnamed.length > 1 ? placeOf(row) : undefined),
        sampledAt: of(row, 'sampled'),
      }),
    ),
  )
  const nameTroubles = unnamed.length > 1 ? [manyUnnamed(unnamed)] : []
  return { entries, troubles: [...twice(heading, roles), ...nameTroubles, ...overlong(rows, heading)] }
}

/** Rows without a label are kept apart, so that each is judged on its own. */
function placeOf([cell]: Row): Cell {
  return { ...cell!, text: `the row in line ${cell!.line}` }
}

function manyUnnamed([first, second, ...more]: readonly Row[]): Trouble {
  const cell = second![0]!
  const found = `${more.length + 2} rows of results without the name of a sample, the first in line ${first![0]!.line}`
  return troubleAt(cell, found, 'a name for every sample', 'Add a column sample, or keep only the row that is meant.')
}

/** Below the headings a row of nothing but units, at least one of them. */
function isUnitRow(row: Row, analytes: readonly Column[]): boolean {
  const texts = analytes.map(({ at }) => row[at]?.text ?? '').filter((text) => text !== '' && text !== '-')
  return texts.length > 0 && texts.every((text) => readUnit(text) !== undefined)
}

function unknownColumns(heading: Row, roles: readonly (ColumnRole | undefined)[]) {
  return columnsOf(heading, roles).map(({ cell }) => {
    const allowed = 'analyte, value, unit, form, sample, sampled, detection limit, method, comment'
    const message = dateHint(cell.text) ?? 'Rename the column, or say in a mapping file what it is for.'
    return { cell, trouble: troubleAt(cell, `an unknown heading ${quoted(cell.text)}`, allowed, message) }
  })
}

/** ‘Date’ alone may be the day of sampling, of receipt or of the report; only the first is of use. */
export function dateHint(heading: string): string | undefined {
  return /\b(?:date|datum|fecha)\b/i.test(heading) ? 'Say of what: sampled, received or reported.' : undefined
}

function twice(heading: Row, roles: readonly (ColumnRole | undefined)[]): Trouble[] {
  const single: readonly (ColumnRole | undefined)[] = ['analyte', 'form', 'value', 'unit', 'sample', 'sampled']
  return heading
    .filter((_, at) => single.includes(roles[at]) && roles.indexOf(roles[at]) !== at)
    .map((cell) =>
      troubleAt(cell, `a second column of this kind, ${quoted(cell.text)}`, 'one', 'Remove one of the two.'),
    )
}

function nameless(row: Row): Trouble {
  const cell = row.find(({ text }) => text !== '') ?? row[0]!
  return troubleAt(
    cell,
    'a row without the name of an analyte',
    'an analyte in every row',
    'Name it, or remove the row.',
  )
}

function noValues(heading: Row): Trouble {
  return troubleAt(heading[0]!, 'no column of values', 'a column value, or one for each sample', 'Add one.')
}

function overlong(rows: readonly Row[], heading: Row): Trouble[] {
  return rows.flatMap((row) => {
    const cell = row.slice(heading.length).find(({ text }) => text !== '')
    if (cell === undefined) return []
    const message = 'A decimal comma may have split a number: separate the columns by ; then.'
    return [troubleAt(cell, `${quoted(cell.text)} beyond the last heading`, `${heading.length} columns`, message)]
  })
}

function filled(cell: Cell | undefined): Cell | undefined {
  return cell === undefined || cell.text === '' ? undefined : cell
}

/** A row may end early; what is missing there is blank. */
function after(row: Row): Cell {
  const last = row.at(-1)!
  return { text: '', line: last.line, column: last.column + last.text.length }
}
