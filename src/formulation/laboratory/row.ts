/** Rows of cells as every layout has them. */

import type { Cell, Entry, Trouble } from './cell.ts'
import type { ColumnRole } from './headings.ts'
import type { NotedValue } from './report.ts'

export type Row = readonly Cell[]

export interface Column {
  readonly cell: Cell
  readonly at: number
}

/** What a table comes to. */
export interface Layout {
  readonly entries: readonly Entry[]
  readonly troubles: readonly Trouble[]
  /** columns and rows that hold no results of a sample, with the reason */
  readonly passedOver: readonly NotedValue[]
}

export type Roles = readonly (ColumnRole | undefined)[]

/** Columns whose heading is none of a role: samples, analytes, units or unknown. */
export function columnsOf(heading: Row, roles: Roles): readonly Column[] {
  return heading.map((cell, at) => ({ cell, at })).filter(({ cell, at }) => !roles[at] && cell.text !== '')
}

/** The cell, or undefined where it is blank. */
export function filled(cell: Cell | undefined): Cell | undefined {
  return cell === undefined || cell.text === '' ? undefined : cell
}

/** A row may end early; what is missing there is blank. */
export function after(row: Row): Cell {
  const last = row.at(-1)!
  return { text: '', line: last.line, column: last.column + last.text.length }
}
