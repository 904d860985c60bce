/** A piece of a report’s text that knows where it stands. */

import type { ReportError } from './report.ts'

export interface Cell {
  readonly text: string
  /** counted from 1 */
  readonly line: number
  readonly column: number
  /** blanks stand in a row within it, as between columns of a fixed width */
  readonly isSpaced?: true
}

/** One statement of a report, whatever its layout: this analyte of this sample has this value. */
export interface Entry {
  readonly sample?: Cell | undefined
  readonly sampledAt?: Cell | undefined
  readonly analyte: Cell
  /** the form in a cell of its own, as in 'Phosphorus, P2O5' */
  readonly form?: Cell | undefined
  /** the form is told by a symbol beside the name alone */
  readonly isSymbol?: boolean
  readonly unit?: Cell | undefined
  readonly value: Cell
  /** detection limit in the unit of the value */
  readonly limit?: Cell | undefined
  /** what stands beside the value and says that it is only a limit: '<', U, ND */
  readonly qualifier?: Cell | undefined
  /** the same figure in other units, from columns beside it */
  readonly also?: readonly Entry[] | undefined
}

/** An error without its file, which the reader knows. */
export type Trouble = Omit<ReportError, 'file'>

/** Trouble with what stands in a cell: what was found there, what is allowed, and a sentence that says both. */
export function troubleAt(cell: Cell, found: string, allowed: string, message: string): Trouble {
  return { line: cell.line, column: cell.column, found, allowed, message }
}

/** A text as it is quoted in a message. */
export function quoted(text: string): string {
  return text.trim() === '' ? 'nothing' : `'${text.length > 60 ? `${text.slice(0, 57)}…` : text}'`
}
