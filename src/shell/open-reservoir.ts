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
  const entries = await readAll(ledger, reservoirId, 0, head.atMs - BOOK_MS, fromSequence)
  const since = entries.filter((entry) => entry.sequence > fromSequence).map(toRecord)
  const deliveries = entries.map(toRecord)
  const state = recover(settings, { snapshot, since, deliveries }, atMs)
  const why = read?.kind === 'unreadable' ? ` (${read.why})` : ''
  return { state, headSequence: head.sequence, note: `${since.length} records since the last snapshot${why}` }
}

/** Records since a sequence, and those of the last day before it; older ones are passed over. */
async function readAll(
  ledger: Ledger,
  reservoirId: string,
  afterSequence: number,
  sinceMs: number,
  fromSequence: number,
): Promise<StoredEntry[]> {
  const kept: StoredEntry[] = []
  for (let after = afterSequence; ; ) {
    const page = await ledger.read(reservoirId, after, PAGE)
    for (const entry of page) if (entry.sequence > fromSequence || entry.atMs >= sinceMs) kept.push(entry)
    const last = page.at(-1)
    if (!last || page.length < PAGE) return kept
    after = last.sequence
  }
}

function toRecord(entry: StoredEntry): LedgerRecord {
  return JSON.parse(entry.json) as LedgerRecord
}
