/** The files of one reservoir: its ledger, owned, its raw readings, and who may ask. */

import { mkdir } from 'node:fs/promises'
import { join } from 'node:path'
import { type AccessBook, openAccessStore } from '../ledger/access-store.ts'
import type { Ownership } from '../ledger/port.ts'
import { openSqliteLedger, type SqliteLedger } from '../ledger/sqlite-ledger.ts'
import { createSqliteOwnership } from '../ledger/sqlite-ownership.ts'
import { StoreThread } from '../ledger/store-thread.ts'
import { openTelemetry, type Telemetry } from '../ledger/telemetry.ts'
import { openThreadLedger } from '../ledger/thread-ledger.ts'
import { closeAll } from './closing.ts'
import { controllerName } from './installation.ts'

export interface Stores {
  readonly ledger: SqliteLedger
  readonly telemetry: Telemetry
  readonly access: AccessBook
  /** the name of this ledger’s daemon to nodes and broker */
  readonly controller: string
  /** the term this process may write under */
  readonly term: number
  /** raises it, as a start of its own would; @throws LedgerFault where that cannot be written */
  renewTerm(): Promise<number>
  close(): Promise<void>
}

/** Another daemon has the reservoir; the message says which. */
export class OwnedElsewhere extends Error {}

export const LEDGER_FILE = 'ledger.db'
export const ACCESS_FILE = 'access.db'
const TELEMETRY_FILE = 'telemetry.db'

/**
 * Opens what a reservoir is kept in, and claims it. What was opened before something failed is closed again.
 *
 * @param writesHere written by the caller’s own thread, as lockstep wants it, so that a disk that hangs holds all up
 * @throws OwnedElsewhere when another daemon has it, LedgerFault when a file cannot be used
 */
export async function openStores(folder: string, reservoirId: string, writesHere = false): Promise<Stores> {
  await mkdir(folder, { recursive: true, mode: 0o700 })
  const paths = {
    ledger: join(folder, LEDGER_FILE),
    telemetry: join(folder, TELEMETRY_FILE),
    access: join(folder, ACCESS_FILE),
  }
  const thread = writesHere ? undefined : new StoreThread(paths)
  // In the order of closing: what still writes goes before the thread, and the lock after it.
  const opened: { access?: AccessBook; telemetry?: Telemetry; ownership?: Ownership; ledger?: SqliteLedger } = {}
  const close = (): Promise<void> =>
    closeAll([
      () => opened.access?.close(),
      () => opened.telemetry?.close(),
      () => thread?.close(),
      () => opened.ownership?.release(),
      () => opened.ledger?.close(),
    ])
  try {
    const ledger = await (thread ? openThreadLedger(paths.ledger, thread) : openSqliteLedger({ path: paths.ledger }))
    opened.ledger = ledger
    const ownership = createSqliteOwnership(ledger)
    opened.ownership = ownership
    const controller = controllerName(reservoirId, ledger.termOf(reservoirId)?.owner)
    const claim = async (): Promise<number> => {
      const claimed = await ownership.claim(reservoirId, controller)
      if ('term' in claimed) return claimed.term
      throw new OwnedElsewhere(`${claimed.heldBy} keeps ${reservoirId} already; stop that one first`)
    }
    const term = await claim()
    const telemetry = await openTelemetry({ path: paths.telemetry }, thread?.method('telemetry', 'write'))
    opened.telemetry = telemetry
    const store = await openAccessStore(paths.access)
    opened.access = store
    const access = thread ? accessWrittenBy(thread, store) : store
    return { ledger, telemetry, access, controller, term, renewTerm: claim, close }
  } catch (error) {
    await close()
    throw error
  }
}

/** Tokens are read here; what is noted of them waits for the disk elsewhere. */
function accessWrittenBy(thread: StoreThread, access: AccessBook): AccessBook {
  return {
    tokens: () => access.tokens(),
    addToken: thread.method('access', 'addToken'),
    revokeToken: thread.method('access', 'revokeToken'),
    noteUse: thread.method('access', 'noteUse'),
    ask: thread.method('access', 'ask'),
    answer: thread.method('access', 'answer'),
    forget: thread.method('access', 'forget'),
    close: () => access.close(),
  }
}
