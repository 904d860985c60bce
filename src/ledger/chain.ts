import { createHash } from 'node:crypto'
import type { LedgerEntry } from './port.ts'

/** The hash before a reservoir’s first entry, so that one reservoir’s chain cannot stand in for another’s. */
export function genesisHash(reservoirId: string): Buffer {
  return createHash('sha256').update(`tarnward ledger 1\n${reservoirId}`).digest()
}

/**
 * The hash that an entry hands on: SHA-256 over the previous hash and the entry’s own fields as a JSON array,
 * where no field can run into the next.
 */
export function chainHash(previous: Uint8Array, sequence: number, entry: LedgerEntry): Buffer {
  return createHash('sha256')
    .update(previous)
    .update(JSON.stringify([sequence, entry.kind, entry.atMs, entry.json]))
    .digest()
}

/** A head as it was published elsewhere (log, retained topic, backup), to hold the file against. */
export interface PublishedHead {
  readonly sequence: number
  /** hexadecimal */
  readonly hash: string
}

export type ChainVerdict =
  /** asked to stop before its end */
  | { readonly kind: 'given-up'; readonly sequence: number }
  | { readonly kind: 'whole'; readonly sequence: number; readonly hash: string }
  /** the first entry that is missing, changed or out of order */
  | { readonly kind: 'broken'; readonly sequence: number }
  /** entries after `endsAt` are gone although the head says `head` */
  | { readonly kind: 'cut'; readonly endsAt: number; readonly head: number }
