/** What a ledger says was given, against what the plant's pumps really ran. */

import { openSqliteLedger } from '../../../src/ledger/sqlite-ledger.ts'
import type { LedgerRecord } from '../../../src/reservoir/record.ts'

export interface GivenDoses {
  /** ids of permitted commands, in order */
  readonly permitted: readonly string[]
  /** ids whose last word is that nobody knows, or that have no word yet */
  readonly open: readonly string[]
  readonly stocks: Readonly<Record<string, { readonly lowUl: number; readonly highUl: number }>>
  readonly records: readonly LedgerRecord[]
}

/** Reads a ledger file; a permitted command without a settled word counts from nothing to its full volume. */
export async function readDoses(path: string, reservoirId: string): Promise<GivenDoses> {
  const ledger = await openSqliteLedger({ path, ballastBytes: 0 })
  try {
    const entries = await ledger.read(reservoirId, 0, 100_000)
    return dosesOf(entries.map((entry) => JSON.parse(entry.json) as LedgerRecord))
  } finally {
    await ledger.close()
  }
}

/** The last word on each command is what counts. */
export function dosesOf(records: readonly LedgerRecord[]): GivenDoses {
  const given = new Map<string, { stock: string; lowUl: number; highUl: number; open: boolean }>()
  const permitted: string[] = []
  for (const record of records) {
    if (record.kind === 'judged' && record.verdict === 'permit') {
      permitted.push(record.commandId)
      given.set(record.commandId, { stock: record.stock, lowUl: 0, highUl: record.volumeUl, open: true })
    }
    if (record.kind === 'settled') {
      const { stock, delivered, outcome } = record
      given.set(record.commandId, { stock, ...delivered, open: outcome === 'unknown' })
    }
  }
  const stocks: Record<string, { lowUl: number; highUl: number }> = {}
  for (const { stock, lowUl, highUl } of given.values()) {
    const sum = stocks[stock] ?? { lowUl: 0, highUl: 0 }
    stocks[stock] = { lowUl: sum.lowUl + lowUl, highUl: sum.highUl + highUl }
  }
  const open = [...given].filter(([, { open: isOpen }]) => isOpen).map(([commandId]) => commandId)
  return { permitted, open, stocks, records }
}
