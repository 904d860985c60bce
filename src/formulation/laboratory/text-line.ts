/** Lines of a text and the pieces they fall into. */

import type { Cell } from './cell.ts'

export interface TextLine {
  readonly text: string
  /** counted from 1 */
  readonly line: number
}

/** The lines that hold anything. */
export function textLines(text: string): readonly TextLine[] {
  return text
    .replace('\ufeff', '')
    .split('\n')
    .map((content, at) => ({ text: content.replaceAll(/[\r\f\u00a0]/g, ' ').trimEnd(), line: at + 1 }))
    .filter((line) => line.text.trim() !== '')
}

/** What stands in a line between runs of two blanks or more; a mark of a footnote belongs to what is before it. */
export function piecesOf({ text, line }: TextLine): readonly Cell[] {
  const pieces: Cell[] = []
  for (const match of text.matchAll(/\S+(?: \S+)*/g)) {
    const before = pieces.at(-1)
    const isMark = before !== undefined && /^[*†‡]+$/.test(match[0])
    if (isMark) pieces[pieces.length - 1] = { ...before, text: `${before.text} ${match[0]}` }
    else pieces.push({ text: match[0], line, column: match.index + 1 })
  }
  return pieces
}

/** ‘Found ..... ’: three dots or more behind a word, or two between blanks. */
const LEADER = /(?<=\S)\.{3,}(?=\s)|(?<=\s)(?:\.{2,}|…+|(?:\. ){2,}\.)(?=\s)|(?<=\S)…+(?=\s)/g

/** The line with blanks where dots lead the eye from a name to its figure: every piece stays in its place. */
export function withoutLeaders({ text, line }: TextLine): TextLine {
  return { text: text.replaceAll(LEADER, (dots) => ' '.repeat(dots.length)), line }
}

/** The line as one cell. */
export function wholeLine({ text, line }: TextLine): Cell {
  return { text: text.trim().replaceAll(/\s+/g, ' '), line, column: text.length - text.trimStart().length + 1 }
}
