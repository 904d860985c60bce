import { createHash } from 'node:crypto'
import type { Configuration } from './configuration.ts'

/**
 * A name for a configuration: SHA-256 over its canonical JSON, in hex. The order of keys, comments, and the way a
 * quantity was typed do not change it; any value does.
 */
export function configurationHash({ site, limits, crops, salts }: Configuration): string {
  return createHash('sha256').update(canonicalJson({ site, limits, crops, salts })).digest('hex')
}

/** JSON with keys in code-unit order and absent values left out. */
export function canonicalJson(value: unknown): string {
  if (Array.isArray(value)) return `[${value.map(canonicalJson).join(',')}]`
  if (typeof value !== 'object' || value === null) return JSON.stringify(value) ?? 'null'
  const entries = Object.entries(value).filter(([, inner]) => inner !== undefined)
  const sorted = entries.sort(([a], [b]) => (a < b ? -1 : 1))
  return `{${sorted.map(([key, inner]) => `${JSON.stringify(key)}:${canonicalJson(inner)}`).join(',')}}`
}
