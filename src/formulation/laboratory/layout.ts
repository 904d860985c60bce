/**
 * From rows of cells to statements. Three layouts are in use:
 *   long    one analyte a row:              sample, analyte, value, unit
 *   table   analytes down, samples across:  analyte, unit, bottle A, bottle B
 *   wide    one sample a row:               sample, NO3-N (mg/L), K (mg/L)   with rows of units and forms below or none
 */

import { type Above, readAbove, saysOfSample, unitForAll, unlikeUnitOfAll } from './above.ts'
import { withBottlesNamed } from './bottle-headings.ts'
import { type Cell, type Entry, quoted, type Trouble, troubleAt } from './cell.ts'
import { isTrace, unitOfGroup } from './group-units.ts'
import { headingAt, isHeadingAgain, isLongHeading, noHeading, nothingBelow, withCornerNamed } from './heading.ts'
import { readLong } from './long-layout.ts'
import type { Layout, Row } from './row.ts'
import type { Vocabulary } from './vocabulary.ts'
import { readWide } from './wide-layout.ts'

/**
 * Finds the headings, takes what stands above them as said of every sample, and reads the rows below. Where headings stand
 * again, as on the next sheet, a table begins anew; what is said between the tables goes for those below.
 */
export function readLayout(lines: readonly Row[], words: Vocabulary): Layout {
  const rows = withBottlesNamed(
    lines.map((row) => withCornerNamed(row, words)),
    words,
  )
  const at = headingAt(rows, words)
  if (at < 0) return { entries: [], troubles: [noHeading(rows, words)], passedOver: [] }
  let above = readAbove(rows.slice(0, at), words)
  const tables = tablesOf(rows.slice(at), words)
  if (tables.every(({ below }) => below.length === 0)) {
    return { entries: [], troubles: [nothingBelow(rows[at]!)], passedOver: [] }
  }
  const layouts = tables.map(({ before, heading, below }) => {
    above = after(above, readAbove(before, words))
    const table = readTable(heading, below, words)
    const unlike = unlikeUnitOfAll(table.entries, above, words)
    return withAbove({ ...table, troubles: [...table.troubles, ...unlike] }, above, words)
  })
  return {
    entries: layouts.flatMap(({ entries }) => entries),
    troubles: [...above.troubles, ...restOfAnother(layouts), ...layouts.flatMap(({ troubles }) => troubles)],
    passedOver: layouts.flatMap(({ passedOver }) => passedOver),
  }
}

/** A page with none of the analytes of the page before it is the rest of that page, unless it is of another bottle. */
function restOfAnother(layouts: readonly Layout[]): readonly Trouble[] {
  const pages = layouts.filter(({ entries }) => entries.length >= PAGE_MIN)
  return pages.slice(1).flatMap(({ entries }, at) => {
    const before = pages[at]!.entries
    const [first, other] = [before[0]!.sample, entries[0]!.sample]
    const names = new Set(before.map(({ analyte }) => analyte.text.toLowerCase()))
    const isRest = entries.every(({ analyte }) => !names.has(analyte.text.toLowerCase()))
    if (!isRest || first === undefined || other === undefined || first.text === other.text) return []
    const found = `${quoted(other.text)} with none of the analytes of ${quoted(first.text)} in line ${first.line}`
    return [troubleAt(other, found, 'pages of one bottle', 'Ask the laboratory whether they belong together.')]
  })
}

/** Of fewer figures nothing is concluded. */
const PAGE_MIN = 2

interface Table {
  /** lines since the table above it */
  readonly before: readonly Row[]
  readonly heading: Row
  readonly below: readonly Row[]
}

function tablesOf(rows: readonly Row[], words: Vocabulary): readonly Table[] {
  const starts = [...rows.keys()].filter((at) => at === 0 || isHeadingAgain(rows[at]!, rows[0]!, words))
  let before: readonly Row[] = []
  return starts.flatMap((start, index) => {
    const table = { before, heading: rows[start]!, below: rows.slice(start + 1, starts[index + 1]) }
    if (index === starts.length - 1) return tableForEachSample(table, words)
    const end = table.below.findIndex((row) => saysOfSample(row, words))
    before = end < 0 ? [] : table.below.slice(end)
    return [end < 0 ? table : { ...table, below: table.below.slice(0, end) }]
  })
}

/** Where another bottle is named among the rows, those below it are of that one, under the same headings. */
function tableForEachSample({ before, heading, below }: Table, words: Vocabulary): readonly Table[] {
  const end = below.findIndex((row) => saysOfSample(row, words))
  if (end < 0) return [{ before, heading, below }]
  const named = below.slice(end).findIndex((row) => !saysOfSample(row, words))
  const from = named < 0 ? below.length : end + named
  const next = { before: below.slice(end, from), heading, below: below.slice(from) }
  return [{ before, heading, below: below.slice(0, end) }, ...tableForEachSample(next, words)]
}

/** What is said later goes before what was said. */
function after(earlier: Above, later: Above): Above {
  return {
    sample: later.sample ?? earlier.sample,
    sampledAt: later.sampledAt ?? (later.sample === undefined ? earlier.sampledAt : undefined),
    ...(later.unit === undefined
      ? { unit: earlier.unit, isUnitOfAll: earlier.isUnitOfAll ?? false, isOfIons: earlier.isOfIons ?? false }
      : { unit: later.unit, isUnitOfAll: later.isUnitOfAll ?? false, isOfIons: later.isOfIons ?? false }),
    groups: later.groups.units.size > 0 ? later.groups : earlier.groups,
    troubles: [...earlier.troubles, ...later.troubles],
  }
}

function readTable(heading: Row, below: readonly Row[], words: Vocabulary): Layout {
  return isLongHeading(heading, words) ? readLong(heading, below, words) : readWide(heading, below, words)
}

function unitSaid(entry: Entry, above: Above, words: Vocabulary): Cell | undefined {
  return above.isOfIons && isTrace(entry, words) ? undefined : unitForAll(entry, above.unit, words)
}

function withAbove(layout: Layout, above: Above, words: Vocabulary): Layout {
  const entries = layout.entries.map((entry) => ({
    ...entry,
    sample: entry.sample ?? above.sample,
    sampledAt: entry.sampledAt ?? above.sampledAt,
    unit: entry.unit ?? unitOfGroup(entry, above.groups, words) ?? unitSaid(entry, above, words),
  }))
  return { ...layout, entries }
}
