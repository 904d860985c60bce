/**
 * Reports that are printed as text. What is understood:
 *   pipes     |Bepaling|Eenheid|Uitslag|    with lines of prose around them
 *   columns   set apart by two blanks or more, each cell below its heading
 *   lists     Potassium ...... 210 mg/L      with a dotted line or a colon behind the name
 */

import { type Cell, quoted, type Trouble, troubleAt } from './cell.ts'
import { headsResults, headsSamples } from './heading.ts'
import { readValue } from './number-text.ts'
import { isLostFigure } from './passed-over.ts'
import { filled, type Row } from './row.ts'
import { piecesOf, type TextLine, textLines, wholeLine } from './text-line.ts'
import { readUnit } from './unit.ts'
import type { Vocabulary } from './vocabulary.ts'

export interface TextTable {
  readonly rows: readonly Row[]
  readonly troubles: readonly Trouble[]
}

/** Fewer such lines may stand in any file. */
const LINES_MIN = 2

/** The rows of a table in pipes or columns, or undefined where there is none. */
export function textTable(text: string, words: Vocabulary): TextTable | undefined {
  const lines = textLines(text)
  // where tabs stand they set the columns apart
  return pipes(lines, words) ?? (text.includes('\t') ? undefined : columns(lines, words))
}

const PIPED = /^\s*\|.*\|\s*$/
const RULING = /^[\s|:=_+–—-]+$/

function pipes(lines: readonly TextLine[], words: Vocabulary): TextTable | undefined {
  if (lines.filter(({ text }) => PIPED.test(text)).length < LINES_MIN) return undefined
  const rows = lines
    .filter(({ text }) => !RULING.test(text))
    .flatMap((line) => (PIPED.test(line.text) ? [pipedCells(line)] : statements(line, words)))
  return { rows, troubles: [] }
}

function pipedCells({ text, line }: TextLine): Row {
  let column = text.indexOf('|') + 1
  const inside = text.trim().slice(1, -1)
  return inside.split('|').map((cell) => {
    column += cell.length + 1
    const start = column - cell.length + (cell.length - cell.trimStart().length)
    return { text: cell.trim(), line, column: start }
  })
}

/** Around a table, ‘Sampled : 2026-03-16      Received : 2026-03-17’ are two statements. */
function statements(line: TextLine, { analyteOf }: Vocabulary): readonly Row[] {
  const joined: Cell[] = []
  for (const piece of piecesOf(line)) {
    const before = joined.at(-1)
    const isValue = before !== undefined && (piece.text.startsWith(':') || before.text.endsWith(':'))
    if (isValue) joined[joined.length - 1] = { ...before, text: `${before.text} ${piece.text}` }
    else joined.push(piece)
  }
  // a figure that stands before the table is told as such
  return analyteOf(joined[0]!.text).analyte === undefined ? joined.map((cell) => [cell]) : [joined]
}

function columns(lines: readonly TextLine[], words: Vocabulary): TextTable | undefined {
  const isHeading = (line: TextLine) => {
    const pieces = piecesOf(line)
    return headsResults(pieces, words) || headsSamples(pieces, words)
  }
  const at = lines.findIndex(isHeading)
  if (at < 0 || lines.slice(at + 1).filter((line) => piecesOf(line).length > 1).length < LINES_MIN) return undefined
  const troubles: Trouble[] = []
  const sheets: Sheet[] = []
  for (const line of lines.slice(at).filter(({ text }) => !RULING.test(text))) {
    if (isHeading(line)) sheets.push({ heading: piecesOf(line), rows: [] })
    else {
      const { heading, rows } = sheets.at(-1)!
      const pieces = withUnits(piecesOf(line), heading, words)
      const cells = belowHeadings(pieces, heading)
      if (cells !== undefined) rows.push(cells)
      else if (isProse(line, words)) rows.push([wholeLine(line)])
      else troubles.push(outOfColumns(pieces[0]!))
    }
  }
  const above = lines.slice(0, at).flatMap((line) => statements(line, words))
  const below = sheets.flatMap(({ heading, rows }) => [heading, ...rows])
  return { rows: [...above, ...below], troubles: [...troubles, ...sheets.flatMap(acrossGutters)] }
}

interface Sheet {
  readonly heading: Row
  readonly rows: Row[]
}

/** Between columns a gutter runs from row to row: without it a figure may belong below the heading beside its own. */
function acrossGutters({ heading, rows }: Sheet): readonly Trouble[] {
  const standing = rows.filter((row) => row.length === heading.length)
  const cells = standing.flatMap((row) => row.map((cell, at) => ({ cell, at })))
  const ink = cells.filter(({ cell: { text } }) => text !== '' && !isWhole(text))
  return heading.flatMap((_, before) => {
    const ends = ink.filter(({ at }) => at === before).map(({ cell }) => cell.column + cell.text.length)
    const stray = ink.find(({ cell, at }) => at > before && cell.column < Math.max(...ends))
    return stray === undefined ? [] : [outOfColumns(stray.cell)]
  })
}

/** Where no column is for units, ‘648  umhos/cm’ is one figure. */
function withUnits(pieces: readonly Cell[], heading: readonly Cell[], { roleOf }: Vocabulary): readonly Cell[] {
  if (heading.some(({ text }) => roleOf(text) === 'unit')) return pieces
  const joined: Cell[] = []
  for (const piece of pieces) {
    const before = joined.at(-1)
    const isUnit = before !== undefined && isWhole(`${before.text} ${piece.text}`)
    if (isUnit) joined[joined.length - 1] = { ...before, text: `${before.text} ${piece.text}` }
    else joined.push(piece)
  }
  return joined
}

/** Each piece in the column of the heading it stands below; undefined where that is not sure. */
function belowHeadings(pieces: readonly Cell[], heading: readonly Cell[]): Row | undefined {
  const above = pieces.map((piece) => heading.flatMap((head, at) => (overlap(piece, head) ? [at] : [])))
  const sole = new Set(above.flatMap((found) => (found.length === 1 ? found : [])))
  const places = pieces.map((piece, index) => {
    const [first, ...more] = above[index]!
    if (more.length === 0 || isWhole(piece.text)) return first
    const free = above[index]!.filter((at) => !sole.has(at))
    return free.length === 1 ? free[0] : undefined
  })
  if (places.includes(undefined) || new Set(places).size < places.length) return undefined
  return heading.map((head, at) => pieces[places.indexOf(at)] ?? { ...head, text: '', line: pieces[0]!.line })
}

function overlap(a: Cell, b: Cell): boolean {
  return a.column < b.column + b.text.length && b.column < a.column + a.text.length
}

/** ‘0.88 dS/m at 25 C’ says all of itself, however far it reaches. */
function isWhole(text: string): boolean {
  const read = readValue(text, undefined)
  return read.kind === 'number' && readUnit(read.rest) !== undefined
}

/** The head and the foot of a page: no name of an analyte before it, and no figure set apart in it. */
function isProse(line: TextLine, words: Vocabulary): boolean {
  // ‘1 °f = 10 mg/L’ explains a unit
  const pieces = piecesOf(line).filter(({ text }, at) => at === 0 || !text.includes('='))
  const isFigure = ({ text }: Cell) => ['number', 'below'].includes(readValue(text, 'comma').kind)
  return (
    !pieces.some(isFigure) &&
    words.analyteOf(pieces[0]!.text).analyte === undefined &&
    !pieces.some(({ text }) => isLostFigure(text, words))
  )
}

function outOfColumns(piece: Cell): Trouble {
  const found = `${quoted(piece.text)}, which does not stand in the columns of its headings`
  const message = 'Open it in a spreadsheet, by fixed widths, and save it as CSV.'
  return troubleAt(piece, found, 'columns set apart by two blanks or more, each cell below its heading', message)
}

const DOTTED = /^(\s*)(\S.*?)\s*(?:\.{3,}|…+|(?:\. ){3,})\s*(\S.*?)\s*$/
const WITH_COLON = /^(\s*)([^:]+?)\s*:\s*(\S.*?)\s*$/

/** The rows of a list of names and figures below headings of its own, or undefined where the text is none. */
export function textList(text: string, words: Vocabulary): readonly Row[] | undefined {
  const lines = textLines(text)
  for (const pattern of [DOTTED, WITH_COLON]) {
    const rows = lines.map((line) => listed(line, pattern))
    const isFigure = (row: Row | undefined) =>
      row !== undefined && words.analyteOf(row[0]!.text).analyte !== undefined && filled(row[1]) !== undefined
    const first = rows.findIndex(isFigure)
    if (rows.filter(isFigure).length >= LINES_MIN) {
      const { line, column } = rows[first]![0]!
      const heading = ['analyte', 'value'].map((text) => ({ text, line, column }))
      const below = rows.slice(first).map((row, at) => {
        const line = lines[first + at]!
        return row === undefined || isSaidBeside(row, words) ? [wholeLine(line)] : row
      })
      return [...lines.slice(0, first).flatMap((line) => statements(line, words)), heading, ...below]
    }
  }
  return undefined
}

/** ‘Remark: …’ among the figures, or a sentence with a colon in it. */
function isSaidBeside([name, value]: Row, { roleOf, analyteOf }: Vocabulary): boolean {
  const isUnknown = analyteOf(name!.text).analyte === undefined
  return isUnknown && (roleOf(name!.text) === 'aside' || !/\d/.test(value!.text))
}

function listed({ text, line }: TextLine, pattern: RegExp): Row | undefined {
  const [, indent, name, value] = pattern.exec(text) ?? []
  if (indent === undefined || name === undefined || value === undefined) return undefined
  const column = indent.length + 1
  return [
    { text: name, line, column },
    { text: value, line, column: text.trimEnd().length - value.length + 1 },
  ]
}
