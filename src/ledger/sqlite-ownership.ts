import { type OwnerLock, takeOwnerLock } from './owner-lock.ts'
import type { Ownership } from './port.ts'
import type { SqliteLedger } from './sqlite-ledger.ts'

/**
 * Ownership on one machine: whoever holds the lock beside the ledger owns every reservoir in it, and each claim raises
 * that reservoir’s term for good. The lock dies with the process, so a crash frees it without waiting.
 */
export function createSqliteOwnership(ledger: SqliteLedger): Ownership {
  const terms = new Map<string, number>()
  let lock: OwnerLock | undefined

  return {
    async claim(reservoirId, controller) {
      if (lock === undefined) {
        const taken = takeOwnerLock(ledger.path)
        if (taken === 'held') return { heldBy: ledger.termOf(reservoirId)?.owner ?? 'another process' }
        lock = taken
      }
      const term = await ledger.raiseTerm(reservoirId, controller)
      terms.set(reservoirId, term)
      return { term }
    },

    /** 'lost' also where the lock file was deleted and someone else has claimed since: the term tells. */
    async renew() {
      if (lock === undefined) return 'lost'
      return [...terms].every(([reservoirId, term]) => ledger.termOf(reservoirId)?.term === term) ? 'held' : 'lost'
    },

    async release() {
      lock?.release()
      lock = undefined
      terms.clear()
    },
  }
}
