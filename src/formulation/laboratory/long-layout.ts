/** One analyte a row: its value in a column of its own, in a column for each unit, or in one for each bottle. */

import { unitForAll } from './above.ts'
import { type Cell, type Entry, quoted, type Trouble, troubleAt } from './cell.ts'
import { dateHint, headingText, inZoneOf, unitInHeading } from './column.ts'
import { headsGuides } from './compared-with.ts'
import { sortedColumns } from './guide-column.ts'
import { beyondHeadings, headedTwice } from './heading.ts'
import type { ColumnRole } from './headings.ts'
import { readValue } from './number-text.ts'
import { columnNote, isAgainst, isHarmless, isLostFigure, rowNote, whyNoSample } from './passed-over.ts'
import type { NotedValue } from './report.ts'
import { after, type Column, columnsOf, filled, type Layout, type Roles, type Row } from './row.ts'
import { countsOfSamples } from './summary.ts'
import { isConcentration, readUnit } from './unit.ts'
import type { Vocabulary } from './vocabulary.ts'

/** Reads the rows below such headings. */
export function readLong(heading: Row, lines: readonly Row[], words: Vocabulary): Layout {
  const columns = understood(heading, lines, words)
  const rows = lines.filter((row) => !isRemark(row, columns, words))
  const about = columns.isTable ? rows.filter((row) => isAboutBottle(row, columns, words)) : []
  const { results: all, checks } = withoutChecks(
    rows.filter((row) => !about.includes(row)),
    columns.roles,
  )
  const days = columns.isTable ? all.find((row) => isOfDays(row, columns.roles, words)) : undefined
  const results = all.filter((row) => row !== days)
  const unitAbove = unitOfValues(heading, columns.roles)
  const entries = results.flatMap((row) => entriesOf(row, columns, { unitAbove, words, days }))
  const lost = results.filter((row) => cellOf(row, columns.roles, 'analyte') === undefined).map(nameless)
  const bare = columns.isTable && columns.values.length === 0 ? [noValues(heading)] : []
  const apart = bottleForEachFigure(heading, results, columns.roles)
  // a heading as ‘Average for year’ tells what stands below it, a plain ‘Result’ does not
  const counted = columns.roles.includes('value') ? countsOfSamples(heading, rows) : []
  const guides = lines.flatMap((row, at) => guidesBelow(row, lines.slice(at + 1), columns, words))
  const troubles = [
    ...columns.troubles,
    ...guides,
    ...lost,
    ...bare,
    ...apart,
    ...counted,
    ...beyondHeadings(rows, heading),
  ]
  return { entries, troubles, passedOver: [...columns.passedOver, ...checks] }
}

const FIGURES_MIN = 3

/** Where no two figures are of one bottle and no two of one analyte, the column names no bottles. */
function bottleForEachFigure(heading: Row, rows: readonly Row[], roles: Roles): Trouble[] {
  const isApart = (role: ColumnRole) => {
    const texts = rows.map((row) => cellOf(row, roles, role)?.text)
    return !texts.includes(undefined) && new Set(texts).size === rows.length
  }
  const cell = heading[roles.indexOf('sample')]
  if (cell === undefined || rows.length < FIGURES_MIN || !isApart('sample') || !isApart('analyte')) return []
  const found = `${quoted(cell.text)}, with another text for each analyte`
  return [troubleAt(cell, found, 'the bottle that each figure is of', 'Remove the column, if it names no bottles.')]
}

interface Understood {
  readonly heading: Row
  readonly roles: Roles
  /** where results stand if there is no column of values: those of bottles, or of units */
  readonly values: readonly Column[]
  /** a bottle in each of those columns */
  readonly isTable: boolean
  readonly troubles: readonly Trouble[]
  readonly passedOver: readonly NotedValue[]
}

function understood(heading: Row, rows: readonly Row[], words: Vocabulary): Understood {
  const roles = heading.map(({ text }) => words.roleOf(text))
  const others = columnsOf(heading, roles)
  const hasValues = roles.includes('value')
  const inUnits = hasValues ? [] : others.filter(({ cell }) => isConcentration(cell.text))
  const isTable = !hasValues && inUnits.length === 0
  const unknown = others.filter((one) => (isTable ? saysMoreThanResult(one.cell.text, words) : !inUnits.includes(one)))
  const harmless = isTable ? [] : unknown.filter((one) => isHarmless(one, rows, words))
  const strange = unknown.filter((one) => !harmless.includes(one)).map(({ cell }) => unknownHeading(cell))
  const unitTwice = unitOfValues(heading, roles) !== undefined && roles.includes('unit')
  const sorted = sortedColumns(isTable ? [...others, ...bottlesByRole(heading, roles, rows)] : [], rows)
  const twice = unitTwice ? [saysAnotherUnit(heading[roles.indexOf('value')]!)] : []
  return {
    heading,
    roles,
    values: isTable ? sorted.bottles : inUnits,
    isTable,
    troubles: [...headedTwice(heading, words), ...strange, ...twice, ...sorted.troubles],
    passedOver: [...harmless, ...sorted.guides].map((one) => columnNote(one, rows)),
  }
}

/** ‘Tank’ or ‘Bottle’ over a column of figures names a bottle and not what names one. */
function bottlesByRole(heading: Row, roles: Roles, rows: readonly Row[]): readonly Column[] {
  const isFigure = (cell: Cell | undefined) => cell !== undefined && readValue(cell.text, undefined).kind === 'number'
  return heading
    .map((cell, at) => ({ cell, at }))
    .filter(({ at }) => roles[at] === 'sample' && rows.some((row) => isFigure(row[at])))
}

/** ‘Date sampled’ with a day below each bottle. */
function isOfDays(row: Row, roles: Roles, { roleOf }: Vocabulary): boolean {
  return roleOf(cellOf(row, roles, 'analyte')?.text ?? '') === 'sampled'
}

/** ‘Guide values’ between the rows, with figures below it. */
function guidesBelow(row: Row, below: readonly Row[], columns: Understood, words: Vocabulary): Trouble[] {
  const cell = row.find(({ text }) => text !== '')
  const isAlone = cell !== undefined && row.filter(({ text }) => text !== '').length === 1
  if (!isAlone || !isRemark(row, columns, words) || !headsGuides(headingText(cell.text))) return []
  if (below.every((one) => isRemark(one, columns, words))) return []
  const message = 'If the figures below it are what results are compared with, remove them, else the heading.'
  return [troubleAt(cell, `${quoted(cell.text)} above figures`, 'headings of results', message)]
}

/** ‘Type;;tap water;drain’ and ‘Lab no.;;4711;4712’ below the names of bottles: words, or numbers that only count. */
function isAboutBottle(row: Row, { roles, values }: Understood, { roleOf, analyteOf }: Vocabulary): boolean {
  const name = cellOf(row, roles, 'analyte')?.text ?? ''
  const isWords = values.every(
    ({ at }) => !['number', 'below'].includes(readValue(row[at]?.text ?? '', undefined).kind),
  )
  const isNamed = ['aside', 'kind'].includes(roleOf(name) ?? '') && analyteOf(name).analyte === undefined
  const isPlain = values.every(({ at }) => !isAgainst(row[at]?.text ?? ''))
  return isNamed && isPlain && (isWords || COUNTING.test(name))
}

const COUNTING = /(?<!\p{L})(?:no|nr|number|nummer|id|code|ref|reference|numero|numéro)(?!\p{L})|nummer$/iu

/** What goes for several rows. */
interface Beside {
  readonly unitAbove: Cell | undefined
  readonly words: Vocabulary
  readonly days: Row | undefined
}

function entriesOf(row: Row, columns: Understood, { unitAbove, words, days }: Beside): readonly Entry[] {
  const { roles, values, isTable } = columns
  const of = (role: ColumnRole) => cellOf(row, roles, role)
  const analyte = of('analyte')
  if (analyte === undefined) return []
  const limit = limitOf(row, roles)
  const isSymbol = of('form') === undefined && of('symbol') !== undefined
  const form = of('form') ?? of('symbol')
  const aside = { form, isSymbol, unit: of('unit'), limit, qualifier: of('qualifier') }
  const common = { analyte, ...aside, sampledAt: dayIn(row, columns) }
  if (isTable) {
    return values.map(({ cell, at }) => {
      return {
        ...common,
        sampledAt: common.sampledAt ?? filled(days?.[at]),
        sample: cell,
        value: row[at] ?? after(row),
      }
    })
  }
  const own = { ...common, sample: of('sample') }
  if (values.length > 0) return [inEachUnit(row, own, values, words)]
  const entry = { ...own, value: row[roles.indexOf('value')] ?? after(row) }
  return [{ ...entry, unit: entry.unit ?? unitForAll(entry, unitAbove, words) }]
}

/** The day that stands in the row, in the zone that its heading tells. */
function dayIn(row: Row, { roles, heading }: Understood): Cell | undefined {
  return inZoneOf(heading[roles.indexOf('sampled')]?.text ?? '', cellOf(row, roles, 'sampled'))
}

function cellOf(row: Row, roles: Roles, role: ColumnRole): Cell | undefined {
  return filled(row[roles.indexOf(role)])
}

/** The unit in the heading of the values. */
function unitOfValues(heading: Row, roles: Roles): Cell | undefined {
  const cell = heading[roles.indexOf('value')]
  const text = unitInHeading(cell?.text ?? '')
  return cell === undefined || text === undefined ? undefined : { ...cell, text }
}

/** ‘Result (as CaCO3)’ is no bottle, and its bracket may not be lost. */
function saysMoreThanResult(heading: string, { roleOf }: Vocabulary): boolean {
  const [before, bracket] = heading.split(/[([]/)
  return bracket !== undefined && roleOf(before!) === 'value'
}

/** Of several, mass goes first: it is given with the most digits. */
const KINDS_IN_ORDER = ['mass', 'amount', 'charge']

function byKind(a: Column, b: Column): number {
  const place = ({ cell }: Column) => KINDS_IN_ORDER.indexOf(readUnit(cell.text)?.kind ?? '')
  return place(a) - place(b)
}

/** ‘mg/L’ and ‘meq/L’ as headings: one figure said in each of the columns that are filled. */
function inEachUnit(row: Row, own: Omit<Entry, 'value'>, columns: readonly Column[], words: Vocabulary): Entry {
  const said = [...columns].sort(byKind).flatMap(({ cell, at }): Entry[] => {
    const value = filled(row[at])
    if (value === undefined) return []
    const entry = { ...own, value }
    return [{ ...entry, unit: own.unit ?? unitForAll(entry, cell, words) }]
  })
  const [first, ...also] = said
  return first === undefined ? { ...own, value: after(row) } : { ...first, also }
}

const OF_FIGURES: readonly (ColumnRole | undefined)[] = ['value', 'qualifier']

/** ‘CATIONS’ between the rows, a sentence or the foot of a page: no analyte’s name, and nothing where figures stand. */
function isRemark(row: Row, { roles, values }: Understood, words: Vocabulary): boolean {
  const isFigures = (at: number) => OF_FIGURES.includes(roles[at]) || values.some((column) => column.at === at)
  if (row.some(({ text }, at) => text !== '' && (isFigures(at) || at >= roles.length))) return false
  const name = cellOf(row, roles, 'analyte')?.text
  return name === undefined || (words.analyteOf(name).analyte === undefined && !isLostFigure(name, words))
}

/** The rows of samples, and notes about those of the laboratory’s own checks. */
function withoutChecks(rows: readonly Row[], roles: Roles) {
  const labelOf = (row: Row) => cellOf(row, roles, 'sample')?.text ?? ''
  const whyNot = (row: Row) => whyNoSample(labelOf(row), cellOf(row, roles, 'kind')?.text ?? '')
  const told = new Map<string, NotedValue>()
  for (const row of rows) {
    const why = whyNot(row)
    if (why !== undefined) told.set(labelOf(row), rowNote(labelOf(row), row, why))
  }
  return { results: rows.filter((row) => whyNot(row) === undefined), checks: [...told.values()] }
}

/** Of two limits, of detection and of reporting, the wider: a value below it is then certainly below. */
function limitOf(row: Row, roles: Roles): Cell | undefined {
  const size = ({ text }: Cell) => Number.parseFloat(text.replace(',', '.'))
  const cells = row.filter(({ text }, at) => roles[at] === 'limit' && text !== '')
  return cells.sort((a, b) => (size(b) || 0) - (size(a) || 0))[0]
}

function unknownHeading(cell: Cell): Trouble {
  const allowed = 'analyte, value, unit, form, sample, sampled, detection limit, method, comment'
  const message = dateHint(cell.text) ?? 'Rename the column, or say in a mapping file what it is for.'
  return troubleAt(cell, `an unknown heading ${quoted(cell.text)}`, allowed, message)
}

function saysAnotherUnit(cell: Cell): Trouble {
  const found = `the unit ${quoted(unitInHeading(cell.text)!)} in a heading beside a column of units`
  return troubleAt(cell, found, 'units in one place', 'Remove it there, if the column is right.')
}

function nameless(row: Row): Trouble {
  const cell = row.find(({ text }) => text !== '') ?? row[0]!
  const found = 'a row without the name of an analyte'
  return troubleAt(cell, found, 'an analyte in every row', 'Name it, or remove the row.')
}

function noValues(heading: Row): Trouble {
  return troubleAt(heading[0]!, 'no column of values', 'a column value, or one for each sample', 'Add one.')
}
