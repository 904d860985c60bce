/** From the ledger to a state that can go on: claim, last snapshot, records since, the book of the last day. */

import type { Ledger, StoredEntry } from '../ledger/port.ts'
import type { LedgerRecord } from '../reservoir/record.ts'
import { BOOK_MS, recover } from '../reservoir/recover.ts'
import { decodeSnapshot } from '../reservoir/snapshot.ts'
import { initialReservoirState, type ReservoirSettings, type ReservoirState } from '../reservoir/state.ts'

export interface OpenedReservoir {
  readonly state: ReservoirState
  readonly headSequence: number
  /** how the state came to be, for the log */
  readonly note: string
}

const PAGE = 5000

/**
 * Rebuilds the state of a reservoir.
 *
 * @param atMs now, for the rolling windows of the book
 */
export async function openReservoir(
  ledger: Ledger,
  reservoirId: string,
  settings: ReservoirSettings,
  configurationHash: string,
  atMs: number,
): Promise<OpenedReservoir> {
  const head = await ledger.head(reservoirId)
  if (head.sequence === 0) return { state: initialReservoirState(settings), headSequence: 0, note: 'a new ledger' }
  const stored = await ledger.latestSnapshot(reservoirId)
  const read = stored && decodeSnapshot<ReservoirState>(stored.bytes, configurationHash)
  const fromSequence = stored && read?.kind === 'state' ? stored.sequence : 0
  const snapshot = read?.kind === 'state' ? read.state : initialReservoirState(settings)
  const openSinceMs = snapshot.safety.book.commands.map((command) => command.judgedAtMs)
  const bookFromMs = Math.min(head.atMs - BOOK_MS, ...openSinceMs)
  const bookFrom = await lastBefore(ledger, reservoirId, head.sequence, bookFromMs)
  const entries = await readAfter(ledger, reservoirId, Math.min(fromSequence, bookFrom))
  const deliveries = entries.map(toRecord)
  const since = deliveries.filter((_record, at) => entries[at]!.sequence > fromSequence)
  const state = recover(settings, { snapshot, since, deliveries }, atMs)
  const why = read?.kind === 'unreadable' ? ` (${read.why})` : ''
  return { state, headSequence: head.sequence, note: `${since.length} records since the last snapshot${why}` }
}

/** The last sequence that is surely older than a moment, found by halving: a ledger of years is not read from its start. */
async function lastBefore(ledger: Ledger, reservoirId: string, head: number, atMs: number): Promise<number> {
  let low = 0
  let high = head
  while (high - low > 1) {
    const middle = Math.floor((low + high) / 2)
    const [entry] = await ledger.read(reservoirId, middle - 1, 1)
    if (entry && entry.atMs < atMs) low = middle
    else high = middle
  }
  return low
}

async function readAfter(ledger: Ledger, reservoirId: string, afterSequence: number): Promise<StoredEntry[]> {
  const entries: StoredEntry[] = []
  for (let after = afterSequence; ; ) {
    const page = await ledger.read(reservoirId, after, PAGE)
    entries.push(...page)
    const last = page.at(-1)
    if (!last || page.length < PAGE) return entries
    after = last.sequence
  }
}

function toRecord(entry: StoredEntry): LedgerRecord {
  return JSON.parse(entry.json) as LedgerRecord
}
