/**
 * Lists of names and figures in a text without headings: Potassium ...... 210 mg/L with a dotted line or a colon behind the
 * name, or set apart by blanks alone.
 */

import type { Cell } from './cell.ts'
import { filled, type Row } from './row.ts'
import { piecesOf, type TextLine, textLines, wholeLine } from './text-line.ts'
import { figureAlone, isFigureIn, plainHeading, statements } from './text-statement.ts'
import { readUnit } from './unit.ts'
import type { Vocabulary } from './vocabulary.ts'

/** Fewer such lines may stand in any file. */
const LINES_MIN = 2

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
      const between = lines.slice(first, rows.findLastIndex(isFigure)).filter((_, at) => rows[first + at] === undefined)
      const opens = (line: TextLine) => line.text.endsWith(':') && mayBeginAnother(line, lines.slice(0, first))
      if (between.some(opens)) return undefined
      const heading = plainHeading(rows[first]![0]!)
      const below = rows.slice(first).map((row, at) => {
        const line = lines[first + at]!
        return row === undefined || isSaidBeside(row, words) ? [wholeLine(line)] : row
      })
      return [...lines.slice(0, first).flatMap((line) => statements(line, words)), heading, ...below]
    }
  }
  return spacedList(lines, words)
}

/** Of fewer lines that are set apart by blanks alone nothing is concluded. */
const SPACED_MIN = 3

/** ‘Calcium (Ca)      54.7 mg/L’ in each line: any name that is tracked with anything else behind it makes it no list. */
function spacedList(lines: readonly TextLine[], words: Vocabulary): readonly Row[] | undefined {
  const rows = lines.map((line) => figureAlone(line, words)[0] ?? figureInLine(line, words))
  const first = rows.findIndex((row) => row !== undefined)
  if (rows.filter((row) => row !== undefined).length < SPACED_MIN || lines.some((line) => isLost(line, words))) {
    return undefined
  }
  const end = rows.findLastIndex((row) => row !== undefined)
  const isStrange = (line: TextLine, at: number) =>
    rows[first + at] === undefined &&
    namedRow(line, words) === undefined &&
    mayBeginAnother(line, lines.slice(0, first))
  if (lines.slice(first, end).some(isStrange)) return undefined
  const below = lines.slice(first).map((line, at) => rows[first + at] ?? namedRow(line, words) ?? [wholeLine(line)])
  const above = lines.slice(0, first).flatMap((line) => statements(line, words))
  return [...above, plainHeading(rows[first]![0]!), ...below]
}

/** ‘NO3-N 190 mg/L’ and no more in the line. */
function figureInLine(line: TextLine, words: Vocabulary): Row | undefined {
  const cell = wholeLine(line)
  const [, name, value, unit] = /^(.+?)[ =]+([<≤]? ?\d[\d.,]*)(?: (\S.*))?$/.exec(cell.text) ?? []
  const kind = name === undefined ? undefined : words.analyteOf(name).analyte?.kind
  if (name === undefined || value === undefined || kind === undefined || kind === 'untracked') return undefined
  const isWhole = unit === undefined ? kind === 'ph' : readUnit(unit) !== undefined
  const column = cell.column + cell.text.indexOf(value, name.length)
  return isWhole
    ? [
        { ...cell, text: name },
        { text: unit === undefined ? value : `${value} ${unit}`, line: cell.line, column },
      ]
    : undefined
}

const GROUP =
  /(?<!\p{L})(?:section|general|ions?|cations?|anions?|trace|micro\p{L}*|macro\p{L}*|main|major|minor|elements?|metals?|nutrients?|physical|chemical|chemistry|bacteri\p{L}*|pesticides?|hoofd\p{L}*|sporen\p{L}*|haupt\p{L}*|spuren\p{L}*|kationen|anionen|oligo\p{L}*|cationes|aniones|page|seite|pagina|blad)(?!\p{L})/iu
/** More make a sentence, if no colon follows. */
const WORDS_MAX = 5

/** ‘South well:’, ‘The limits are:’ between the figures: what comes after it may be of another bottle, or of none. */
function mayBeginAnother(line: TextLine, above: readonly TextLine[]): boolean {
  const [{ text }] = piecesOf(line) as [Cell]
  const isSentence = text.split(' ').length > WORDS_MAX && !text.endsWith(':')
  const isRepeated = above.some((one) => one.text.includes(text))
  return !isSentence && !isRepeated && !/^[\s|:=_+–—-]+$/.test(text) && !GROUP.test(line.text)
}

function isLost(line: TextLine, words: Vocabulary): boolean {
  const [name, value] = piecesOf(line)
  const kind = words.analyteOf(name!.text).analyte?.kind
  return value !== undefined && kind !== undefined && kind !== 'untracked' && figureAlone(line, words).length === 0
}

/** A name that is not tracked with what was found, or one that is not known with a figure, which is asked about. */
function namedRow(line: TextLine, words: Vocabulary): Row | undefined {
  const [name, value, ...others] = piecesOf(line)
  if (value === undefined || others.length > 0) return undefined
  const isKnown = words.analyteOf(name!.text).analyte !== undefined
  return isKnown || isFigureIn(value) ? [name!, value] : undefined
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
