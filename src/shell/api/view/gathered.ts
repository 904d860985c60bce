/** What repeats, as one with a count: a cause that lasts a day is not twenty-four things to read. */

import type { Doses, Shot } from '../schema/dose.ts'

/** Refused shots by stock and interlock, latest first. @param shots oldest first */
export function gatherRefusals(shots: readonly Shot[]): Doses['refusals'] {
  const gathered = new Map<string, Doses['refusals'][number]>()
  for (const { stock, atMs, interlocks } of shots) {
    for (const { interlock, text, found } of interlocks) {
      const key = `${stock} ${interlock}`
      const count = (gathered.get(key)?.count ?? 0) + 1
      const told = found === undefined ? {} : { found }
      gathered.set(key, { stock, interlock, rule: text, ...told, count, lastAtMs: atMs })
    }
  }
  return [...gathered.values()].toSorted((one, other) => other.lastAtMs - one.lastAtMs)
}

/** Notes of plans whose words are the same, whatever their figures, latest first and as last said. @param plans oldest first */
export function gatherNotes(plans: readonly Pick<Doses['plans'][number], 'atMs' | 'notes'>[]): Doses['notes'] {
  const gathered = new Map<string, Doses['notes'][number]>()
  for (const { atMs, notes } of plans) {
    for (const text of notes) {
      const key = text.replaceAll(/[−-]?\d+(?:[.,]\d+)*/g, '#')
      const before = gathered.get(key)
      gathered.set(key, { text, count: (before?.count ?? 0) + 1, firstAtMs: before?.firstAtMs ?? atMs, lastAtMs: atMs })
    }
  }
  return [...gathered.values()].toSorted((one, other) => other.lastAtMs - one.lastAtMs)
}
