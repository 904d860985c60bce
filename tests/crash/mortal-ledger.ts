/** A ledger whose process dies at a chosen durable point: just before it, so that nothing was kept, or just after it. */

import type { Ledger, LedgerEntry, StoredSnapshot } from '../../src/ledger/port.ts'
import type { DurablePoint } from './death-turns.ts'

export interface Death {
  /** asked once at each append and snapshot */
  readonly isDue: (point: DurablePoint) => boolean
  readonly when: 'before' | 'after'
}

export interface MortalLedger extends Ledger {
  readonly isDead: boolean
  /** resolves at the moment of death */
  readonly died: Promise<void>
  /** sequences and records of appends that were acknowledged to the loop */
  readonly acknowledged: readonly { readonly sequence: number; readonly json: string }[]
}

/** A dead process never hears of its append again: the promise stays open. */
export function mortalLedger(ledger: Ledger, death: Death): MortalLedger {
  const acknowledged: { sequence: number; json: string }[] = []
  let die: () => void = () => {}
  let isDead = false
  const died = new Promise<void>((resolve) => {
    die = () => {
      isDead = true
      resolve()
    }
  })
  const never = new Promise<never>(() => {})
  const durable = async <Kept>(point: DurablePoint, keep: () => Promise<Kept>): Promise<Kept> => {
    if (isDead) return never
    const isLast = death.isDue(point)
    if (isLast && death.when === 'before') {
      die()
      return never
    }
    const kept = await keep()
    if (!isLast) return kept
    die()
    return never
  }
  return {
    get isDead() {
      return isDead
    },
    died,
    acknowledged,
    async append(reservoirId: string, term: number, expectedSequence: number, entries: readonly LedgerEntry[]) {
      const kinds = entries.map(({ kind }) => kind)
      const head = await durable(kinds, () => ledger.append(reservoirId, term, expectedSequence, entries))
      if (head !== 'fenced')
        for (const [at, { json }] of entries.entries()) acknowledged.push({ sequence: expectedSequence + at + 1, json })
      return head
    },
    putSnapshot: (reservoirId: string, snapshot: StoredSnapshot) =>
      durable(['snapshot'], () => ledger.putSnapshot(reservoirId, snapshot)),
    read: (reservoirId, afterSequence, limit) => ledger.read(reservoirId, afterSequence, limit),
    head: (reservoirId) => ledger.head(reservoirId),
    latestSnapshot: (reservoirId) => ledger.latestSnapshot(reservoirId),
    hasReserve: () => ledger.hasReserve(),
    close: async () => {},
  }
}
