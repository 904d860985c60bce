/**
 * JSON reports: one sample, a list of samples, or `{ samples: [...] }`; a sample’s figures stand under `values` as
 * `{ "NO3-N": 145 }` or `[{ analyte, value, unit }]`, or beside its label. A list of rows works as the long layout does.
 */

import { isMap, isScalar, isSeq, LineCounter, type Node, type Pair, parseDocument, type YAMLMap } from 'yaml'
import { unitForAll } from './above.ts'
import { type Cell, type Entry, quoted, type Trouble, troubleAt } from './cell.ts'
import { headingText } from './column.ts'
import type { ColumnRole } from './headings.ts'
import { isConcentration } from './unit.ts'
import type { Vocabulary } from './vocabulary.ts'
import { wordsOf } from './word-list.ts'

export interface JsonEntries {
  readonly entries: readonly Entry[]
  readonly troubles: readonly Trouble[]
}

/** What is said once for several statements. */
type Common = Pick<Entry, 'sample' | 'sampledAt'> & {
  readonly generalUnit?: Cell | undefined
  /** in an object of their own, by the names of the analytes */
  readonly units?: ReadonlyMap<string, Cell> | undefined
}

const CONTAINERS = wordsOf(
  'values, results, analytes, measurements, parameters, data, determinations, determinands, readings, components, rows, items, records, determinaciones, parametros, resultados, resultats, ergebnisse, messwerte, uitslagen, risultati, wyniki',
)

/** The statements of a JSON text, each with its place. */
export function jsonEntries(text: string, words: Vocabulary): JsonEntries {
  const lines = new LineCounter()
  const document = parseDocument(text, { lineCounter: lines, prettyErrors: false, uniqueKeys: true })
  const cellAt = (offset: number, content: string): Cell => {
    const { line, col } = lines.linePos(offset)
    return { text: content, line: Math.max(line, 1), column: Math.max(col, 1) }
  }
  const problem = document.errors[0]
  if (problem !== undefined) {
    const found = problem.code === 'DUPLICATE_KEY' ? 'a key for the second time' : 'text that is not JSON'
    const message = problem.code === 'DUPLICATE_KEY' ? 'Remove one of the two.' : 'Save it again, or send it as CSV.'
    return { entries: [], troubles: [troubleAt(cellAt(problem.pos[0], ''), found, 'JSON', message)] }
  }
  const reader = new JsonReader(cellAt, words)
  reader.readTop(document.contents)
  return { entries: reader.entries, troubles: reader.troubles }
}

/** Walks the document and gathers; lives for one text only. */
class JsonReader {
  readonly entries: Entry[] = []
  readonly troubles: Trouble[] = []
  readonly #cellAt: (offset: number, content: string) => Cell
  readonly #words: Vocabulary

  constructor(cellAt: (offset: number, content: string) => Cell, words: Vocabulary) {
    this.#cellAt = cellAt
    this.#words = words
  }

  readTop(node: unknown): void {
    const only = isMap(node) && node.items.length === 1 ? node.items[0]!.value : undefined
    // a report within an object of its own
    if (isMap(only) && this.#roleOf((node as YAMLMap).items[0]!) === 'aside') return this.readTop(only)
    const samples = isMap(node) ? node.get('samples', true) : undefined
    if (samples !== undefined)
      this.#readList(samples as Node, this.#commonOf(node as YAMLMap, this.#headOf(node as YAMLMap)))
    else this.#readList(node as Node, {})
  }

  /** `"report": { "units": { … } }` beside the samples: units said in the head of the report. */
  #headOf(map: YAMLMap): Common {
    const heads = map.items.filter((pair) => this.#roleOf(pair) === 'aside').map(({ value }) => value)
    const units = heads.flatMap((head) => (isMap(head) ? [this.#unitsOf(head)] : []))
    return { units: units.find((one) => one !== undefined) }
  }

  #readList(node: Node, common: Common): void {
    for (const item of isSeq(node) ? node.items : [node]) {
      if (!isMap(item)) this.#refuse(item as Node, 'a sample or a row as an object')
      else if (this.#cellOfRow(item, 'analyte') !== undefined) this.#readRow(item, common)
      else if (this.#cellOfRow(item, 'value') !== undefined) this.#readRow(item, common, this.#nameIn(item))
      else this.#readSample(item, this.#commonOf(item, common))
    }
  }

  /** What a sample says of itself, beside its figures or in an object `sample` of its own. */
  #commonOf(map: YAMLMap, outer: Common): Common {
    const bottle = map.items.find((pair) => this.#roleOf(pair) === 'sample' && isMap(pair.value))?.value
    const inner = isMap(bottle) ? this.#bottleOf(bottle) : {}
    return {
      sample: this.#cellOfRole(map, 'sample') ?? inner.sample ?? outer.sample,
      sampledAt: this.#cellOfRole(map, 'sampled') ?? inner.sampledAt ?? outer.sampledAt,
      generalUnit: this.#cellOfRole(map, 'unit') ?? outer.generalUnit,
      units: this.#unitsOf(map) ?? outer.units,
    }
  }

  /** `"units": { "NO3": "mg/L" }`. */
  #unitsOf(map: YAMLMap): ReadonlyMap<string, Cell> | undefined {
    const units = map.items.find((pair) => this.#roleOf(pair) === 'unit' && isMap(pair.value))?.value
    if (!isMap(units)) return undefined
    return new Map(units.items.map((pair) => [nameKey(keyText(pair)), this.#cellOf(pair.value as Node)]))
  }

  #bottleOf(bottle: YAMLMap): Pick<Common, 'sample' | 'sampledAt'> {
    for (const pair of bottle.items.filter((one) => this.#roleOf(one) === undefined && !isName(one))) {
      this.#refuse(pair.key as Node, 'id, label, sampledAt, receivedAt; figures stand under values')
    }
    return { sample: this.#cellOfRole(bottle, 'sample'), sampledAt: this.#cellOfRole(bottle, 'sampled') }
  }

  #cellOfRole(map: YAMLMap, role: ColumnRole): Cell | undefined {
    const fits = (pair: Pair) => this.#roleOf(pair) === role || (role === 'sample' && isName(pair))
    const pair = map.items.find((one) => fits(one) && isScalar(one.value))
    return pair === undefined ? undefined : this.#cellOf(pair.value as Node)
  }

  #readSample(map: YAMLMap, common: Common): void {
    for (const pair of map.items) {
      const name = keyText(pair)
      if (CONTAINERS.includes(name.toLowerCase())) this.#readValues(pair.value as Node, common)
      else if (this.#roleOf(pair) === undefined && !isName(pair)) this.#readPair(pair, common)
    }
  }

  #readValues(node: Node, common: Common): void {
    if (isMap(node)) for (const pair of node.items) this.#readPair(pair, common)
    else if (isSeq(node)) this.#readList(node, common)
    else this.#refuse(node, 'values as an object or a list of rows')
  }

  /** `"K": 200` or `"K": { "value": 200, "unit": "mg/L" }`. */
  #readPair(pair: Pair, common: Common): void {
    const analyte = this.#cellOf(pair.key as Node)
    if (isScalar(pair.value)) this.#add(common, { analyte, value: this.#cellOf(pair.value) })
    else if (isSeq(pair.value) && pair.value.items.every((item) => isMap(item))) this.#readList(pair.value, common)
    else if (isMap(pair.value) && (isGroup(pair.value) || this.#isOfFigures(pair, pair.value)))
      this.#readValues(pair.value, common)
    else if (isMap(pair.value)) this.#readRow(pair.value, common, analyte)
    else this.#refuse((pair.value ?? pair.key) as Node, 'a number, a text, or an object with value and unit')
  }

  /** `"general": { "pH": 6.3, "EC": 2.71 }`: a group of results by its name, every key of it an analyte and none a part of a row. */
  #isOfFigures(group: Pair, map: YAMLMap): boolean {
    const isNamed = (pair: Pair) => this.#words.analyteOf(keyText(pair)).analyte !== undefined
    const isOfResults = GROUPS.includes(headingText(keyText(group)))
    return isOfResults && map.items.every((pair) => isNamed(pair) && this.#roleOf(pair) === undefined)
  }

  #readRow(map: YAMLMap, outer: Common, named?: Cell): void {
    const sample = this.#cellOfRow(map, 'sample') ?? outer.sample
    const sampledAt = this.#cellOfRow(map, 'sampled') ?? outer.sampledAt
    const cell = (role: ColumnRole) => this.#cellOfRow(map, role)
    const isAnalyte = (pair: Pair) => named !== undefined && keyText(pair).toLowerCase() === 'name'
    const isKnown = (pair: Pair) => this.#roleOf(pair) !== undefined || isTemperature(pair) || isAnalyte(pair)
    for (const pair of map.items.filter((one) => !isKnown(one))) {
      this.#refuse(pair.key as Node, 'analyte, value, unit, form, sample, sampledAt, detection limit, method, comment')
    }
    const analyte = named ?? cell('analyte')
    const value = cell('value')
    if (analyte === undefined || value === undefined) this.#refuse(map, 'an object with analyte and value')
    else {
      const own = {
        analyte: this.#atTemperature(map, analyte),
        value,
        form: cell('form') ?? cell('symbol'),
        isSymbol: cell('form') === undefined && cell('symbol') !== undefined,
        unit: cell('unit'),
        limit: cell('limit'),
        qualifier: cell('qualifier'),
      }
      this.#add({ ...outer, sample, sampledAt }, own)
    }
  }

  /** `"EC": { "value": 1.71, "at": "25 C" }` is ‘EC at 25 C’. */
  #atTemperature(map: YAMLMap, analyte: Cell): Cell {
    const said = map.items.find(isTemperature)
    return said === undefined
      ? analyte
      : { ...analyte, text: `${analyte.text} at ${this.#cellOf(said.value as Node).text}` }
  }

  /** `{ "name": "Nitrate-N", "value": 150 }`: what a row with one value is called is its analyte. */
  #nameIn(map: YAMLMap): Cell | undefined {
    const pair = map.items.find((one) => keyText(one).toLowerCase() === 'name' && isScalar(one.value))
    return pair === undefined ? undefined : this.#cellOf(pair.value as Node)
  }

  /** In a row `id` is the row’s own number and names no sample. */
  #cellOfRow(map: YAMLMap, role: ColumnRole): Cell | undefined {
    const pair = map.items.find((one) => this.#roleOf(one) === role)
    return pair !== undefined && isScalar(pair.value) ? this.#cellOf(pair.value) : undefined
  }

  #add({ sample, sampledAt, generalUnit, units }: Common, own: Entry): void {
    const named = own.unit ?? units?.get(nameKey(own.analyte.text)) ?? this.#unitOfKind(own, units)
    this.entries.push({ sample, sampledAt, ...own, unit: named ?? unitForAll(own, generalUnit, this.#words) })
  }

  /** `"units": { "concentration": "mg/L", "conductivity": "mS/cm" }`: a unit for all figures of a kind. */
  #unitOfKind(own: Entry, units: Common['units']): Cell | undefined {
    const { analyte, unit: inName } = this.#words.analyteOf(own.analyte.text)
    if (analyte === undefined || inName !== undefined) return undefined
    const ofKind = [...(units ?? [])].find(([name]) => {
      const said = this.#words.analyteOf(name).analyte
      return said !== undefined && said.kind === analyte.kind && OF_ONE_KIND.includes(said.kind)
    })
    const isOpenAlkalinity = analyte.kind !== 'alkalinity' || analyte.form === undefined
    if (ofKind !== undefined && isOpenAlkalinity) return ofKind[1]
    const isElement = analyte.kind === 'form' || analyte.kind === 'open' || analyte.kind === 'carbonate'
    const all = [...(units ?? [])].filter(([name]) => CONCENTRATIONS.includes(name))
    // ‘trace’ or whatever else has a unit of its own may be meant for this one
    const isElsewhere = ([name, { text }]: readonly [string, Cell]) =>
      this.#words.analyteOf(name).analyte === undefined && !CONCENTRATIONS.includes(name) && isConcentration(text)
    const concentration = all.length === 1 && ![...units!].some(isElsewhere) ? all[0]![1] : undefined
    return isElement || analyte.kind === 'alkalinity' ? concentration : undefined
  }

  /** 'sampledAt' and 'sampled_at' are both ‘sampled at’. */
  #roleOf(pair: Pair): ColumnRole | undefined {
    const name = keyText(pair)
    return this.#words.roleOf(name) ?? this.#words.roleOf(name.replaceAll(/(?<=[a-z])(?=[A-Z])/g, ' '))
  }

  #refuse(node: Node, allowed: string): void {
    const cell = this.#cellOf(node)
    this.troubles.push(troubleAt(cell, cell.text === '' ? 'something else' : quoted(cell.text), allowed, 'Correct it.'))
  }

  #cellOf(node: Node): Cell {
    const content = isScalar(node) ? String(node.value ?? '') : ''
    return this.#cellAt(node?.range?.[0] ?? 0, content)
  }
}

/** A group of any other name, as ‘max’, may hold what results are compared with. */
const GROUPS = wordsOf(
  'general, basic, basics, ions, cations, anions, main, main elements, major, majors, macro, macros, macronutrients, micro, micros, micronutrients, trace, traces, trace elements, nutrients, elements, metals, physical, chemical, chemistry, physicochemical, field, in situ, on site, allgemein, hauptelemente, spurenelemente, kationen, anionen, cationes, aniones, cationi, anioni, hoofdelementen, sporenelementen',
)

/** Kinds of which a report has one figure. */
const OF_ONE_KIND: readonly string[] = ['conductivity', 'alkalinity']
const CONCENTRATIONS = wordsOf('concentration, concentrations, ions, elements, analytes, all, default')

function nameKey(name: string): string {
  return name.trim().toLowerCase()
}

/** `id`, `name` and the like are too common to head a column, but of a sample they are its label. */
function isName(pair: Pair): boolean {
  return ['id', 'name', 'ref', 'reference', 'referencia', 'nombre', 'nom', 'bezeichnung'].includes(
    keyText(pair).toLowerCase(),
  )
}

/** `"cations": { "K": { … }, "Ca": { … } }`. */
function isGroup(map: YAMLMap): boolean {
  return map.items.length > 0 && map.items.every((pair) => isMap(pair.value))
}

function isTemperature(pair: Pair): boolean {
  return ['at', 'temperature', 'referencetemperature'].includes(keyText(pair).toLowerCase()) && isScalar(pair.value)
}

function keyText(pair: Pair): string {
  return isScalar(pair.key) ? String(pair.key.value) : ''
}
