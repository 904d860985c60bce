/** Whether the record is what it was when it was written, said to a person. */

import type { ChainVerdict } from '../ledger/chain.ts'
import { LedgerFault } from '../ledger/ledger-fault.ts'
import type { SqliteLedger } from '../ledger/sqlite-ledger.ts'

/** Entries of the tail that are checked before a daemon arms: at 5 µs an entry a tenth of a second. Chosen. */
const TAIL_MAX = 20_000
/** Entries of the check on the side between two turns of the others: some milliseconds on a small board. Chosen. */
const SLICE = 200

/** What is wrong since the last sealed snapshot, or with the newest entries where that is long ago; undefined: nothing. */
export async function damageOfTail(ledger: SqliteLedger, reservoirId: string): Promise<string | undefined> {
  return told(ledger.path, async () => {
    const { sequence } = await ledger.head(reservoirId)
    const snapshot = await ledger.latestSnapshot(reservoirId)
    const afterSequence = Math.max(0, snapshot?.sequence ?? 0, sequence - TAIL_MAX)
    return ledger.verifyChain(reservoirId, { afterSequence: Math.min(afterSequence, sequence) })
  })
}

/** What is wrong anywhere, others getting their turn meanwhile; undefined where nothing is, or it was given up. */
export async function damageOf(
  ledger: SqliteLedger,
  reservoirId: string,
  whether: { readonly isOver: () => boolean },
): Promise<string | undefined> {
  return told(ledger.path, () => ledger.verifyChain(reservoirId, { isOver: whether.isOver, sliceEntries: SLICE }))
}

/** A verdict in words with its place and what to do; undefined for a chain that is whole. */
export function damageText(path: string, verdict: ChainVerdict): string | undefined {
  const what =
    'Stop the daemon, keep a copy of the file, restore the last backup (tarnward restore FILE), and look at the pumps’ totals and the bottles before dosing goes on.'
  switch (verdict.kind) {
    case 'whole':
    case 'given-up':
      return undefined
    case 'broken':
      return `${path}: entry ${verdict.sequence} is not what was written, or is missing; nothing from it on can be relied on. ${what}`
    case 'cut':
      return `${path}: entries after ${verdict.endsAt} are gone, ${verdict.head} were written. ${what}`
  }
}

async function told(path: string, verify: () => Promise<ChainVerdict>): Promise<string | undefined> {
  try {
    return damageText(path, await verify())
  } catch (error) {
    if (!(error instanceof LedgerFault)) throw error
    return error.message
  }
}
