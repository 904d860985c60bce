/**
 * The loop’s way to the ledger: appends in order, and what the disk did not take waits here, in order too, until it
 * does. Nothing may be dosed while anything waits.
 */

import { LedgerFault } from '../ledger/ledger-fault.ts'
import type { Ledger, LedgerEntry } from '../ledger/port.ts'
import type { LedgerRecord } from '../reservoir/record.ts'
import { encodeSnapshot } from '../reservoir/snapshot.ts'
import type { ReservoirState } from '../reservoir/state.ts'
import type { Stepped } from '../reservoir/step.ts'

/** What an append came to: all of it kept, nothing of it kept, or the ledger is another daemon’s now. */
export type Kept =
  | { readonly kind: 'kept' }
  | { readonly kind: 'unkept'; readonly fault: LedgerFault }
  | { readonly kind: 'fenced' }

/** Weeks of a site that does not dose, some megabytes; beyond it inputs that would add to it are not taken. Chosen. */
const WAITING_MAX = 20_000

export interface RecordKeeperOptions {
  readonly ledger: Ledger
  readonly reservoirId: string
  readonly term: number
  readonly headSequence: number
}

/** Every method throws what is no fault of the disk: a broken invariant. */
export class RecordKeeper {
  readonly #ledger: Ledger
  readonly #reservoirId: string
  #term: number
  #sequence: number
  #waiting: LedgerRecord[] = []

  constructor({ ledger, reservoirId, term, headSequence }: RecordKeeperOptions) {
    this.#ledger = ledger
    this.#reservoirId = reservoirId
    this.#term = term
    this.#sequence = headSequence
  }

  get term(): number {
    return this.#term
  }

  /** records that wait for a disk */
  get waiting(): number {
    return this.#waiting.length
  }

  /** Writes under a newer term from now on. */
  renew(term: number): void {
    this.#term = term
  }

  /** Appends what waits and then these, all or nothing; what was not kept is not put with what waits, see `hold`. */
  async keep(records: readonly LedgerRecord[]): Promise<Kept> {
    const all = [...this.#waiting, ...records]
    if (all.length === 0) return { kind: 'kept' }
    try {
      const head = await this.#ledger.append(this.#reservoirId, this.#term, this.#sequence, all.map(toEntry))
      if (head === 'fenced') return { kind: 'fenced' }
      this.#sequence = head
      this.#waiting = []
      return { kind: 'kept' }
    } catch (error) {
      if (!(error instanceof LedgerFault)) throw error
      return { kind: 'unkept', fault: error }
    }
  }

  /** Lets records wait for the disk. @returns false where too many wait already; then none of these do */
  hold(records: readonly LedgerRecord[]): boolean {
    if (this.#waiting.length + records.length > WAITING_MAX) return false
    this.#waiting.push(...records)
    return true
  }

  /** Whether the ledger has what it keeps for a disk that fills up; false as well where the disk does not say. */
  async hasReserve(): Promise<boolean> {
    try {
      return await this.#ledger.hasReserve()
    } catch (error) {
      if (!(error instanceof LedgerFault)) throw error
      return false
    }
  }

  /** Keeps a snapshot of a state whose every record is kept. @returns the fault of a disk that does not take it */
  async putSnapshot(state: ReservoirState, configurationHash: string): Promise<LedgerFault | undefined> {
    const bytes = encodeSnapshot(state, configurationHash)
    try {
      await this.#ledger.putSnapshot(this.#reservoirId, { sequence: this.#sequence, atMs: state.atMs, bytes })
      return undefined
    } catch (error) {
      // A snapshot only makes a restart quicker; the records say everything.
      if (!(error instanceof LedgerFault)) throw error
      return error
    }
  }
}

function toEntry(record: LedgerRecord): LedgerEntry {
  return { kind: record.kind, atMs: record.atMs, json: JSON.stringify(record) }
}

/** What of a step must be kept. */
export function recordsOf({ effects }: Stepped): readonly LedgerRecord[] {
  return effects.flatMap((effect) => (effect.kind === 'record' ? [effect.record] : []))
}
