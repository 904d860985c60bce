/** A ledger in memory whose disk does what a test wants, and which says when it was asked. */

import { LedgerFault } from '../../../src/ledger/ledger-fault.ts'
import type { Ledger, LedgerEntry, StoredEntry, StoredSnapshot } from '../../../src/ledger/port.ts'
import type { LedgerRecord } from '../../../src/reservoir/record.ts'

export class MemoryLedger implements Ledger {
  readonly entries: StoredEntry[] = []
  readonly snapshots: StoredSnapshot[] = []
  /** what the next appends meet */
  disk: 'well' | 'full' | 'read-only' | 'taken-over' | 'torn' | 'hanging' = 'well'
  /** whether there is room left for when the disk is full */
  reserve = true
  /** sequences that were read, one list a question */
  readonly asked: { readonly after: number; readonly limit: number }[] = []
  readonly #note: (what: string) => void
  #hung: (() => void)[] = []

  constructor(note: (what: string) => void = () => {}) {
    this.#note = note
  }

  get records(): readonly LedgerRecord[] {
    return this.entries.map(({ json }) => JSON.parse(json) as LedgerRecord)
  }

  kinds(): readonly string[] {
    return this.entries.map(({ kind }) => kind)
  }

  async append(_id: string, _term: number, expected: number, entries: readonly LedgerEntry[]) {
    await Promise.resolve()
    if (this.disk === 'hanging') await new Promise<void>((done) => this.#hung.push(done))
    if (this.disk === 'full') throw new LedgerFault('full', 'the disk is full')
    if (this.disk === 'read-only') throw new LedgerFault('read-only', 'cannot be written')
    if (this.disk === 'torn') throw new TypeError('a row that cannot be')
    if (this.disk === 'taken-over' || expected !== this.entries.length) return 'fenced' as const
    for (const entry of entries) this.entries.push({ ...entry, sequence: this.entries.length + 1 })
    this.#note(`kept ${entries.map(({ kind }) => kind).join(' and ')}`)
    return this.entries.length
  }

  /** a disk that hung answers, as the disk it is now */
  wake(disk: MemoryLedger['disk'] = 'well'): void {
    this.disk = disk
    for (const done of this.#hung.splice(0)) done()
  }

  async read(_id: string, after: number, limit = Number.POSITIVE_INFINITY) {
    this.asked.push({ after, limit })
    return this.entries.slice(after, after + limit)
  }

  async head() {
    const last = this.entries.at(-1)
    return { sequence: last?.sequence ?? 0, hash: '', atMs: last?.atMs ?? 0 }
  }

  async putSnapshot(_id: string, snapshot: StoredSnapshot) {
    this.snapshots.push(snapshot)
  }

  async latestSnapshot() {
    return this.snapshots.at(-1)
  }

  async hasReserve() {
    return this.reserve
  }

  async close() {}
}
