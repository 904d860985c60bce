/** Tables whose bottles are named in a row above the headings, or in the place of the headings. */

import type { Cell } from './cell.ts'
import { headingAt, isLongHeading } from './heading.ts'
import type { ColumnRole } from './headings.ts'
import { readValue } from './number-text.ts'
import { filled, type Row } from './row.ts'
import { readSamplingDate } from './sampling-date.ts'
import { readUnit } from './unit.ts'
import type { Vocabulary } from './vocabulary.ts'

/** The rows with the names of bottles where the layout looks for them; as they are where none stand elsewhere. */
export function withBottlesNamed(rows: readonly Row[], words: Vocabulary): readonly Row[] {
  return headingAt(rows, words) < 0 ? namedInPlace(rows, words) : namedAbove(rows, words)
}

/** ‘Échantillon;;Drainage;Apport’ above ‘Détermination;Unité;Résultat;Résultat’, the days of both in a row beside it. */
function namedAbove(rows: readonly Row[], words: Vocabulary): readonly Row[] {
  const at = rows.findIndex((row) => isLongHeading(row, words) && columnsOf(row, 'value', words).length > 1)
  if (at < 0) return rows
  const heading = rows[at]!
  const columns = columnsOf(heading, 'value', words)
  const above = rows.slice(0, at)
  const names = above.filter((row) => isOver(row, 'sample', columns, words))
  const [row] = names
  const isPlain = columns.every((column) => !/[([]/.test(heading[column]!.text))
  // two bottles of one name, or two names of each, are asked about as columns of one kind
  if (row === undefined || names.length > 1 || !isPlain || !areApart(row, columns)) return rows
  const days = above.filter((one) => isOver(one, 'sampled', columns, words))
  const named = heading.map((cell, column) => (columns.includes(column) ? row[column]! : cell))
  const others = above.filter((one) => one !== row && !days.includes(one))
  const corner = heading.findIndex(({ text }) => words.roleOf(text) === 'analyte')
  return [...others, named, ...days.map((day) => withName(day, corner)), ...rows.slice(at + 1)]
}

function columnsOf(row: Row, role: ColumnRole, { roleOf }: Vocabulary): readonly number[] {
  return [...row.keys()].filter((at) => roleOf(row[at]!.text) === role)
}

/** Is this row for that role, with something over each of the columns and nothing else? */
function isOver([name, ...others]: Row, role: ColumnRole, columns: readonly number[], { roleOf }: Vocabulary): boolean {
  const places = others.flatMap(({ text }, at) => (text === '' ? [] : [at + 1]))
  return roleOf(name!.text) === role && places.join() === columns.join()
}

function areApart(row: Row, columns: readonly number[]): boolean {
  return new Set(columns.map((column) => row[column]!.text.toLowerCase())).size === columns.length
}

/** The name of the row in the column of the analytes. */
function withName(row: Row, column: number): Row {
  return row.map((cell, at) => (at === column ? { ...cell, text: row[0]!.text } : cell))
}

/** Fewer names of analytes below may be of any list. */
const ANALYTES_MIN = 2

/**
 * ‘Monsteromschrijving;;Bassin;Drain’ with analytes below the first cell and units below the blank one; also where the first
 * cell is blank.
 */
function namedInPlace(rows: readonly Row[], words: Vocabulary): readonly Row[] {
  const isFigures = ([name, ...others]: Row) =>
    words.analyteOf(name!.text).analyte !== undefined && others.some((cell) => cell.text !== '')
  const said = rows.findIndex((row) => words.roleOf(row[0]!.text) === 'sample' && row.slice(1).some(filled))
  const first = rows.findIndex(isFigures)
  const at = said < 0 ? rows.slice(0, Math.max(first, 0)).findLastIndex((row) => isOfNames(row, words)) : said
  const heading = rows[at]
  if (heading === undefined) return rows
  const below = rows.slice(at + 1)
  const figures = below.filter(isFigures)
  const blanks = [...heading.keys()].filter((column) => heading[column]!.text === '')
  const texts = (column: number) => figures.map((row) => row[column]?.text ?? '').filter((text) => /[^-–—]/.test(text))
  const filledBlanks = blanks.slice(heading[0]!.text === '' ? 1 : 0).filter((column) => texts(column).length > 0)
  const isUnits = filledBlanks.every((column) => texts(column).every((text) => readUnit(text) !== undefined))
  // a second column without a heading may be anything
  if (figures.length < ANALYTES_MIN || filledBlanks.length > 1 || !isUnits) return rows
  const named = heading.map((cell, column) => {
    if (column === 0) return { ...cell, text: 'analyte' }
    return filledBlanks.includes(column) ? { ...cell, text: 'unit' } : cell
  })
  return [...rows.slice(0, at), named, ...below]
}

/** ‘;Tank 1;Tank 2’: a blank corner, and beside it nothing but words that are no headings, units, days or figures. */
function isOfNames([corner, ...others]: Row, { roleOf, analyteOf }: Vocabulary): boolean {
  const names = others.filter(({ text }) => text !== '')
  const isName = ({ text }: Cell) =>
    /\p{L}{2}/u.test(text) &&
    roleOf(text) === undefined &&
    analyteOf(text).analyte === undefined &&
    readUnit(text) === undefined &&
    readValue(text, undefined).kind === 'trouble' &&
    readSamplingDate(text).kind === 'trouble'
  return corner!.text === '' && names.length > 0 && names.every(isName)
}
