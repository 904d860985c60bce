/** What lines above a table say of all that stands below: ‘Sampled at, 2026-03-16’, ‘Values are in mg/L’. */

import { type Cell, type Entry, quoted, type Trouble, troubleAt } from './cell.ts'
import { type GroupUnits, groupUnitsIn } from './group-units.ts'
import type { ColumnRole } from './headings.ts'
import { isFigureWithUnit } from './passed-over.ts'
import { filled, type Row } from './row.ts'
import { readSamplingDate } from './sampling-date.ts'
import { isConcentration, readUnit } from './unit.ts'
import type { Vocabulary } from './vocabulary.ts'

export interface Above {
  readonly sample?: Cell | undefined
  readonly sampledAt?: Cell | undefined
  readonly unit?: Cell | undefined
  /** the unit is said of every figure, with no word of exceptions */
  readonly isUnitOfAll?: boolean
  /** the unit is one of moles, said of ions: trace elements, which are given in millionths, are hardly meant */
  readonly isOfIons?: boolean
  /** units told of groups of analytes */
  readonly groups: GroupUnits
  readonly troubles: readonly Trouble[]
}

/** Reads the lines above the headings. A figure for an analyte there is out of place. */
export function readAbove(lines: readonly Row[], words: Vocabulary): Above {
  const { roleOf, analyteOf } = words
  const rows = lines.flatMap(statementsOf)
  const said = (role: ColumnRole, among = rows) =>
    soleIn(among.find((row) => roleOf(row[0]!.text) === role && row[1]) ?? [])
  const days = rows.filter(([, text]) => !BY_WHOM.test(text?.text ?? ''))
  const isFigure = ([name, ...others]: Row) => {
    const analyte = analyteOf(name!.text).analyte
    return analyte !== undefined && analyte.kind !== 'untracked' && others.some(({ text }) => text !== '')
  }
  const isLost = (row: Row) => isFigure(row) || isFigureWithUnit(row[0]!.text, words)
  const troubles = rows.filter(isLost).map(([cell]) => {
    const message = 'Move it below the headings, or it would be overlooked.'
    return troubleAt(cell!, `${quoted(cell!.text)} above the headings`, 'analytes below the headings', message)
  })
  const groups = groupUnitsIn(lines)
  return {
    ...{ sample: said('sample'), sampledAt: said('sampled', days) },
    ...(said('unit') === undefined ? unitInProse(lines, groups) : { unit: said('unit') }),
    groups,
    troubles: [...troubles, ...groups.troubles, ...rows.flatMap((row) => severalDays(row, words))],
  }
}

/** What is said beside a name: in the next cell, or in the only other that is filled, above the column it is of. */
function soleIn([, next, ...others]: Row): Cell | undefined {
  const further = others.filter(({ text }) => text !== '')
  return filled(next) ?? (further.length === 1 ? further[0] : undefined)
}

/** ‘Probenahme: durch den Auftraggeber’ tells who took it, and no day. */
const BY_WHOM =
  /^(?:realizad[ao] |effectu[ée]e? |eseguito |uitgevoerd )?(?:by|durch|vom|von|por|par|dal?|door|av|af|przez)(?!\p{L})[^\d]*$/iu

/** A day for each bottle in the columns stands over none of them for sure. */
function severalDays([name, ...cells]: Row, { roleOf }: Vocabulary): readonly Trouble[] {
  const [first, other] = cells.filter(({ text }) => text !== '')
  if (roleOf(name!.text) !== 'sampled' || first === undefined || other === undefined) return []
  if (other.text === first.text || readSamplingDate(other.text).kind === 'trouble') return []
  const found = `${quoted(other.text)} beside ${quoted(first.text)} above the headings`
  return [troubleAt(other, found, 'one day for all bottles, or a row of days below them', 'Move the days below.')]
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
  /(?<!\p{L})(?:values|results|concentrations|figures|ions|ionen|iones|ioni|jony|joner|elements|elementen|elementos|elementi|werte|ergebnisse|konzentrationen|waarden|resultaten|gehalten|valeurs|r[ée]sultats|teneurs|valores|resultados|concentraciones|valori|risultati|warto[śs]ci|wyniki|v[äa]rden|resultat)(?!\p{L})[^.:;]*? (?:in|en|em|as|w|i|als) ([^\s,.;:]+)/iu

const IONS = /^(?:ions|ionen|iones|ioni|jony|joner)/iu
const ALL = /(?<!\p{L})(?:all|every|alle|tous|toutes|todos|todas|tutti|tutte|wszystkie|alla)(?!\p{L})/iu
const EXCEPT =
  /(?<!\p{L})(?:unless|except|other than|otherwise|soweit|sofern|ausser|außer|tenzij|behalve|sauf|salvo|excepto|eccetto|chyba|oprócz|om inte|utom)(?!\p{L})/iu

/** ‘All values are in mg/L unless stated otherwise’: the only unit of concentration that the lines speak of. */
function unitInProse(
  lines: readonly Row[],
  { units: ofGroups }: GroupUnits,
): Pick<Above, 'unit' | 'isUnitOfAll' | 'isOfIons'> {
  // ‘Trace elements in ug/L’ says nothing of the others
  if (ofGroups.has('trace') && !ofGroups.has('main')) return {}
  const cells = lines.flat()
  const units = cells.flatMap(({ text }) => text.split(/[\s,;:()]+|\.(?=\s|$)/)).filter(isConcentration)
  const cell = cells.find(({ text }) => isConcentration(VALUES.exec(text)?.[1] ?? ''))
  if (cell === undefined || new Set(units.map((unit) => JSON.stringify(readUnit(unit)))).size > 1) return {}
  const [whole, unit] = VALUES.exec(cell.text)!
  const at = cell.text.indexOf(whole) + whole.length - unit!.length
  const isUnitOfAll = ALL.test(cell.text) && !EXCEPT.test(cell.text)
  const isOfIons = IONS.test(whole) && readUnit(unit!)?.kind !== 'mass'
  return { unit: { text: unit!, line: cell.line, column: cell.column + at }, isUnitOfAll, isOfIons }
}

/** Where a unit is said of every figure, with no word of exceptions, a figure in another kind of unit contradicts it. */
export function unlikeUnitOfAll(entries: readonly Entry[], above: Above, words: Vocabulary): readonly Trouble[] {
  const said = above.isUnitOfAll ? above.unit : undefined
  if (said === undefined) return []
  const kind = readUnit(said.text)?.kind
  const isUnlike = (entry: Entry) => {
    const { analyte, unit: inName } = words.analyteOf(entry.analyte.text)
    const unit = entry.unit === undefined ? inName : readUnit(entry.unit.text)
    const isOfConcentration = analyte?.kind === 'form' || analyte?.kind === 'open'
    return isOfConcentration && unit !== undefined && unit.kind !== kind
  }
  const unlike = entries.find(isUnlike)
  if (unlike === undefined) return []
  const cell = unlike.unit ?? unlike.analyte
  const found = `${quoted(cell.text)} where line ${said.line} says that all are in ${said.text}`
  return [troubleAt(cell, found, 'one of the two units', 'Ask the laboratory which it is.')]
}

/** A unit said of the whole report goes for concentrations only, where the name has none; pH and conductivity have their own. */
export function unitForAll(entry: Entry, unit: Cell | undefined, { analyteOf }: Vocabulary): Cell | undefined {
  const { analyte, unit: inName } = analyteOf(entry.analyte.text)
  const kind = inName === undefined ? analyte?.kind : undefined
  return kind === 'ph' || kind === 'conductivity' || kind === 'salts' || kind === undefined ? undefined : unit
}
