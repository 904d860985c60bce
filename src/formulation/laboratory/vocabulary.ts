/** What the words of a report mean: its headings and its names of analytes. A mapping file may add to it. */

import { type AnalyteReading, readAnalyte } from './analyte.ts'
import { columnRole } from './column.ts'
import type { ColumnRole } from './headings.ts'

export interface Vocabulary {
  /** what a column, or a line above the table, is for; undefined for an analyte and for what is not known */
  readonly roleOf: (heading: string) => ColumnRole | undefined
  readonly analyteOf: (name: string) => AnalyteReading
}

/** The words that are understood without a mapping file. */
export const COMMON_VOCABULARY: Vocabulary = { roleOf: columnRole, analyteOf: readAnalyte }
