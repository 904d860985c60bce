import type { Database } from 'better-sqlite3'
import type { Ballast } from './ballast.ts'
import type { LedgerEntry, StoredSnapshot } from './port.ts'
import { openSqliteLedger, SqliteLedger } from './sqlite-ledger.ts'
import type { StoreThread } from './store-thread.ts'

/** Opens a ledger that is read here and written by a thread. @throws LedgerFault as `openSqliteLedger` */
export async function openThreadLedger(path: string, thread: StoreThread): Promise<SqliteLedger> {
  return openSqliteLedger({ path }, (...parts) => new ThreadLedger(thread, ...parts))
}

/** What of a ledger must reach the disk, done by the thread, which has a connection of its own. */
class ThreadLedger extends SqliteLedger {
  readonly #append
  readonly #putSnapshot
  readonly #hasReserve
  readonly #raiseTerm

  constructor(thread: StoreThread, path: string, database: Database, ballast: Ballast) {
    super(path, database, ballast)
    this.#append = thread.method('ledger', 'append')
    this.#putSnapshot = thread.method('ledger', 'putSnapshot')
    this.#hasReserve = thread.method('ledger', 'hasReserve')
    this.#raiseTerm = thread.method('ledger', 'raiseTerm')
  }

  override append(reservoirId: string, term: number, expectedSequence: number, entries: readonly LedgerEntry[]) {
    return this.#append(reservoirId, term, expectedSequence, entries)
  }

  override putSnapshot(reservoirId: string, snapshot: StoredSnapshot) {
    return this.#putSnapshot(reservoirId, snapshot)
  }

  override hasReserve() {
    return this.#hasReserve()
  }

  override raiseTerm(reservoirId: string, controller: string) {
    return this.#raiseTerm(reservoirId, controller)
  }
}
