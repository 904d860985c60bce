/**
 * Recorded verdicts judged again, in order, by limits of one’s choice: by the same limits the same verdicts must come
 * out, by others the records show what the gate would have done. Facts are the recorded ones; sums are worked out anew,
 * since a shot that would have been refused leaves room for the next.
 */

import { factsFor } from '../safety/facts.ts'
import { DOSE_INTERLOCKS } from '../safety/interlocks-dose.ts'
import { PROBE_INTERLOCKS } from '../safety/interlocks-probe.ts'
import type { Limits } from '../safety/limits.ts'
import { rebuildBook } from '../safety/rebuild.ts'
import { initialSafetyState, type RawReading } from '../safety/state.ts'
import type { LedgerRecord } from './record.ts'
import { BOOK_MS } from './recover.ts'

type Judged = Extract<LedgerRecord, { kind: 'judged' }>
type Settled = Extract<LedgerRecord, { kind: 'settled' }>

export interface JudgedAgain {
  readonly atMs: number
  readonly commandId: string
  readonly stock: string
  readonly volumeUl: number
  readonly recorded: 'permit' | 'refuse'
  readonly now: 'permit' | 'refuse'
  /** interlocks that would not hold now */
  readonly why: readonly string[]
}

/** Rows whose facts a record holds in full. Of every other row the recorded outcome stands. */
const AGAIN: ReadonlySet<string> = new Set([
  ...['shot-whole', 'shot-bounded', 'hour-bounded', 'day-bounded', 'gap-kept', 'stocks-apart'],
  ...['probe-not-from-future', 'probe-fresh', 'probe-good', 'probe-in-range'],
])
const ROWS = [...DOSE_INTERLOCKS, ...PROBE_INTERLOCKS].filter(({ id }) => AGAIN.has(id))

/** @param records all of them, oldest first; those of a cut-off past leave sums of the first day too small */
export function judgeAgain(limits: Limits, records: readonly LedgerRecord[]): readonly JudgedAgain[] {
  const answers: JudgedAgain[] = []
  const refused = new Set<string>()
  let rows: (Judged | Settled)[] = []
  for (const record of records) {
    if (record.kind === 'settled' && !refused.has(record.commandId)) rows.push(record)
    if (record.kind !== 'judged') continue
    rows = rows.filter((row) => row.atMs > record.atMs - BOOK_MS)
    const answer = judgeOne(limits, rows, record)
    answers.push(answer)
    if (answer.now === 'permit') rows.push({ ...record, verdict: 'permit' })
    else refused.add(record.commandId)
  }
  return answers
}

function judgeOne(limits: Limits, rows: readonly (Judged | Settled)[], record: Judged): JudgedAgain {
  const { atMs, commandId, stock, volumeUl, planId } = record
  const book = rebuildBook(limits, rows, atMs)
  const state = { ...initialSafetyState(limits), book, readings: readingsOf(limits, record) }
  const facts = factsFor(limits, state, { stock, atMs })
  const broken = ROWS.filter((row) => !row.holds({ stock, volumeUl, planId }, facts, limits)).map(({ id }) => id)
  const why = [...broken, ...record.why.filter((id) => !AGAIN.has(id))]
  const now = why.length === 0 ? 'permit' : 'refuse'
  return { atMs, commandId, stock, volumeUl, recorded: record.verdict, now, why }
}

/** What the probes said, from the figures of the verdict. */
function readingsOf(limits: Limits, { atMs, figures }: Judged): Readonly<Record<string, RawReading>> {
  const entries = limits.probes.flatMap(({ id }) => {
    const [value, quality, ageMs, sameForMs] = ['value', 'quality', 'ageMs', 'sameForMs'].map(
      (name) => figures[`${id}.${name}`],
    )
    if (typeof value !== 'number' || typeof ageMs !== 'number') return []
    const readAtMs = atMs - ageMs
    const sameSinceMs = readAtMs - (typeof sameForMs === 'number' ? sameForMs : 0)
    return [
      [id, { value, quality: quality as RawReading['quality'], atMs: readAtMs, sameSinceMs, flowingSinceMs: null }],
    ]
  })
  return Object.fromEntries(entries) as Record<string, RawReading>
}
