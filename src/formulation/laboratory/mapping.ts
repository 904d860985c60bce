/**
 * A mapping file for a laboratory with words of its own, in YAML:
 *
 *   headings:                       # what columns, and lines above the table, are for
 *     Bottle ref: sample
 *     Outcome: value
 *   analytes:                       # what names mean; a name may bring its form and unit
 *     Salpetre: { analyte: Nitrate, form: NO3, unit: mg/L }
 *     K-tot: K2O
 *     Vigour index: ignore
 *
 * A name on the left is the whole text of the cell; upper and lower case, accents and blanks do not matter. What the
 * file says goes before what is understood without it. A unit in the report must agree with the one said here.
 */

import { isMap, isScalar, LineCounter, type Node, type Pair, parseDocument, type YAMLMap } from 'yaml'
import { ANALYTES_SHOWN, type AnalyteReading, readAnalyte, withoutAccents, withStatedForm } from './analyte.ts'
import { type Cell, quoted, type Trouble, troubleAt } from './cell.ts'
import { isColumnRole, ROLES_SHOWN } from './column.ts'
import type { ColumnRole } from './headings.ts'
import type { ReportError } from './report.ts'
import { readUnit, UNITS_SHOWN } from './unit.ts'
import { COMMON_VOCABULARY, type Vocabulary } from './vocabulary.ts'

export type MappingReading =
  | { readonly ok: true; readonly words: Vocabulary }
  | { readonly ok: false; readonly errors: readonly ReportError[] }

/**
 * The words of a mapping file, for the fourth argument of readLaboratoryReport.
 *
 * @param name the file’s name, for messages
 * @returns the vocabulary; or every mistake with its place: unknown keys, roles, analytes, forms and units, a name twice
 */
export function readMapping(name: string, text: string): MappingReading {
  const reader = new MappingReader(text)
  reader.read()
  if (reader.troubles.length > 0) {
    return { ok: false, errors: reader.troubles.map((trouble) => ({ file: name, ...trouble })) }
  }
  const { roles, analytes } = reader
  const roleOf = (heading: string) => {
    const key = keyOf(heading.replace(/:$/, ''))
    return roles.get(key) ?? (analytes.has(key) ? undefined : COMMON_VOCABULARY.roleOf(heading))
  }
  return {
    ok: true,
    words: { roleOf, analyteOf: (said) => analytes.get(keyOf(said)) ?? COMMON_VOCABULARY.analyteOf(said) },
  }
}

const SECTIONS = 'headings, analytes'
const FIELDS = ['analyte', 'form', 'unit']
const LEFT_ASIDE: AnalyteReading = { analyte: { kind: 'untracked', why: 'left aside by the mapping file' } }

function keyOf(text: string): string {
  return withoutAccents(text).toLowerCase().replaceAll(/\s+/g, ' ').trim()
}

/** Walks the file once and gathers; lives for one text only. */
class MappingReader {
  readonly roles = new Map<string, ColumnRole>()
  readonly analytes = new Map<string, AnalyteReading>()
  readonly troubles: Trouble[] = []
  readonly #text: string
  readonly #lines = new LineCounter()

  constructor(text: string) {
    this.#text = text
  }

  read(): void {
    const document = parseDocument(this.#text, { lineCounter: this.#lines, prettyErrors: false })
    const problem = document.errors[0]
    if (problem !== undefined) {
      const isTwice = problem.code === 'DUPLICATE_KEY'
      const found = isTwice ? 'a name for the second time' : 'text that is not YAML'
      const message = isTwice ? 'Remove one of the two.' : 'Quote names that hold a colon, and indent by blanks.'
      this.troubles.push(troubleAt(this.#cellAt(problem.pos[0], ''), found, 'YAML', message))
    } else if (isMap(document.contents) && document.contents.items.length > 0) {
      for (const pair of document.contents.items) this.#readSection(pair)
    } else this.#refuse(document.contents, 'no mapping', SECTIONS, 'Write what the headings and names mean.')
  }

  #readSection({ key, value }: Pair): void {
    const section = textOf(key)
    if (section !== 'headings' && section !== 'analytes') {
      this.#refuse(key, quoted(section), SECTIONS, 'Move it below one of these.')
    } else if (!isMap(value)) this.#refuse(key, `${section} without names`, 'name: meaning, one a line', 'Add them.')
    else for (const pair of value.items) this.#readName(section, pair)
  }

  #readName(section: 'headings' | 'analytes', { key, value }: Pair): void {
    const name = keyOf(textOf(key))
    if (this.roles.has(name) || this.analytes.has(name)) {
      this.#refuse(key, `${quoted(textOf(key))} for the second time`, 'a name once', 'Remove one of the two.')
    } else if (section === 'headings') this.#readRole(name, value)
    else {
      const reading = isMap(value) ? this.#readFields(value) : this.#readShort(value)
      if (reading !== undefined) this.analytes.set(name, reading)
    }
  }

  #readRole(name: string, value: unknown): void {
    const role = textOf(value)
    if (isColumnRole(role)) this.roles.set(name, role)
    else this.#refuse(value, `the role ${quoted(role)}`, ROLES_SHOWN, 'Choose one; aside is for what is of no use.')
  }

  #readShort(value: unknown): AnalyteReading | undefined {
    return textOf(value) === 'ignore' ? LEFT_ASIDE : this.#readAnalyte(value)
  }

  #readAnalyte(value: unknown): AnalyteReading | undefined {
    const reading = readAnalyte(textOf(value))
    if (reading.analyte !== undefined) return reading
    this.#refuse(value, `an unknown analyte ${quoted(textOf(value))}`, `${ANALYTES_SHOWN}, or ignore`, 'Correct it.')
    return undefined
  }

  #readFields(map: YAMLMap): AnalyteReading | undefined {
    for (const { key } of map.items.filter((pair) => !FIELDS.includes(textOf(pair.key)))) {
      this.#refuse(key, quoted(textOf(key)), FIELDS.join(', '), 'Correct it.')
    }
    const analyte = map.get('analyte', true)
    if (analyte === undefined) {
      this.#refuse(map, 'no analyte', `analyte: one of ${ANALYTES_SHOWN}`, 'Say which it is.')
      return undefined
    }
    const named = this.#readAnalyte(analyte)
    return named === undefined ? undefined : this.#withUnit(map, this.#withForm(map, named))
  }

  #withForm(map: YAMLMap, named: AnalyteReading): AnalyteReading {
    const form = map.get('form', true)
    const reading = form === undefined ? named : withStatedForm(named, textOf(form))
    if (reading !== undefined) return reading
    const allowed = `a form of ${textOf(map.get('analyte', true))}, as NO3-N, P2O5, CaCO3`
    this.#refuse(form, `the form ${quoted(textOf(form))}`, allowed, 'Correct the form or the analyte.')
    return named
  }

  #withUnit(map: YAMLMap, named: AnalyteReading): AnalyteReading {
    const said = map.get('unit', true)
    if (said === undefined) return named
    const unit = readUnit(textOf(said))
    if (unit !== undefined) return { ...named, unit }
    this.#refuse(said, `an unknown unit ${quoted(textOf(said))}`, UNITS_SHOWN, 'Correct the unit.')
    return named
  }

  #refuse(node: unknown, found: string, allowed: string, message: string): void {
    const offset = (node as Node | null | undefined)?.range?.[0] ?? 0
    this.troubles.push(troubleAt(this.#cellAt(offset, ''), found, allowed, message))
  }

  #cellAt(offset: number, text: string): Cell {
    const { line, col } = this.#lines.linePos(offset)
    return { text, line: Math.max(line, 1), column: Math.max(col, 1) }
  }
}

function textOf(node: unknown): string {
  return isScalar(node) ? String(node.value ?? '').trim() : ''
}
