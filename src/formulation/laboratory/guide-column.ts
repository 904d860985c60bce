/** Columns beside those of bottles that hold guide values, by their headings and by the ranges in them. */

import { quoted, type Trouble, troubleAt } from './cell.ts'
import { headingText } from './column.ts'
import { mayBeComparedWith } from './compared-with.ts'
import { isRange } from './passed-over.ts'
import type { Column, Row } from './row.ts'

const RANGES_MIN = 2

export interface SortedColumns {
  readonly bottles: readonly Column[]
  readonly guides: readonly Column[]
  readonly troubles: readonly Trouble[]
}

/**
 * Which columns are of bottles. One of mostly ranges is none, since a bottle has one figure; nor is one that holds a range
 * under a word as ‘target’. Under such a word and without a range it is asked about.
 */
export function sortedColumns(columns: readonly Column[], rows: readonly Row[]): SortedColumns {
  const isGuide = ({ cell, at }: Column) => {
    const texts = rows.map((row) => row[at]?.text ?? '').filter((text) => /[^-–—]/.test(text))
    const ranges = texts.filter(isRange).length
    return ranges > 0 && (isLikely(cell.text) || (ranges >= RANGES_MIN && 2 * ranges > texts.length))
  }
  // ranges alone are told as such
  const guides = columns.every(isGuide) ? [] : columns.filter(isGuide)
  const bottles = columns.filter((column) => !guides.includes(column))
  const unsure = bottles.filter(({ cell }) => isLikely(cell.text))
  return { bottles, guides, troubles: unsure.map(({ cell }) => bottleOrGuide(cell)) }
}

function isLikely(heading: string): boolean {
  return mayBeComparedWith(headingText(heading))
}

function bottleOrGuide(cell: Column['cell']): Trouble {
  const found = `${quoted(cell.text)} above a column, a bottle or what bottles are compared with`
  const message = 'Remove the column if it holds guide values, else give the bottle another name.'
  return troubleAt(cell, found, 'the name of a bottle', message)
}
