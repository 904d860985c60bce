/** Units that a line above a table tells by groups: ‘All ions in mmol/L, trace elements in umol/L, EC in mS/cm at 25 C’. */

import { elementOf } from '../../chemistry/form.ts'
import type { Analyte } from './analyte.ts'
import { type Cell, type Entry, quoted, type Trouble, troubleAt } from './cell.ts'
import type { Row } from './row.ts'
import { isConcentration, readUnit } from './unit.ts'
import type { Vocabulary } from './vocabulary.ts'

type Group = 'main' | 'trace' | 'conductivity'

export interface GroupUnits {
  readonly units: ReadonlyMap<Group, Cell>
  /** where one group is told in two units */
  readonly troubles: readonly Trouble[]
}

const NAMES: Readonly<Record<Group, string>> = {
  main: 'ions|main elements|major elements|macro-?elements|macronutrients|majors|hoofdelementen|hauptelemente|hauptnährstoffe|ionen|iones|ioni|macro-?éléments|macronutrientes|macroelementos|macroelementi|jony|joner|makroelementy',
  trace:
    'trace elements|traces|trace metals|micro-?elements|micronutrients|minor elements|sporenelementen|spoorelementen|spurenelemente|spurennährstoffe|oligo-?éléments|micronutrientes|microelementos|oligoelementos|microelementi|oligoelementi|mikroelementy|mikroelement|spårämnen|mikronæringsstoffer',
  conductivity:
    'e\\.?c\\.?|conductivity|electrical conductivity|conductance|leitfähigkeit|geleidbaarheid|conductivité|conductividad|conducibilità|condutividade|przewodność|konduktivitet|ledningsevne',
}
const GROUPS = Object.keys(NAMES) as readonly Group[]
/** ‘… (are, is) in’, and the unit with the temperature that goes with it. */
const IN = String.raw`(?: (?:are|is|given|expressed|sind|zijn))* (?:in|en|em|w|i) ((?:[^\s,;()"]+?)(?: (?:at |@ ?|bei |bij |a |à )?25 ?°? ?C)?)(?=[\s,;)"]|\.(?:\s|$)|$)`
const CLAUSES = GROUPS.map((group) => {
  return { group, clause: new RegExp(String.raw`(?<![\p{L}-])(?:${NAMES[group]})${IN}`, 'giu') }
})
/** Unless something is excepted, which no group tells of. */
const EXCEPT =
  /(?<!\p{L})(?:except|other than|otherwise|soweit|sofern|ausser|außer|tenzij|behalve|sauf|salvo|excepto|eccetto|chyba|oprócz|om inte|utom)(?!\p{L})/iu

/**
 * The units of groups among the lines above a table. Those of ions are told here only beside those of trace elements: a
 * sentence about the ions alone speaks of the report as a whole.
 */
export function groupUnitsIn(lines: readonly Row[]): GroupUnits {
  const said = lines.flat().flatMap((cell) => (EXCEPT.test(cell.text) ? [] : clausesIn(cell)))
  const units = new Map<Group, Cell>()
  const troubles: Trouble[] = []
  for (const { group, cell } of said) {
    const first = units.get(group)
    if (first === undefined) units.set(group, cell)
    else if (JSON.stringify(readUnit(first.text)) !== JSON.stringify(readUnit(cell.text))) {
      const found = `${quoted(cell.text)} where line ${first.line} says ${quoted(first.text)} for the same group`
      troubles.push(troubleAt(cell, found, 'one unit for a group', 'Give each figure its own unit.'))
    }
  }
  // ‘phosphorus in mg/L’ beside the groups may except what they hold
  const told = said.filter(({ group }) => group !== 'conductivity').length
  const isMore =
    lines
      .flat()
      .flatMap(({ text }) => text.split(/[\s,;:()"]+|\.(?=\s|$)/))
      .filter(isConcentration).length > told
  if (isMore) units.delete('trace')
  if (!units.has('trace')) units.delete('main')
  return { units, troubles }
}

function clausesIn(cell: Cell): readonly { readonly group: Group; readonly cell: Cell }[] {
  return CLAUSES.flatMap(({ group, clause }) =>
    [...cell.text.matchAll(clause)].flatMap(([whole, unit], at, all) => {
      const kind = readUnit(unit!)?.kind
      const fits = group === 'conductivity' ? kind === 'conductivity' : isConcentration(unit!)
      const column = cell.column + all[at]!.index + whole.length - unit!.length
      return fits ? [{ group, cell: { text: unit!, line: cell.line, column } }] : []
    }),
  )
}

const TRACES: readonly string[] = ['Fe', 'Mn', 'Zn', 'B', 'Cu', 'Mo']

/** The unit of the group that an entry belongs to, where its name has none. */
export function unitOfGroup(entry: Entry, { units }: GroupUnits, { analyteOf }: Vocabulary): Cell | undefined {
  const { analyte, unit: inName } = analyteOf(entry.analyte.text)
  const group = inName === undefined ? groupOf(analyte) : undefined
  return group === undefined ? undefined : units.get(group)
}

/** Is it a figure of a trace element? */
export function isTrace(entry: Entry, { analyteOf }: Vocabulary): boolean {
  return groupOf(analyteOf(entry.analyte.text).analyte) === 'trace'
}

function groupOf(analyte: Analyte | undefined): Group | undefined {
  if (analyte === undefined) return undefined
  if (analyte.kind === 'conductivity') return 'conductivity'
  if (analyte.kind === 'alkalinity' || analyte.kind === 'carbonate') return 'main'
  if (analyte.kind !== 'form' && analyte.kind !== 'open') return undefined
  const element = analyte.kind === 'form' ? elementOf(analyte.form) : analyte.element
  return TRACES.includes(element) ? 'trace' : 'main'
}
