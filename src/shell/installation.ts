/** The name by which nodes and broker know a daemon: its site and its ledger, so that two ledgers are never one. */

import { randomBytes } from 'node:crypto'
import { LEDGER_MARK } from '../reservoir/command-id.ts'

/** As LEDGER_MARK has it; with it a name of the longest site still fits the contract’s 64 characters. */
const MARK_BYTES = 3

/**
 * A new ledger draws a mark of its own, which stays in it as the name of who last claimed the reservoir. Terms only tell
 * an old life from a new one of the *same* ledger: two ledgers count theirs apart, and a node that has a lease tells their
 * daemons apart by this name alone. A backup that is put back keeps it, since it is the same site going on.
 *
 * @param lastOwner who claimed the reservoir before; undefined for a new ledger
 */
export function controllerName(reservoirId: string, lastOwner: string | undefined): string {
  const site = `tarnward-${reservoirId}-`
  if (lastOwner?.startsWith(site) && LEDGER_MARK.test(lastOwner)) return lastOwner
  return site + randomBytes(MARK_BYTES).toString('hex')
}
