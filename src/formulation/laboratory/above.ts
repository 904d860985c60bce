/** What lines above a table say of all that stands below: ‘Sampled at, 2026-03-16’, ‘Values are in mg/L’. */

import { type Cell, type Entry, quoted, type Trouble, troubleAt } from './cell.ts'
import type { ColumnRole } from './headings.ts'
import { isFigureWithUnit } from './passed-over.ts'
import { filled, type Row } from './row.ts'
import { isConcentration, readUnit } from './unit.ts'
import type { Vocabulary } from './vocabulary.ts'

export interface Above {
  readonly sample?: Cell | undefined
  readonly sampledAt?: Cell | undefined
  readonly unit?: Cell | undefined
  readonly troubles: readonly Trouble[]
}

/** Reads the lines above the headings. A figure for an analyte there is out of place. */
export function readAbove(lines: readonly Row[], words: Vocabulary): Above {
  const { roleOf, analyteOf } = words
  const rows = lines.flatMap(statementsOf)
  const said = (role: ColumnRole) => filled(rows.find((row) => roleOf(row[0]!.text) === role && row[1])?.[1])
  const isFigure = ([name, ...others]: Row) => {
    const analyte = analyteOf(name!.text).analyte
    return analyte !== undefined && analyte.kind !== 'untracked' && others.some(({ text }) => text !== '')
  }
  const isLost = (row: Row) => isFigure(row) || isFigureWithUnit(row[0]!.text, words)
  const troubles = rows.filter(isLost).map(([cell]) => {
    const message = 'Move it below the headings, or it would be overlooked.'
    return troubleAt(cell!, `${quoted(cell!.text)} above the headings`, 'analytes below the headings', message)
  })
  return { sample: said('sample'), sampledAt: said('sampled'), unit: said('unit') ?? unitInProse(lines), troubles }
}

/** Does this row name a bottle or the day it was filled, rather than a result? */
export function saysOfSample(row: Row, { roleOf }: Vocabulary): boolean {
  const [name, said, ...others] = statementsOf(row)[0]!
  // ‘Probe;K;200;mg/l’ is a result of a bottle of that name
  const isAlone = filled(said) !== undefined && others.every(({ text }) => text === '')
  return isAlone && ['sample', 'sampled'].includes(roleOf(name!.text) ?? '')
}

/** ‘Sampled: 2026-03-16. Reported: 2026-03-20’ in one cell is as good as in four. */
function statementsOf(row: Row): readonly Row[] {
  const [cell, ...others] = row
  if (others.some(({ text }) => text !== '')) return [row]
  const sentences = cell!.text.split(/(?<=[.;]\s+)(?=\p{Lu}[^.:;]*:\s)/u)
  let column = cell!.column
  return sentences.map((sentence) => {
    const from = column
    column += sentence.length
    return splitAtColon({ ...cell!, text: sentence.replace(/[.;]\s+$/, ''), column: from })
  })
}

function splitAtColon(cell: Cell): Row {
  const at = cell.text.indexOf(':')
  if (at < 0) return [cell]
  const [name, said] = [cell.text.slice(0, at), cell.text.slice(at + 1)]
  const column = cell.column + at + 1 + (said.length - said.trimStart().length)
  return [
    { ...cell, text: name.trim() },
    { line: cell.line, column, text: said.trim() },
  ]
}

const VALUES =
  /(?<!\p{L})(?:values|results|concentrations|figures|werte|ergebnisse|konzentrationen|waarden|resultaten|gehalten|valeurs|r[ée]sultats|teneurs|valores|resultados|concentraciones|valori|risultati|warto[śs]ci|wyniki|v[äa]rden|resultat)(?!\p{L})[^.:;]*? (?:in|en|em|as|w|i|als) ([^\s,.;:]+)/iu

/** ‘All values are in mg/L unless stated otherwise’: the only unit of concentration that the lines speak of. */
function unitInProse(lines: readonly Row[]): Cell | undefined {
  const cells = lines.flat()
  const units = cells.flatMap(({ text }) => text.split(/[\s,;:()]+|\.(?=\s|$)/)).filter(isConcentration)
  const cell = cells.find(({ text }) => isConcentration(VALUES.exec(text)?.[1] ?? ''))
  if (cell === undefined || new Set(units.map((unit) => JSON.stringify(readUnit(unit)))).size > 1) return undefined
  const [whole, unit] = VALUES.exec(cell.text)!
  const at = cell.text.indexOf(whole) + whole.length - unit!.length
  return { text: unit!, line: cell.line, column: cell.column + at }
}

/** A unit said of the whole report goes for concentrations only; pH and conductivity have their own. */
export function unitForAll(entry: Entry, unit: Cell | undefined, { analyteOf }: Vocabulary): Cell | undefined {
  const kind = analyteOf(entry.analyte.text).analyte?.kind
  return kind === 'ph' || kind === 'conductivity' || kind === 'salts' || kind === undefined ? undefined : unit
}
