/**
 * Reports that are printed as text. What is understood:
 *   pipes     |Bepaling|Eenheid|Uitslag|    with lines of prose around them
 *   columns   set apart by two blanks or more, each cell below its heading; names may stand below no heading, or below
 *             that of their group, as in CATIONS    mg/L    meq/L; dots may lead from a name to its figure
 */

import { type Cell, quoted, type Trouble, troubleAt } from './cell.ts'
import { headsResults, headsSamples } from './heading.ts'
import { readValue } from './number-text.ts'
import { isLostFigure } from './passed-over.ts'
import type { Row } from './row.ts'
import { piecesOf, type TextLine, textLines, wholeLine, withoutLeaders } from './text-line.ts'
import { figureAlone, isFigureIn, plainHeading, statements } from './text-statement.ts'
import { isConcentration, readUnit } from './unit.ts'
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

/** With bars around it, or between two cells or more. */
const PIPED = /^\s*\|.*\|\s*$|^[^|]*\S\s*\|[^|]*\|[^|]*(?:\|[^|]*)*$/
const RULING = /^[\s|:=_+–—-]+$/

function pipes(lines: readonly TextLine[], words: Vocabulary): TextTable | undefined {
  if (lines.filter(({ text }) => PIPED.test(text)).length < LINES_MIN) return undefined
  const rows = lines
    .filter(({ text }) => !RULING.test(text))
    .flatMap((line) => (PIPED.test(line.text) ? statementsIn(pipedCells(line)) : statements(line, words)))
  return { rows, troubles: [] }
}

/** ‘Sample: House 5 | Taken: 2026-03-11’ is a statement in each cell. */
function statementsIn(cells: Row): readonly Row[] {
  return cells.every(({ text }) => /^[^:]+: *\S/.test(text)) ? cells.map((cell) => [cell]) : [cells]
}

function pipedCells({ text, line }: TextLine): Row {
  const isFramed = /^\s*\|/.test(text)
  let column = isFramed ? text.indexOf('|') + 1 : 0
  const inside = isFramed ? text.trim().slice(1, -1) : text
  return inside.split('|').map((cell) => {
    column += cell.length + 1
    const start = column - cell.length + (cell.length - cell.trimStart().length)
    return { text: cell.trim(), line, column: start }
  })
}

function columns(printed: readonly TextLine[], words: Vocabulary): TextTable | undefined {
  const lines = printed.map(withoutLeaders)
  const headings = lines.map((line) => headingOf(line, words))
  const at = headings.findIndex((heading) => heading !== undefined)
  if (at < 0 || lines.slice(at + 1).filter((line) => piecesOf(line).length > 1).length < LINES_MIN) return undefined
  const troubles: Trouble[] = []
  const sheets: Sheet[] = []
  for (const [index, line] of lines.entries()) {
    const heading = headings[index]
    if (index < at || RULING.test(line.text)) continue
    if (heading !== undefined) sheets.push({ heading, rows: [] })
    else {
      const { heading, rows } = sheets.at(-1)!
      const pieces = withUnits(piecesOf(line), heading, words)
      const cells = belowHeadings(pieces, heading)
      if (cells !== undefined) rows.push(cells)
      else if (isProse(line, words)) rows.push([wholeLine(line)])
      else if (!isOfNoUse(pieces, words)) troubles.push(outOfColumns(pieces[0]!))
    }
  }
  const above = lines.slice(0, at)
  const isOfOneBottle = headings[at]!.some(({ text }) => words.roleOf(text) === 'value' || isConcentration(text))
  const alone = (line: TextLine) => (isOfOneBottle ? figureAlone(line, words) : [])
  const listed = above.flatMap(alone)
  const said = above
    .filter((line) => alone(line).length === 0)
    .flatMap((line) => saidOfEach(line, headings[at]!, words) ?? statements(line, words))
  const list = listed.length === 0 ? [] : [plainHeading(listed[0]![0]!), ...listed]
  const below = sheets.flatMap(({ heading, rows }) => [heading, ...rows])
  return { rows: [...said, ...list, ...below], troubles: [...troubles, ...sheets.flatMap(acrossGutters)] }
}

/** ‘Sample      Feed      Drain’ above several columns of results, each below its heading. */
function saidOfEach(line: TextLine, heading: Row, words: Vocabulary): readonly Row[] | undefined {
  const pieces = piecesOf(line)
  const isSaid = ['sample', 'sampled'].includes(words.roleOf(pieces[0]!.text) ?? '')
  const results = heading.filter(({ text }) => words.roleOf(text) === 'value').length
  if (!isSaid || results < RESULTS_MIN || pieces.length !== results + 1) return undefined
  const cells = belowHeadings(pieces, heading)
  return cells === undefined ? undefined : [cells]
}

const RESULTS_MIN = 2

/** The headings that a line holds, the blank above the names among them; undefined where it holds none. */
function headingOf(line: TextLine, words: Vocabulary): Row | undefined {
  const pieces = piecesOf(line)
  if (headsResults(pieces, words) || headsSamples(pieces, words)) return pieces
  const [first, ...others] = pieces
  const roles = pieces.map(({ text }) => words.roleOf(text))
  // the blank is above names where all beside it are headings: ‘Found      Limit’
  const isHeading = roles.includes('unit') || (others.length > 0 && !roles.includes(undefined))
  const hasCorner = first!.column > NAMES_LEAST && roles.includes('value') && isHeading
  if (hasCorner && !roles.includes('analyte')) return [corner(line, first!), ...pieces]
  const isGroup =
    others.length > 0 &&
    others.every(({ text }) => isConcentration(text)) &&
    roles[0] === undefined &&
    // a row of nothing but units stands below the headings
    readUnit(first!.text) === undefined
  const named = words.analyteOf(first!.text).analyte
  if (!isGroup || isFigureIn(first!) || (named !== undefined && named.kind !== 'untracked')) return undefined
  return [corner(line, others[0]!), ...others]
}

/** Names of analytes need this much room before the first heading. */
const NAMES_LEAST = 8

/** It reaches over all the room that names have. */
function corner({ line }: TextLine, first: Cell): Cell {
  return { text: 'analyte'.padEnd(first.column - 2), line, column: 1 }
}

/** A figure that stands in no column, of something that is not tracked: hardness below the micronutrients. */
function isOfNoUse([name, value, ...others]: readonly Cell[], words: Vocabulary): boolean {
  const isKnown = words.analyteOf(name!.text).analyte?.kind === 'untracked'
  return isKnown && value !== undefined && others.length === 0 && isFigureIn(value)
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
  return (
    !pieces.some(isFigureIn) &&
    words.analyteOf(pieces[0]!.text).analyte === undefined &&
    !pieces.some(({ text }) => isLostFigure(text, words))
  )
}

function outOfColumns(piece: Cell): Trouble {
  const found = `${quoted(piece.text)}, which does not stand in the columns of its headings`
  const message = 'Open it in a spreadsheet, by fixed widths, and save it as CSV.'
  return troubleAt(piece, found, 'columns set apart by two blanks or more, each cell below its heading', message)
}
