/**
 * What the gate would have done: the verdicts of recorded weeks judged again under other limits, in slices, so that the
 * loop is never kept waiting for them.
 */

import { safetyLimits } from '../reservoir/configure-limits.ts'
import { foldAgain, type JudgedAgain, NOTHING_AGAIN } from '../reservoir/judge-again.ts'
import { type ChangedLimits, configurationInForce, type LimitChange, withChange } from '../reservoir/limit-change.ts'
import type { LedgerRecord } from '../reservoir/record.ts'
import { BOOK_MS } from '../reservoir/recover.ts'
import type { Limits } from '../safety/limits.ts'
import type { Period, Site } from './api/site.ts'
import type { Slices } from './slices.ts'

export interface GateAgain {
  readonly verdicts: readonly JudgedAgain[]
  /** verdicts that do not come out as recorded under the limits of their own time: the files were edited since */
  readonly unexplained: number
}

const DAY_MS = 86_400_000
const KINDS = ['judged', 'settled', 'act', 'instructed'] as const

/**
 * Judges a period again.
 *
 * @param values other limits, by path, each within its ceiling
 */
export async function judgePeriodAgain(
  site: Site,
  period: Period,
  values: Readonly<Record<string, number>>,
  slices: Slices,
): Promise<GateAgain> {
  const verdicts: JudgedAgain[] = []
  let unexplained = 0
  const limitsAt = limitsOverTime(site, await site.records(['instructed'], { fromMs: 0, untilMs: period.untilMs }))
  let tried = NOTHING_AGAIN
  let stated = NOTHING_AGAIN
  // a day at a time: what is read and parsed at once must be little as well
  for (let fromMs = period.fromMs - BOOK_MS; fromMs < period.untilMs; fromMs += DAY_MS) {
    const untilMs = Math.min(fromMs + DAY_MS, period.untilMs)
    await slices.next()
    const records = (await site.records(KINDS, { fromMs, untilMs })).filter(
      ({ atMs }) => atMs >= fromMs && atMs < untilMs,
    )
    for (const record of records) {
      await slices.next()
      const again = foldAgain(limitsAt(record.atMs, values), tried, record)
      tried = again.state
      const asTold = foldAgain(limitsAt(record.atMs, {}), stated, record)
      stated = asTold.state
      if (record.atMs < period.fromMs || !again.answer || !asTold.answer) continue
      verdicts.push(again.answer)
      if (asTold.answer.now !== asTold.answer.recorded) unexplained++
    }
  }
  return { verdicts, unexplained }
}

type Instructed = Extract<LedgerRecord, { kind: 'instructed' }>

/** The limits of any moment, with those tried laid over; worked out once for each change. */
function limitsOverTime(
  { configuration, settings }: Site,
  records: readonly Instructed[],
): (atMs: number, values: Readonly<Record<string, number>>) => Limits {
  const changes: { readonly atMs: number; readonly changed: ChangedLimits }[] = [{ atMs: 0, changed: {} }]
  for (const record of records) {
    const { instruction, atMs } = record
    if (instruction.instruction !== 'limit') continue
    changes.push({ atMs, changed: withChange(settings, changes.at(-1)!.changed, { ...record, instruction }) })
  }
  const made = new Map<ChangedLimits, Map<object, Limits>>()
  return (atMs, values) => {
    const { changed } = changes.findLast((change) => change.atMs <= atMs)!
    const ofChange = made.get(changed) ?? new Map<object, Limits>()
    made.set(changed, ofChange)
    const key = Object.keys(values).length === 0 ? NOTHING_TRIED : values
    const limits =
      ofChange.get(key) ?? safetyLimits(configurationInForce(configuration, { ...changed, ...asChanges(values) }))
    ofChange.set(key, limits)
    return limits
  }
}

const NOTHING_TRIED = {}

/** Values that are only tried, as the overlay has them. */
export function asChanges(values: Readonly<Record<string, number>>): ChangedLimits {
  const asChange = (value: number): LimitChange => ({
    ...{ value, from: value, by: '', reason: 'tried', atMs: 0, isAsFile: false },
  })
  return Object.fromEntries(Object.entries(values).map(([path, value]) => [path, asChange(value)]))
}
