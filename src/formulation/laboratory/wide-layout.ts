/** One sample a row, its analytes as headings; units, forms, limits and methods may stand in rows of their own. */

import { type Cell, type Entry, quoted, type Trouble, troubleAt } from './cell.ts'
import { inZoneOf } from './column.ts'
import { beyondHeadings, headedTwice } from './heading.ts'
import type { ColumnRole } from './headings.ts'
import { readValue } from './number-text.ts'
import { rowNote, whyNoSample } from './passed-over.ts'
import { after, type Column, columnsOf, filled, type Layout, type Roles, type Row } from './row.ts'
import { countsOfSamples } from './summary.ts'
import { readUnit } from './unit.ts'
import type { Vocabulary } from './vocabulary.ts'

/** Reads the rows below such headings. */
export function readWide(heading: Row, rows: readonly Row[], words: Vocabulary): Layout {
  const roles = heading.map(({ text }) => words.roleOf(text))
  const table = { roles, analytes: columnsOf(heading, roles), words }
  const sorted = rows.map((row) => ({ row, ...kindOf(row, table) }))
  const of = (kind: RowKind) => sorted.filter((one) => one.kind === kind).map(({ row }) => row)
  const [units, forms, limits, samples] = [of('unit'), of('form'), of('limit'), of('sample')]
  const unnamed = samples.filter((row) => cellOf(row, roles, 'sample') === undefined)
  const entries = samples.flatMap((row) =>
    table.analytes.map(
      ({ cell, at }): Entry => ({
        analyte: withForms(cell, forms, at),
        unit: filled(units[0]?.[at]),
        limit: filled(limits[0]?.[at]),
        value: row[at] ?? after(row),
        sample: cellOf(row, roles, 'sample') ?? (unnamed.length > 1 ? placeOf(row) : undefined),
        sampledAt: inZoneOf(heading[roles.indexOf('sampled')]?.text ?? '', cellOf(row, roles, 'sampled')),
      }),
    ),
  )
  const nameTroubles = unnamed.length > 1 ? [manyUnnamed(unnamed)] : []
  const notes = sorted.flatMap(({ row, why }) => (why === undefined ? [] : [rowNote(labelOf(row, table), row, why)]))
  const counted = countsOfSamples(heading, rows)
  const otherUnits = units.slice(1).flatMap((row) => unitsThatDiffer(row, units[0]!, table))
  const troubles = [
    ...headedTwice(heading, words),
    ...otherUnits,
    ...nameTroubles,
    ...counted,
    ...beyondHeadings(rows, heading),
  ]
  return { entries, troubles, passedOver: notes }
}

interface Wide {
  readonly roles: Roles
  readonly analytes: readonly Column[]
  readonly words: Vocabulary
}

type RowKind = 'sample' | 'unit' | 'form' | 'limit' | 'aside'

/** What a row is for, by the name at its left or by what stands in it. */
function kindOf(row: Row, table: Wide): { readonly kind: RowKind; readonly why?: string } {
  const label = labelOf(row, table)
  const role = table.words.roleOf(label)
  if (role === 'unit' || isUnitRow(row, table)) return { kind: 'unit' }
  if (role === 'form' || role === 'symbol' || (label === '' && isFormRow(row, table))) return { kind: 'form' }
  if (role === 'limit') return { kind: 'limit' }
  if (isRemark(row, table) || (role === 'aside' && !hasFigure(row, table))) return { kind: 'aside' }
  const why = whyNoSample(label, cellOf(row, table.roles, 'kind')?.text ?? '')
  return why === undefined ? { kind: 'sample' } : { kind: 'aside', why }
}

/** The first that is said left of the analytes or between them: a sample’s name, or what the row is for. */
function labelOf(row: Row, { roles, analytes }: Wide): string {
  const sample = cellOf(row, roles, 'sample')
  return (sample ?? row.find(({ text }, at) => text !== '' && !analytes.some((one) => one.at === at)))?.text ?? ''
}

function cellOf(row: Row, roles: Roles, role: ColumnRole): Cell | undefined {
  return filled(row[roles.indexOf(role)])
}

function cellsOf(row: Row, { analytes }: Wide): readonly string[] {
  return analytes.map(({ at }) => row[at]?.text ?? '').filter((text) => text !== '' && text !== '-')
}

/** A sentence in the first column, with nothing beside it. */
function isRemark(row: Row, { analytes }: Wide): boolean {
  const isAlone = row.slice(1).every(({ text }) => text === '')
  return isAlone && !analytes.some(({ at }) => at === 0)
}

function hasFigure(row: Row, table: Wide): boolean {
  return cellsOf(row, table).some((text) => ['number', 'below'].includes(readValue(text, undefined).kind))
}

/**
 * Below the headings a row of nothing but units, at least one of them. Without the name of a sample, and with several of
 * them, what is measured of substances that are not tracked may be counted in anything.
 */
function isUnitRow(row: Row, table: Wide): boolean {
  const texts = cellsOf(row, table)
  const unknown = table.analytes.filter(({ at }) => {
    const text = row[at]?.text ?? ''
    return text !== '' && text !== '-' && readUnit(text) === undefined
  })
  if (unknown.length === 0) return texts.length > 0
  const isUntracked = ({ cell }: Column) => table.words.analyteOf(cell.text).analyte?.kind === 'untracked'
  const isNameless = cellOf(row, table.roles, 'sample') === undefined
  return (
    isNameless && texts.length - unknown.length >= UNITS_MIN && !hasFigure(row, table) && unknown.every(isUntracked)
  )
}

const UNITS_MIN = 2

/** ‘as N’, ‘as CaCO3’, ‘at 25 °C’: with each of them its heading is a name that is understood, and no cell is a figure. */
function isFormRow(row: Row, table: Wide): boolean {
  const { analytes, words } = table
  const said = analytes.filter(({ at }) => filled(row[at]) !== undefined)
  return (
    said.length > 0 &&
    !hasFigure(row, table) &&
    said.every(({ cell, at }) => words.analyteOf(`${cell.text} ${row[at]!.text}`).analyte !== undefined)
  )
}

/** A second row of units goes for none of the rows for sure. */
function unitsThatDiffer(row: Row, first: Row, { analytes }: Wide): readonly Trouble[] {
  const differs = ({ at }: Column) => (row[at]?.text ?? '') !== (first[at]?.text ?? '') && filled(row[at]) !== undefined
  const column = analytes.find(differs)
  if (column === undefined) return []
  const cell = row[column.at]!
  const found = `${quoted(cell.text)} for ${column.cell.text} in a second row of units, the first in line ${first[0]!.line}`
  return [troubleAt(cell, found, 'one row of units', 'Give each heading its own unit, or send a file for each.')]
}

function withForms(cell: Cell, forms: readonly Row[], at: number): Cell {
  const said = forms.map((row) => filled(row[at])?.text ?? '').filter((text) => text !== '' && text !== '-')
  return { ...cell, text: [cell.text, ...said].join(' ') }
}

/** Rows without a label are kept apart, so that each is judged on its own. */
function placeOf([cell]: Row): Cell {
  return { ...cell!, text: `the row in line ${cell!.line}` }
}

function manyUnnamed([first, second, ...more]: readonly Row[]): Trouble {
  const cell = second![0]!
  const found = `${more.length + 2} rows of results without the name of a sample, the first in line ${first![0]!.line}`
  return troubleAt(cell, found, 'a name for every sample', 'Add a column sample, or keep only the row that is meant.')
}
