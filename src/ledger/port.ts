/**
 * The durable record as the shell sees it: asynchronous from the first day, so that another store can stand behind it.
 * Nothing here knows what a record means; entries are JSON with a kind and a time.
 */

export interface LedgerEntry {
  readonly kind: string
  readonly atMs: number
  /** the record as JSON text */
  readonly json: string
}

export interface StoredEntry extends LedgerEntry {
  readonly sequence: number
}

export interface StoredSnapshot {
  readonly sequence: number
  readonly atMs: number
  readonly bytes: Uint8Array
}

export interface Ledger {
  /**
   * Appends all entries in one synced transaction.
   * @returns the new head, or 'fenced' when the term is not the highest or the head is not where it was expected
   * @throws LedgerFault on a full, read-only or damaged disk; then nothing of it was kept
   */
  append(
    reservoirId: string,
    term: number,
    expectedSequence: number,
    entries: readonly LedgerEntry[],
  ): Promise<number | 'fenced'>
  /** entries with a higher sequence, in order, at most `limit` */
  read(reservoirId: string, afterSequence: number, limit?: number): Promise<readonly StoredEntry[]>
  head(reservoirId: string): Promise<{ readonly sequence: number; readonly hash: string; readonly atMs: number }>
  putSnapshot(reservoirId: string, snapshot: StoredSnapshot): Promise<void>
  latestSnapshot(reservoirId: string): Promise<StoredSnapshot | undefined>
  /**
   * Whether the room kept for a disk that fills up is there, taken again where there is enough. Without it records may
   * be kept a while longer, but nothing should be done that needs more of them.
   */
  hasReserve(): Promise<boolean>
  close(): Promise<void>
}

/** Who may drive a reservoir. A claim raises the term; an older term can then neither write nor run a pump. */
export interface Ownership {
  claim(reservoirId: string, controller: string): Promise<{ readonly term: number } | { readonly heldBy: string }>
  renew(): Promise<'held' | 'lost'>
  release(): Promise<void>
}
