/** Lines of text around tables: a statement about the bottle, or a figure alone. */

import type { Cell } from './cell.ts'
import { readValue } from './number-text.ts'
import type { Row } from './row.ts'
import { piecesOf, type TextLine, withoutLeaders } from './text-line.ts'
import { readUnit } from './unit.ts'
import type { Vocabulary } from './vocabulary.ts'

/** Around a table, ‘Sampled : 2026-03-16      Received : 2026-03-17’ are two statements, with a colon or without. */
export function statements(line: TextLine, words: Vocabulary): readonly Row[] {
  const joined: Cell[] = []
  const pieces = piecesOf(withoutLeaders(line))
  const paired = pairs(pieces, words)
  if (paired.length > 0) return paired
  for (const piece of pieces) {
    const before = joined.at(-1)
    const isValue = before !== undefined && (piece.text.startsWith(':') || before.text.endsWith(':'))
    if (isValue) joined[joined.length - 1] = { ...before, text: `${before.text} ${piece.text}` }
    else joined.push(piece)
  }
  // a figure that stands before the table is told as such
  return words.analyteOf(joined[0]!.text).analyte === undefined ? joined.map((cell) => [cell]) : [joined]
}

/** ‘Sample     Farm well’, ‘Sampled     30 March 2026’: what is said stands behind what it is said of, in every pair. */
function pairs(pieces: readonly Cell[], words: Vocabulary): readonly Row[] {
  const names = pieces.filter((_, at) => at % 2 === 0)
  const rows = names.map((name, at): Row => [name, pieces[2 * at + 1] ?? name])
  const isPair = ([name, said]: Row) => isNameOf(name!.text, said!.text, words)
  return pieces.length % 2 === 0 && rows.every(isPair) ? rows : []
}

/** Does this name tell what the text behind it is, a heading of no column? A day has a figure in it. */
export function isNameOf(name: string, said: string, { roleOf }: Vocabulary): boolean {
  const role = roleOf(name)
  if (role === undefined || roleOf(said) !== undefined || /:$/.test(name) || /^:/.test(said)) return false
  return ['sample', 'aside', 'kind'].includes(role) || (role === 'sampled' && /\d/.test(said))
}

/** ‘pH (20 °C)        7.5’ above the table: a name, a figure, and its unit or none. */
export function figureAlone(line: TextLine, words: Vocabulary): readonly Row[] {
  const [name, value, unit, ...others] = withBracket(piecesOf(line))
  if (value === undefined || others.length > 0 || !isFigureIn(value)) return []
  const { analyte } = words.analyteOf(name!.text)
  if (analyte === undefined || analyte.kind === 'untracked') return []
  if (unit === undefined) return [[name!, value]]
  return readUnit(unit.text) === undefined ? [] : [[name!, { ...value, text: `${value.text} ${unit.text}` }]]
}

/** ‘Acidity  (pH)      5.7’: a bracket behind the first piece is of its name. */
function withBracket([name, bracket, ...others]: readonly Cell[]): readonly Cell[] {
  if (bracket === undefined || others.length === 0 || !/^\([^()]*\)$/.test(bracket.text))
    return [name!, ...(bracket ? [bracket] : []), ...others]
  return [{ ...name!, text: `${name!.text} ${bracket.text}` }, ...others]
}

export function plainHeading({ line, column }: Cell): Row {
  return ['analyte', 'value'].map((text) => ({ text, line, column }))
}

/** Whichever mark the report writes decimals with. */
const STYLES = ['comma', 'point'] as const

export function isFigureIn({ text }: Cell): boolean {
  return STYLES.some((style) => ['number', 'below'].includes(readValue(text, style).kind))
}
