/** Ceilings: how far a limit may be loosened while the daemon runs, by the path of the limit. */

import type { ConfigurationError } from './configuration-error.ts'
import { isWithin, limitsInFile } from './limit-path.ts'
import type { LimitsFile } from './limits-schema.ts'
import { limitsSchema } from './limits-schema.ts'
import { faultAt, faultAtKey, type Looks, valueAt } from './look.ts'
import { boundsOf } from './schema-issue.ts'

/** A ceiling stands for a limit of the file, is looser than it, and within what its schema allows at all. */
export function checkCeilings({ limits }: Looks): ConfigurationError[] {
  const ceilings = valueAt(limits, 'ceilings')
  if (typeof ceilings !== 'object' || ceilings === null) return []
  const there = limitsInFile(limits.view as LimitsFile)
  return Object.entries(ceilings).flatMap(([path, ceiling]) => {
    const limit = there.find((candidate) => candidate.path === path)
    if (limit === undefined) {
      const message = 'A ceiling needs its limit beside it; name it by its keys joined with dots.'
      const allowed = 'the path of a limit in this file, such as stocks.acid.shotMaxMl'
      return [faultAtKey(limits, ['ceilings', path], { found: 'no such limit', allowed, message })]
    }
    if (typeof ceiling !== 'number') return []
    const place = ['ceilings', path]
    if (limit.looser === 'fact') {
      const message = 'It says what is there, so only this file changes it. Remove the ceiling.'
      return [faultAt(limits, place, { allowed: 'no ceiling for it', message })]
    }
    if (!isWithin(limit.looser, limit.value, ceiling)) {
      const way = limit.looser === 'higher' ? 'at least' : 'at most'
      const message = 'A ceiling says how far the limit may be loosened, so it cannot be tighter than the limit.'
      return [faultAt(limits, place, { allowed: `${way} the limit itself, which is ${limit.value}`, message })]
    }
    const bounds = boundsOf(limitsSchema, limit.at)
    if (bounds !== undefined && ceiling >= bounds.min && ceiling <= bounds.max) return []
    const allowed = bounds === undefined ? 'a number' : `${bounds.min} to ${bounds.max}`
    return [faultAt(limits, place, { allowed, message: 'No file may allow more than that.' })]
  })
}
