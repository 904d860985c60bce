/** One configuration file as text: YAML 1.2 (JSON is YAML too) read into plain values that still know their places. */

import { type Document, isMap, isNode, isScalar, LineCounter, type Node, parseDocument } from 'yaml'
import type { ConfigurationError } from './configuration-error.ts'

export type Path = readonly PropertyKey[]

export interface Place {
  readonly line: number
  readonly column: number
}

export interface YamlFile {
  readonly name: string
  /** plain values; undefined where the text is no YAML */
  readonly data: unknown
  /** trouble with the text itself: syntax, duplicate keys, an unknown alias */
  readonly errors: readonly ConfigurationError[]
  /** where the value of a path stands; for a missing one, the nearest ancestor that is there */
  readonly placeOf: (path: Path) => Place
  /** where the key of a path stands; the item itself in a list */
  readonly placeOfKey: (path: Path) => Place
  /** the value of a path as a person sees it in the file */
  readonly foundAt: (path: Path) => string
}

/** Reads a text as YAML 1.2 with strict unique keys. Never throws: bad text gives errors and no data. */
export function readYamlFile(name: string, text: string): YamlFile {
  const lineCounter = new LineCounter()
  const document = parseDocument(text, { lineCounter, version: '1.2', uniqueKeys: true, prettyErrors: false })
  const placeAt = (offset: number): Place => {
    const { line, col } = lineCounter.linePos(offset)
    return { line: Math.max(line, 1), column: Math.max(col, 1) }
  }
  const errors = document.errors.map((error) => ({
    file: name,
    ...placeAt(error.pos[0]),
    path: '',
    ...explainSyntax(error.code, error.message),
  }))
  const placeOf = (path: Path): Place => {
    for (let length = path.length; length > 0; length--) {
      const node = nodeAt(document, path.slice(0, length))
      if (node?.range) return length === path.length ? placeAt(node.range[0]) : placeOfKey(path.slice(0, length))
    }
    return { line: 1, column: 1 }
  }
  const placeOfKey = (path: Path): Place => {
    const key = keyAt(document, path)
    return key?.range ? placeAt(key.range[0]) : placeOf(path)
  }
  const foundAt = (path: Path) => describe(document, path)
  return { name, data: errors.length > 0 ? undefined : plain(document), errors, placeOf, placeOfKey, foundAt }
}

/** A document with an alias that grows without bound must not stop the daemon from saying so. */
function plain(document: Document): unknown {
  return document.toJS({ maxAliasCount: 50 })
}

function nodeAt(document: Document, path: Path): Node | undefined {
  const node = path.length === 0 ? document.contents : document.getIn(path as unknown[], true)
  return isNode(node) ? node : undefined
}

function keyAt(document: Document, path: Path): Node | undefined {
  const parent = nodeAt(document, path.slice(0, -1))
  if (!isMap(parent)) return undefined
  const pair = parent.items.find(({ key }) => isScalar(key) && String(key.value) === String(path.at(-1)))
  return isNode(pair?.key) ? pair.key : undefined
}

function describe(document: Document, path: Path): string {
  const node = nodeAt(document, path)
  if (node === undefined) return 'nothing'
  if (isMap(node)) return node.items.length === 0 ? 'an empty map' : 'a map of keys'
  if (!isScalar(node)) return (node as { items?: unknown[] }).items?.length === 0 ? 'an empty list' : 'a list'
  if (node.value === null) return 'nothing'
  return typeof node.value === 'string' ? `'${shorten(node.value)}'` : (node.source ?? String(node.value))
}

function shorten(text: string): string {
  return text.length > 60 ? `${text.slice(0, 57)}…` : text
}

function explainSyntax(code: string, detail: string): Pick<ConfigurationError, 'found' | 'allowed' | 'message'> {
  if (code === 'DUPLICATE_KEY') {
    return { found: 'a key for the second time', allowed: 'each key once', message: 'Remove one of the two.' }
  }
  const found = code === 'TAB_AS_INDENT' ? 'a tab at the start of a line' : 'text that is not YAML'
  const message = code === 'TAB_AS_INDENT' ? 'Indent with spaces.' : `${detail.split('\n')[0]!.replace(/[.:]?$/, '.')}`
  return { found, allowed: 'YAML 1.2', message }
}
