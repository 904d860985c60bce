/** Flags beside a figure that say it is no more than a limit. */

import { type Entry, quoted } from './cell.ts'
import { type DecimalStyle, readValue } from './number-text.ts'

/** What laboratories flag a result with that lies below the limit, the figure beside it being the limit. */
const BELOW_FLAG = /^(?:<|≤|u|uj|nd|n\.d\.?|bdl|blq|<\s?(?:lod|loq|rl|mdl))$/i
const ABOVE_FLAG = /^(?:>.*|≥.*|e|ej|or|ovr|ol|r|over.*|above.*)$/i

/** ‘0.05’ with ‘<’ or ‘U’ in a column of its own was not found: the figure is the limit. */
export function readFlagged(entry: Entry, style: DecimalStyle | undefined) {
  const read = readValue(entry.value.text, style)
  const flag = entry.qualifier?.text.trim() ?? ''
  if (ABOVE_FLAG.test(flag) && read.kind === 'number') {
    const message = 'Above its range nothing was measured: ask the laboratory to dilute and measure again.'
    return {
      kind: 'trouble',
      found: `the flag ${quoted(flag)}`,
      allowed: 'a figure within the range',
      message,
    } as const
  }
  if (!BELOW_FLAG.test(flag)) return read
  if (read.kind === 'not-measured') return { kind: 'below', rest: '' } as const
  if (read.kind !== 'number') return read
  const beside = limitBeside(entry, style)
  if (beside !== undefined && read.value > beside) {
    const found = `the flag ${quoted(flag)} beside ${quoted(entry.value.text)}, which is above its limit,`
    const message = 'Ask the laboratory whether it was found, or what the flag means.'
    return { kind: 'trouble', found, allowed: 'a figure up to the limit where it was not found', message } as const
  }
  const limit = beside ?? read.value
  return limit > 0
    ? ({ kind: 'below', limit, rest: read.rest } as const)
    : ({ kind: 'below', rest: read.rest } as const)
}

export function limitBeside(entry: Entry, style: DecimalStyle | undefined): number | undefined {
  const read = entry.limit === undefined ? undefined : readValue(entry.limit.text, style)
  return read?.kind === 'number' && read.value > 0 ? read.value : undefined
}
