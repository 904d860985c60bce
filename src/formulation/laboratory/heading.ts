/** Where the headings of a table are. */

import { quoted, type Trouble, troubleAt } from './cell.ts'
import { readValue } from './number-text.ts'
import type { Row } from './row.ts'
import { isConcentration } from './unit.ts'
import type { Vocabulary } from './vocabulary.ts'

/**
 * The row of the headings, or -1. A line above the table may begin with ‘Analysis’ or ‘Test’ too: a row that heads
 * results or units goes before it.
 */
export function headingAt(rows: readonly Row[], words: Vocabulary): number {
  const first = rows.findIndex((row) => isLongHeading(row, words) || isWideHeading(row, words))
  if (first < 0 || isWideHeading(rows[first]!, words)) return first
  const sure = rows.findIndex((row) => headsResults(row, words))
  return sure < 0 ? first : sure
}

/** Does this row head one analyte a row? */
export function isLongHeading(row: Row, { roleOf }: Vocabulary): boolean {
  return row.length >= 2 && row.some(({ text }) => roleOf(text) === 'analyte')
}

function isWideHeading(row: Row, { roleOf, analyteOf }: Vocabulary): boolean {
  const analytes = row.filter(({ text }) => roleOf(text) === undefined && analyteOf(text).analyte !== undefined)
  return analytes.length >= 2 || (analytes.length === 1 && row.some(({ text }) => roleOf(text) === 'sample'))
}

/** On the next sheet, or above the next group of analytes: headings once more, of the same kind and without a figure. */
export function isHeadingAgain(row: Row, first: Row, words: Vocabulary): boolean {
  if (row.some(({ text }) => text !== '' && readValue(text, undefined).kind === 'number')) return false
  if (isLongHeading(first, words)) return headsResults(row, words)
  return headsSamples(row, words)
}

/** Does this row head one sample a row, named or with its day? */
export function headsSamples(row: Row, words: Vocabulary): boolean {
  return isWideHeading(row, words) && row.some(({ text }) => ['sample', 'sampled'].includes(words.roleOf(text) ?? ''))
}

/** A corner left blank beside headings of values and units, or of units and bottles, is that of the analytes. */
export function withCornerNamed(row: Row, { roleOf }: Vocabulary): Row {
  const [corner, ...others] = row
  const roles = others.map(({ text }) => roleOf(text))
  const holdsFigures = others.some(({ text }, at) => text !== '' && (roles[at] === undefined || roles[at] === 'value'))
  const isCorner = corner!.text === '' && roles.includes('unit') && holdsFigures
  return isCorner && !roles.includes('analyte') ? [{ ...corner!, text: 'analyte' }, ...others] : row
}

/** Does this row head one analyte a row, and its results? */
export function headsResults(row: Row, words: Vocabulary): boolean {
  return isLongHeading(row, words) && headsFigures(row, words)
}

/** A column headed by a unit alone holds results in it. */
function headsFigures(row: Row, { roleOf }: Vocabulary): boolean {
  return row.some(({ text }) => ['value', 'unit'].includes(roleOf(text) ?? '') || isConcentration(text))
}

/** What to tell where no headings are found. */
export function noHeading(rows: readonly Row[], { analyteOf }: Vocabulary): Trouble {
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
    const found = `no headings in ${rows.length} rows, the first figure being of ${quoted(first.text)}`
    return troubleAt(first, found, allowed, message)
  }
  const cell = rows[0]?.[0] ?? { text: '', line: 1, column: 1 }
  return troubleAt(cell, `no headings in ${rows.length} rows`, allowed, 'Put the headings above the figures.')
}

/** What to tell where the headings are the last row. */
export function nothingBelow(heading: Row): Trouble {
  const found = `headings from ${quoted(heading[0]!.text)} on and no row of results below them`
  return troubleAt(heading[0]!, found, 'at least one row of results', 'Export the report again, with its results.')
}

/** Headings of which a table has one each. */
export function headedTwice(heading: Row, { roleOf }: Vocabulary): Trouble[] {
  const said = heading.map(({ text }) => roleOf(text))
  // a symbol and a form beside one name may contradict each other
  const roles = said.map((role) => (role === 'symbol' ? 'form' : role))
  return heading
    .filter((_, at) => SINGLE.includes(roles[at] ?? '') && roles.indexOf(roles[at]) !== at)
    .map((cell) =>
      troubleAt(cell, `a second column of this kind, ${quoted(cell.text)}`, 'one', 'Remove one of the two.'),
    )
}

const SINGLE: readonly string[] = ['analyte', 'form', 'value', 'unit', 'sample', 'sampled']

/** A cell with no heading above it. */
export function beyondHeadings(rows: readonly Row[], heading: Row): Trouble[] {
  return rows.flatMap((row) => {
    const cell = row.slice(heading.length).find(({ text }) => text !== '')
    if (cell === undefined) return []
    const message = 'A decimal comma may have split a number: separate the columns by ; then.'
    return [troubleAt(cell, `${quoted(cell.text)} beyond the last heading`, `${heading.length} columns`, message)]
  })
}
