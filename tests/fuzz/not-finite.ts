/** Paths of the core’s numbers that are none. */
export function notFinite(value: unknown, path: string): string[] {
  if (typeof value === 'number') return Number.isFinite(value) ? [] : [path]
  if (value instanceof Float64Array) return value.every(Number.isFinite) ? [] : [path]
  if (typeof value !== 'object' || value === null) return []
  return Object.entries(value).flatMap(([key, inner]) => notFinite(inner, `${path}.${key}`))
}
