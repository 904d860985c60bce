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
  const scanner = new Scanner(text, separator)
  const rows: Cell[][] = []
  for (let row = scanner.readRow(); row !== undefined; row = scanner.readRow()) {
    if (row.some((cell) => cell.text !== '')) rows.push(row)
  }
  return { separator, rows, troubles: scanner.troubles }
}

/** Walks once through a text, keeping count of lines and columns. */
class Scanner {
  readonly troubles: Trouble[] = []
  readonly #text: string
  readonly #separator: Separator
  #at = 0
  #line = 1
  #column = 1

  constructor(text: string, separator: Separator) {
    this.#text = text
    this.#separator = separator
  }

  /** The next line’s cells, none for a comment; undefined at the end. */
  readRow(): Cell[] | undefined {
    if (this.#isAtEnd()) return undefined
    const row: Cell[] = []
    if (this.#here() === '#') this.#takeWhile(() => this.#here() !== '\n')
    else {
      row.push(this.#readCell())
      while (this.#here() === this.#separator) {
        this.#step()
        row.push(this.#readCell())
      }
    }
    this.#step()
    return row
  }

  #readCell(): Cell {
    this.#takeWhile(() => isBlank(this.#here()) && this.#here() !== this.#separator)
    const start = { line: this.#line, column: this.#column }
    const quoted = this.#here() === '"' ? this.#readQuoted(start) : ''
    const rest = this.#takeWhile(() => this.#here() !== this.#separator && this.#here() !== '\n')
    const spaced = /\S {2,}\S/.test(rest) ? { isSpaced: true as const } : {}
    return { text: (quoted + rest).replaceAll(/[\s\u00a0]+/g, ' ').trim(), ...start, ...spaced }
  }

  /** Two quotes within quotes are one. */
  #readQuoted(start: { readonly line: number; readonly column: number }): string {
    let content = ''
    do {
      this.#step()
      content += this.#takeWhile(() => this.#here() !== '"')
      if (this.#isAtEnd()) {
        const cell = { text: '', ...start }
        this.troubles.push(troubleAt(cell, 'a quote that never ends', 'quotes in pairs', 'Add the other.'))
        return content
      }
      this.#step()
      if (this.#here() === '"') content += '"'
    } while (this.#here() === '"')
    return content
  }

  #takeWhile(holds: () => boolean): string {
    const from = this.#at
    while (!this.#isAtEnd() && holds()) this.#step()
    return this.#text.slice(from, this.#at)
  }

  #here(): string | undefined {
    return this.#text[this.#at]
  }

  #isAtEnd(): boolean {
    return this.#at >= this.#text.length
  }

  #step(): void {
    const isBreak = this.#here() === '\n'
    this.#line += isBreak ? 1 : 0
    this.#column = isBreak ? 1 : this.#column + 1
    this.#at++
  }
}

function isBlank(char: string | undefined): boolean {
  return char === ' ' || char === '\t' || char === '\r' || char === '\u00a0' || char === '\ufeff'
}

const FEW_LINES = 5
const LINES_LEAST = 3

/** ';' and tab do not stand in numbers, so where one is found it is the separator and a comma is a decimal one. */
function separatorOf(text: string): Separator {
  const bare = text.replaceAll(/"(?:[^"]|"")*"/g, '').replaceAll(/^#.*$/gm, '')
  const count = (char: string) => bare.split(char).length - 1
  const lines = bare.split('\n')
  const holding = (char: string) => lines.filter((line) => line.includes(char)).length
  // one in a sentence below a table of commas separates nothing
  const commas = lines[0]!.split(',').length
  const written = lines.filter((line) => line.trim() !== '')
  const alike = written.filter((line) => line.split(',').length === commas).length
  // a short table is one where every line of it has as many
  const isTable = commas > 2 && (alike > FEW_LINES || (alike === written.length && alike >= LINES_LEAST))
  if (count(';') > 0 && (holding(';') > 1 || !isTable)) return ';'
  return count('\t') > 0 ? '\t' : ','
}
