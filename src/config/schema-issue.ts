/** What a schema complains of, told to a person: the schema’s own words with the place in the file. */

import type { z } from 'zod'
import type { ConfigurationError } from './configuration-error.ts'
import type { Path, YamlFile } from './yaml-file.ts'

type Issue = z.core.$ZodIssue
type Schema = z.core.$ZodType

/** One issue as errors; an issue about several unknown keys becomes one error for each. */
export function explainIssue(issue: Issue, file: YamlFile, schema: Schema): ConfigurationError[] {
  if (issue.code === 'unrecognized_keys') {
    return issue.keys.map((key) => unknownKey([...issue.path, key], file, schema))
  }
  const found = file.foundAt(issue.path)
  const allowed = allowedBy(issue)
  const meaning = meaningOf(schema, issue.path)
  const place = file.placeOf(issue.path)
  return [{ file: file.name, ...place, path: joined(issue.path), found, allowed, message: advice(found, meaning) }]
}

/** Keys joined by dots. */
export function joined(path: Path): string {
  return path.map(String).join('.')
}

function advice(found: string, meaning: string | undefined): string {
  const verb = found === 'nothing' ? 'Add it' : 'Correct it'
  return meaning === undefined ? `${verb}.` : `${verb}: ${meaning}.`
}

function allowedBy(issue: Issue): string {
  if (issue.code === 'invalid_union')
    return `one of ${(issue as { options?: unknown[] }).options?.join(', ') ?? 'several'}`
  if (issue.code === 'invalid_key') return issue.issues[0]?.message ?? issue.message
  if (issue.code !== 'invalid_type') return issue.message
  if (issue.expected === 'object' || issue.expected === 'record') return 'a map of keys'
  return issue.expected === 'array' ? 'a list' : issue.message
}

function unknownKey(path: Path, file: YamlFile, schema: Schema): ConfigurationError {
  const known = keysOf(schema, path.slice(0, -1))
  const key = String(path.at(-1))
  const near = nearest(key, known)
  const message = near === undefined ? 'Remove it.' : `Perhaps ${near} is meant; otherwise remove it.`
  const allowed = known.length === 0 ? 'no such key' : `only ${known.join(', ')}`
  return { file: file.name, ...file.placeOfKey(path), path: joined(path), found: 'an unknown key', allowed, message }
}

/** The description of the value at a path, or undefined. */
export function meaningOf(schema: Schema, path: Path): string | undefined {
  const at = schemasAt(schema, path)
  for (const candidate of at) {
    const description = descriptionOf(candidate)
    if (description !== undefined) return description
  }
  return undefined
}

/** A number’s own schema at a path; undefined where there is none. */
function numberSchemaAt(schema: Schema, path: Path): z.ZodNumber | undefined {
  const numbers = schemasAt(schema, path).flatMap((candidate) => flat(candidate))
  return numbers.find((candidate) => candidate._zod.def.type === 'number') as z.ZodNumber | undefined
}

/** The least and the most that the number at a path may be; undefined where there is no number with both. */
export function boundsOf(schema: Schema, path: Path): { readonly min: number; readonly max: number } | undefined {
  const { minValue, maxValue } = numberSchemaAt(schema, path) ?? {}
  return typeof minValue === 'number' && typeof maxValue === 'number' ? { min: minValue, max: maxValue } : undefined
}

/** The unit of the number at a path, as the words for what is allowed have it; '' where they name none. */
export function unitOf(schema: Schema, path: Path): string {
  const issue = numberSchemaAt(schema, path)?.safeParse(Number.NaN).error?.issues[0]
  return issue?.message.match(/^\S+ to \S+ (.+)$/)?.[1] ?? ''
}

function keysOf(schema: Schema, path: Path): string[] {
  const shapes = schemasAt(schema, path).flatMap((candidate) => flat(candidate))
  return [...new Set(shapes.flatMap((one) => (one._zod.def.type === 'object' ? Object.keys(shapeOf(one)) : [])))]
}

/** A union may hold several schemas at one path; wrappers are looked through. */
function schemasAt(schema: Schema, path: Path): Schema[] {
  let here: Schema[] = [schema]
  for (const key of path) here = here.flatMap((candidate) => flat(candidate)).flatMap((one) => childOf(one, key))
  return here
}

function childOf(schema: Schema, key: PropertyKey): Schema[] {
  const def = schema._zod.def as { type: string; element?: Schema; valueType?: Schema }
  if (def.type === 'object') {
    const child = shapeOf(schema)[String(key)]
    return child === undefined ? [] : [child]
  }
  if (def.type === 'array') return [def.element!]
  return def.type === 'record' ? [def.valueType!] : []
}

function flat(schema: Schema): Schema[] {
  const def = schema._zod.def as { type: string; innerType?: Schema; out?: Schema; options?: Schema[] }
  if (def.innerType !== undefined) return flat(def.innerType)
  if (def.type === 'pipe') return flat(def.out!)
  return def.type === 'union' ? def.options!.flatMap((option) => flat(option)) : [schema]
}

function descriptionOf(schema: Schema): string | undefined {
  const own = (schema as z.ZodType).meta?.()?.description
  if (own !== undefined) return own
  const inner = (schema._zod.def as { innerType?: Schema }).innerType
  return inner === undefined ? undefined : descriptionOf(inner)
}

function shapeOf(schema: Schema): Record<string, Schema> {
  return (schema._zod.def as unknown as { shape: Record<string, Schema> }).shape
}

/** The known key that differs by the least, when that is little: at most a third of its letters. */
function nearest(key: string, known: readonly string[]): string | undefined {
  const ranked = known.map((name) => ({ name, distance: editDistance(key.toLowerCase(), name.toLowerCase()) }))
  const best = ranked.sort((a, b) => a.distance - b.distance)[0]
  return best !== undefined && best.distance <= Math.max(1, best.name.length / 3) ? best.name : undefined
}

/** Levenshtein distance by rows. */
function editDistance(a: string, b: string): number {
  let row = Array.from({ length: b.length + 1 }, (_, at) => at)
  for (let i = 1; i <= a.length; i++) {
    const next = [i]
    for (let j = 1; j <= b.length; j++) {
      next.push(Math.min(row[j]! + 1, next[j - 1]! + 1, row[j - 1]! + (a[i - 1] === b[j - 1] ? 0 : 1)))
    }
    row = next
  }
  return row[b.length]!
}
