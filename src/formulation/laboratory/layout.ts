/**
 * From rows of cells to statements. Three layouts are in use:
 *   long    one analyte a row:              sample, analyte, value, unit
 *   table   analytes down, samples across:  analyte, unit, bottle A, bottle B
 *   wide    one sample a row:               sample, NO3-N (mg/L), K (mg/L)   or with a row of units below the headings
 */

import { readAnalyte } from './analyte.ts'
import { type Cell, type Entry, quoted, type Trouble, troubleAt } from './cell.ts'
import { type ColumnRole, columnRole } from './column.ts'
import { readUnit } from './unit.ts'

type Row = readonly Cell[]

export interface Layout {
  readonly entries: readonly Entry[]
  readonly troubles: readonly Trouble[]
}

/** Finds the headings, takes what stands above them as said of every sample, and reads the rows below. */
export function readLayout(rows: readonly Row[]): Layout {
  const at = rows.findIndex((row) => isLongHeading(row) || isWideHeading(row))
  if (at < 0) return { entries: [], troubles: [noHeading(rows)] }
  const above = readAbove(rows.slice(0, at))
  const [heading, below] = [rows[at]!, rows.slice(at + 1)]
  const layout = isLongHeading(heading) ? readLong(heading, below) : readWide(heading, below)
  const entries = layout.entries.map((entry) => ({
    ...entry,
    sample: entry.sample ?? above.sample,
    sampledAt: entry.sampledAt ?? above.sampledAt,
    unit: entry.unit ?? unitForAll(entry, above.unit),
  }))
  return { entries, troubles: [...above.troubles, ...layout.troubles] }
}

function isLongHeading(row: Row): boolean {
  const roles = row.map(({ text }) => columnRole(text))
  return roles.includes('analyte') && row.length >= 2
}

function isWideHeading(row: Row): boolean {
  const analytes = row.filter(({ text }) => columnRole(text) === undefined && readAnalyte(text).analyte !== undefined)
  return analytes.length >= 2 || (analytes.length === 1 && row.some(({ text }) => columnRole(text) === 'sample'))
}

function noHeading(rows: readonly Row[]): Trouble {
  const allowed = 'a row of headings: analyte, value and unit, or a sample in each row with its analytes as headings'
  const cell = rows[0]?.[0] ?? { text: '', line: 1, column: 1 }
  return troubleAt(cell, `no headings in ${rows.length} rows`, allowed, 'Put the headings above the figures.')
}

interface Above {
  readonly sample?: Cell | undefined
  readonly sampledAt?: Cell | undefined
  readonly unit?: Cell | undefined
  readonly troubles: readonly Trouble[]
}

/** Lines above the headings are ‘Sampled at, 2026-03-16’ and the like. A figure for an analyte there is out of place. */
function readAbove(rows: readonly Row[]): Above {
  const said = (role: ColumnRole) => rows.find((row) => columnRole(row[0]!.text) === role && row[1])?.[1]
  const troubles = rows
    .filter((row) => row.length > 1 && readAnalyte(row[0]!.text).analyte !== undefined)
    .map(([cell]) => {
      const message = 'Move it below the headings, or it would be overlooked.'
      return troubleAt(cell!, `${quoted(cell!.text)} above the headings`, 'analytes below the headings', message)
    })
  return { sample: said('sample'), sampledAt: said('sampled'), unit: said('unit'), troubles }
}

/** A unit said of the whole report goes for concentrations only; pH and conductivity have their own. */
export function unitForAll(entry: Entry, unit: Cell | undefined): Cell | undefined {
  const kind = readAnalyte(entry.analyte.text).analyte?.kind
  return kind === 'form' || kind === 'open' ? unit : undefined
}

function readLong(heading: Row, rows: readonly Row[]): Layout {
  const roles = heading.map(({ text }) => columnRole(text))
  const of = (row: Row, role: ColumnRole) => filled(row[roles.indexOf(role)])
  const isTable = !roles.includes('value')
  const troubles = [...twice(heading, roles), ...(isTable ? [] : unknownColumns(heading, roles))]
  const samples = heading.map((cell, at) => ({ cell, at })).filter(({ cell, at }) => !roles[at] && cell.text !== '')
  const entries = rows.flatMap((row): Entry[] => {
    const analyte = of(row, 'analyte')
    if (analyte === undefined) return []
    const common = { analyte, unit: of(row, 'unit'), limit: of(row, 'limit'), sampledAt: of(row, 'sampled') }
    if (isTable) {
      return samples.map(({ cell, at }) => ({ ...common, sample: cell, value: row[at] ?? after(row) }))
    }
    return [{ ...common, sample: of(row, 'sample'), value: row[roles.indexOf('value')] ?? after(row) }]
  })
  const lost = rows.filter((row) => of(row, 'analyte') === undefined).map((row) => nameless(row))
  const bare = isTable && samples.length === 0 ? [noValues(heading)] : []
  return { entries, troubles: [...troubles, ...lost, ...bare, ...overlong(rows, heading)] }
}

function readWide(heading: Row, rows: readonly Row[]): Layout {
  const roles = heading.map(({ text }) => columnRole(text))
  const analytes = heading.map((cell, at) => ({ cell, at })).filter(({ cell, at }) => !roles[at] && cell.text !== '')
  const hasUnits = rows[0] !== undefined && isUnitRow(rows[0], analytes)
  const of = (row: Row, role: ColumnRole) => filled(row[roles.indexOf(role)])
  const entries = (hasUnits ? rows.slice(1) : rows).flatMap((row) =>
    analytes.map(({ cell, at }) => ({
      analyte: cell,
      unit: hasUnits ? filled(rows[0]![at]) : undefined,
      value: row[at] ?? after(row),
      sample: of(row, 'sample'),
      sampledAt: of(row, 'sampled'),
    })),
  )
  return { entries, troubles: [...twice(heading, roles), ...overlong(rows, heading)] }
}

/** Below the headings a row of nothing but units, at least one of them. */
function isUnitRow(row: Row, analytes: readonly { readonly at: number }[]): boolean {
  const texts = analytes.map(({ at }) => row[at]?.text ?? '').filter((text) => text !== '' && text !== '-')
  return texts.length > 0 && texts.every((text) => readUnit(text) !== undefined)
}

function unknownColumns(heading: Row, roles: readonly (ColumnRole | undefined)[]): Trouble[] {
  return heading
    .filter((cell, at) => roles[at] === undefined && cell.text !== '')
    .map((cell) => {
      const allowed = 'analyte, value, unit, sample, sampled, detection limit, method, comment'
      return troubleAt(
        cell,
        `an unknown heading ${quoted(cell.text)}`,
        allowed,
        dateHint(cell.text) ?? 'Rename the column.',
      )
    })
}

/** ‘Date’ alone may be the day of sampling, of receipt or of the report; only the first is of use. */
export function dateHint(heading: string): string | undefined {
  return /\bdate\b/i.test(heading) ? 'Say of what: sampled, received or reported.' : undefined
}

function twice(heading: Row, roles: readonly (ColumnRole | undefined)[]): Trouble[] {
  const single: readonly (ColumnRole | undefined)[] = ['analyte', 'value', 'unit', 'sample', 'sampled', 'limit']
  return heading
    .filter((_, at) => single.includes(roles[at]) && roles.indexOf(roles[at]) !== at)
    .map((cell) =>
      troubleAt(cell, `a second column of this kind, ${quoted(cell.text)}`, 'one', 'Remove one of the two.'),
    )
}

function nameless(row: Row): Trouble {
  const cell = row.find(({ text }) => text !== '') ?? row[0]!
  return troubleAt(
    cell,
    'a row without the name of an analyte',
    'an analyte in every row',
    'Name it, or remove the row.',
  )
}

function noValues(heading: Row): Trouble {
  return troubleAt(heading[0]!, 'no column of values', 'a column value, or one for each sample', 'Add one.')
}

function overlong(rows: readonly Row[], heading: Row): Trouble[] {
  return rows.flatMap((row) => {
    const cell = row.slice(heading.length).find(({ text }) => text !== '')
    if (cell === undefined) return []
    const message = 'A decimal comma may have split a number: separate the columns by ; then.'
    return [troubleAt(cell, `${quoted(cell.text)} beyond the last heading`, `${heading.length} columns`, message)]
  })
}

function filled(cell: Cell | undefined): Cell | undefined {
  return cell === undefined || cell.text === '' ? undefined : cell
}

/** A row may end early; what is missing there is blank. */
function after(row: Row): Cell {
  const last = row.at(-1)!
  return { text: '', line: last.line, column: last.column + last.text.length }
}
