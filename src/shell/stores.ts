/** The files of one reservoir: its ledger, owned, and its raw readings. */

import { mkdir } from 'node:fs/promises'
import { join } from 'node:path'
import { openSqliteLedger, type SqliteLedger } from '../ledger/sqlite-ledger.ts'
import { createSqliteOwnership } from '../ledger/sqlite-ownership.ts'
import { openTelemetry, type Telemetry } from '../ledger/telemetry.ts'
import { type Closing, closeAll } from './closing.ts'
import { controllerName } from './installation.ts'

export interface Stores {
  readonly ledger: SqliteLedger
  readonly telemetry: Telemetry
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
 * @throws OwnedElsewhere when another daemon has it, LedgerFault when a file cannot be used
 */
export async function openStores(folder: string, reservoirId: string): Promise<Stores> {
  await mkdir(folder, { recursive: true, mode: 0o700 })
  const ledger = await openSqliteLedger({ path: join(folder, LEDGER_FILE) })
  const closings: Closing[] = [() => ledger.close()]
  try {
    const ownership = createSqliteOwnership(ledger)
    const controller = controllerName(reservoirId, ledger.termOf(reservoirId)?.owner)
    const claim = async (): Promise<number> => {
      const claimed = await ownership.claim(reservoirId, controller)
      if ('term' in claimed) return claimed.term
      throw new OwnedElsewhere(`${claimed.heldBy} keeps ${reservoirId} already; stop that one first`)
    }
    const term = await claim()
    closings.unshift(() => ownership.release())
    const telemetry = await openTelemetry({ path: join(folder, TELEMETRY_FILE) })
    closings.unshift(() => telemetry.close())
    return { ledger, telemetry, controller, term, renewTerm: claim, close: () => closeAll(closings) }
  } catch (error) {
    await closeAll(closings)
    throw error
  }
}
