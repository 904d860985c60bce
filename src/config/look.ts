/**
 * A lenient look into a file for the checks that reach over several places: it sees what is there even where the
 * schema has complained elsewhere, so that one run tells everything.
 */

import type { ConfigurationError } from './configuration-error.ts'
import { joined } from './schema-issue.ts'
import type { Path, YamlFile } from './yaml-file.ts'

export interface Look {
  readonly file: YamlFile
  /** the parsed value where the schema passed, else the raw one */
  readonly view: unknown
}

export interface Looks {
  readonly site: Look
  readonly limits: Look
  readonly crops: Look
  readonly salts: Look
}

/** One item of a list or map that is itself a map. */
export interface Item {
  /** its key in a map, or its `id` in a list */
  readonly name: string
  readonly fields: Fields
  readonly path: Path
}

/** Values as they stand in the file, of any type; the keys that checks ask for are named. */
export type Fields = Readonly<Record<string, unknown>> &
  Readonly<Partial<Record<'id' | 'node' | 'pump' | 'kind' | 'role' | 'unit' | 'crop' | 'salt' | 'from', unknown>>> &
  Readonly<Partial<Record<'formula' | 'label' | 'purityPercent', unknown>>>

/** The value at a path, or undefined. */
export function valueAt(look: Look, ...path: PropertyKey[]): unknown {
  let here = look.view
  for (const key of path) {
    if (typeof here !== 'object' || here === null || !Object.hasOwn(here, key)) return undefined
    here = (here as Record<PropertyKey, unknown>)[key]
  }
  return here
}

/** The finite number at a path; undefined for anything else, which is the schema’s to say. */
export function numberAt(look: Look, ...path: PropertyKey[]): number | undefined {
  const value = valueAt(look, ...path)
  return typeof value === 'number' && Number.isFinite(value) ? value : undefined
}

/** The text at a path; undefined for anything else, which is the schema’s to say. */
export function textAt(look: Look, ...path: PropertyKey[]): string | undefined {
  const value = valueAt(look, ...path)
  return typeof value === 'string' ? value : undefined
}

/** The maps in a list or map; whatever is no map is left to the schema. */
export function itemsAt(look: Look, ...path: PropertyKey[]): Item[] {
  const value = valueAt(look, ...path)
  if (typeof value !== 'object' || value === null) return []
  const pairs = Array.isArray(value) ? [...value.entries()] : Object.entries(value)
  return pairs.flatMap(([key, fields]) => {
    if (typeof fields !== 'object' || fields === null) return []
    const { id } = fields as Fields
    const name = typeof key === 'string' ? key : typeof id === 'string' ? id : undefined
    return name === undefined && !Array.isArray(value)
      ? []
      : [{ name: name ?? '', fields: fields as Fields, path: [...path, key] }]
  })
}

/** The names of the maps in a list or map, or undefined where there is no such list: then nothing can be compared. */
export function namesAt(look: Look, ...path: PropertyKey[]): ReadonlySet<string> | undefined {
  const value = valueAt(look, ...path)
  if (typeof value !== 'object' || value === null) return undefined
  return new Set(Array.isArray(value) ? itemsAt(look, ...path).map(({ name }) => name) : Object.keys(value))
}

export interface Fault {
  /** as the file has it, unless said otherwise */
  readonly found?: string
  readonly allowed: string
  readonly message: string
}

/** An error at the value of a path. */
export function faultAt(look: Look, path: Path, fault: Fault): ConfigurationError {
  const found = fault.found ?? look.file.foundAt(path)
  return { file: look.file.name, ...look.file.placeOf(path), path: joined(path), ...fault, found }
}

/** An error at the key of a path. */
export function faultAtKey(look: Look, path: Path, fault: Fault): ConfigurationError {
  return { ...faultAt(look, path, fault), ...look.file.placeOfKey(path) }
}

/** An error for each pair of values that is out of order; equal ones are out of order too unless allowed. */
export function outOfOrder(look: Look, low: Path, high: Path, mayEqual = false): ConfigurationError[] {
  const [least, most] = [numberAt(look, ...low), numberAt(look, ...high)]
  if (least === undefined || most === undefined) return []
  if (mayEqual ? least <= most : least < most) return []
  const allowed = `${mayEqual ? 'at least' : 'more than'} ${joined(low)}, which is ${least}`
  return [faultAt(look, high, { allowed, message: `Raise ${String(high.at(-1))} or lower ${String(low.at(-1))}.` })]
}

/** ids that stand more than once in a list. */
export function duplicates(look: Look, ...path: PropertyKey[]): ConfigurationError[] {
  const seen = new Set<string>()
  return itemsAt(look, ...path).flatMap((item) => {
    if (item.name === '' || !seen.has(item.name)) {
      seen.add(item.name)
      return []
    }
    const allowed = `each id once in ${joined(path)}`
    return [faultAt(look, [...item.path, 'id'], { allowed, message: 'Give this one another id.' })]
  })
}

/** A list for a message: 'a, b and c', or 'none'. */
export function listed(names: Iterable<string>): string {
  const all = [...names].sort()
  return all.length === 0 ? 'none' : all.length === 1 ? all[0]! : `${all.slice(0, -1).join(', ')} or ${all.at(-1)}`
}
