/** CSV as laboratories send it: any of three separators, quotes, byte-order marks, comment lines. */

import { type Cell, type Trouble, troubleAt } from './cell.ts'

export type Separator = ',' | ';' | '\t'

export interface CsvCells {
  readonly separator: Separator
  /** rows that hold anything, as cells with surrounding blanks removed */
  readonly rows: readonly (readonly Cell[])[]
  readonly troubles: readonly Trouble[]
}

/**
 * The cells of a CSV text (RFC 4180, with ';' or tab as well). Lines that begin with '#' are comments. The separator is
 * ';' where one stands outside quotes, else tab, else ','.
 */
export function csvCells(text: string): CsvCells {
  const separator = separatorOf(text)
  const rows: Cell[][] = []
  const troubles: Trouble[] = []
  let row: Cell[] = []
  let [line, column, at] = [1, 1, 0]
  const step = () => {
    const isBreak = text[at] === '\n'
    line += isBreak ? 1 : 0
    column = isBreak ? 1 : column + 1
    at++
  }
  const endRow = () => {
    if (row.some((cell) => cell.text !== '')) rows.push(row)
    row = []
  }
  while (at < text.length) {
    if (row.length === 0 && text[at] === '#') while (at < text.length && text[at] !== '\n') step()
    while (isBlank(text[at]) && text[at] !== separator) step()
    const start = { line, column }
    let content = ''
    if (text[at] === '"') {
      step()
      while (at < text.length && !(text[at] === '"' && text[at + 1] !== '"')) {
        if (text[at] === '"') step()
        content += text[at]
        step()
      }
      if (at === text.length) {
        troubles.push(troubleAt({ text: '', ...start }, 'a quote that never ends', 'quotes in pairs', 'Add the other.'))
      } else step()
    }
    while (at < text.length && text[at] !== separator && text[at] !== '\n') {
      content += text[at]
      step()
    }
    row.push({ text: content.replaceAll(/[\s\u00a0]+/g, ' ').trim(), ...start })
    const isRowEnd = at >= text.length || text[at] === '\n'
    if (at < text.length) step()
    if (isRowEnd) endRow()
  }
  endRow()
  return { separator, rows, troubles }
}

function isBlank(char: string | undefined): boolean {
  return char === ' ' || char === '\t' || char === '\r' || char === '\u00a0' || char === '\ufeff'
}

/** ';' and tab do not stand in numbers, so where one is found it is the separator and a comma is a decimal one. */
function separatorOf(text: string): Separator {
  const bare = text.replaceAll(/"(?:[^"]|"")*"/g, '').replaceAll(/^#.*$/gm, '')
  const count = (char: string) => bare.split(char).length - 1
  if (count(';') > 0) return ';'
  return count('\t') > 0 ? '\t' : ','
}
