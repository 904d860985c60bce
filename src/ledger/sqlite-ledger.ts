import { createHash } from 'node:crypto'
import { statfs } from 'node:fs/promises'
import { dirname } from 'node:path'
import type { Database, Statement } from 'better-sqlite3'
import { BALLAST_BYTES, type Ballast, createBallast } from './ballast.ts'
import { type ChainVerdict, chainHash, genesisHash, type PublishedHead } from './chain.ts'
import { isFault, toLedgerFault } from './ledger-fault.ts'
import type { Ledger, LedgerEntry, StoredEntry, StoredSnapshot } from './port.ts'
import { LEDGER_SCHEMA, type Schema } from './schema.ts'
import { openSqliteFile } from './sqlite-file.ts'

export interface SqliteLedgerOptions {
  /** the ledger’s file; ballast, lock and copies stand beside it */
  readonly path: string
  /** 0 keeps none */
  readonly ballastBytes?: number
  readonly pageCountMax?: number
  readonly schema?: Schema
}

/** Snapshots kept of each reservoir: a damaged newest one still leaves a way back that is not the whole history. */
const SNAPSHOTS_KEPT = 3
/** Entries hashed before other work gets a turn; about 5 ms. */
const VERIFY_SLICE = 1000

export interface ChainCheck {
  readonly afterSequence?: number
  readonly published?: PublishedHead
  readonly isOver?: () => boolean
  readonly sliceEntries?: number
}

interface ReservoirRow {
  readonly term: number
  readonly owner: string
  readonly head_sequence: number
  readonly head_hash: Buffer
  readonly head_at_ms: number
}

interface EntryRow extends StoredEntry {
  readonly hash: Buffer
}

interface SnapshotRow {
  readonly sequence: number
  readonly at_ms: number
  readonly bytes: Buffer
  readonly bytes_hash: Buffer
}

/**
 * Opens the ledger at a path, or makes one, synced at every commit.
 * @param make what is made of the open parts
 * @throws LedgerFault as `openSqliteFile`; a missing ballast on a full disk is no fault, see `hasReserve`
 */
export async function openSqliteLedger(
  options: SqliteLedgerOptions,
  make: (...parts: ConstructorParameters<typeof SqliteLedger>) => SqliteLedger = (...parts) =>
    new SqliteLedger(...parts),
): Promise<SqliteLedger> {
  const { path, pageCountMax } = options
  const database = await openSqliteFile({
    path,
    schema: options.schema ?? LEDGER_SCHEMA,
    synchronous: 'FULL',
    pageCountMax,
  })
  const ballastBytes = options.ballastBytes ?? BALLAST_BYTES
  const ballast = createBallast(`${path}.ballast`, ballastBytes)
  ballast.restore()
  return make(path, database, ballast)
}

/** The ledger on SQLite. One process writes; the port is asynchronous, the work behind it is not. */
export class SqliteLedger implements Ledger {
  readonly path: string
  readonly #database: Database
  readonly #ballast: Ballast
  readonly #reservoir: Statement<[string], ReservoirRow>
  readonly #insert: Statement<[string, number, string, number, string, Buffer]>
  readonly #moveHead: Statement<[number, Buffer, number, string]>
  readonly #entries: Statement<[string, number, number], StoredEntry>
  readonly #hashedEntries: Statement<[string, number, number], EntryRow>
  readonly #snapshots: Statement<[string], SnapshotRow>

  constructor(path: string, database: Database, ballast: Ballast) {
    this.path = path
    this.#database = database
    this.#ballast = ballast
    this.#reservoir = database.prepare(
      'SELECT term, owner, head_sequence, head_hash, head_at_ms FROM reservoir WHERE id = ?',
    )
    this.#insert = database.prepare(
      'INSERT INTO entry (reservoir_id, sequence, kind, at_ms, json, hash) VALUES (?, ?, ?, ?, ?, ?)',
    )
    this.#moveHead = database.prepare(
      'UPDATE reservoir SET head_sequence = ?, head_hash = ?, head_at_ms = ? WHERE id = ?',
    )
    const after = 'WHERE reservoir_id = ? AND sequence > ? ORDER BY sequence LIMIT ?'
    this.#entries = database.prepare(`SELECT sequence, kind, at_ms AS atMs, json FROM entry ${after}`)
    this.#hashedEntries = database.prepare(`SELECT sequence, kind, at_ms AS atMs, json, hash FROM entry ${after}`)
    this.#snapshots = database.prepare(
      `SELECT s.sequence, s.at_ms, s.bytes, s.bytes_hash FROM snapshot s JOIN reservoir r ON r.id = s.reservoir_id
       WHERE r.id = ? AND s.sequence <= r.head_sequence ORDER BY s.sequence DESC`,
    )
  }

  async append(
    reservoirId: string,
    term: number,
    expectedSequence: number,
    entries: readonly LedgerEntry[],
  ): Promise<number | 'fenced'> {
    return this.#guarded(() =>
      this.#database.transaction(() => this.#appendNow(reservoirId, term, expectedSequence, entries)).immediate(),
    )
  }

  async read(reservoirId: string, afterSequence: number, limit = -1): Promise<readonly StoredEntry[]> {
    return this.#guarded(() => this.#entries.all(reservoirId, afterSequence, limit))
  }

  /**
   * Entries of some kinds in [fromMs, untilMs], in order; times never fall along a ledger, so the place is found by
   * halving and years before it cost nothing.
   */
  async readKinds(
    reservoirId: string,
    kinds: readonly string[],
    period: { readonly fromMs: number; readonly untilMs: number },
  ): Promise<readonly StoredEntry[]> {
    return this.#guarded(() => {
      const head = this.#reservoir.get(reservoirId)?.head_sequence ?? 0
      const after = this.#lastBefore(reservoirId, head, period.fromMs)
      const last = this.#lastBefore(reservoirId, head, period.untilMs + 1)
      return this.#database
        .prepare<(string | number)[], StoredEntry>(
          `SELECT sequence, kind, at_ms AS atMs, json FROM entry
           WHERE reservoir_id = ? AND sequence > ? AND sequence <= ?
           AND kind IN (${kinds.map(() => '?').join(', ')}) ORDER BY sequence`,
        )
        .all(reservoirId, after, last, ...kinds)
    })
  }

  /** The last sequence before a moment; 0 where there is none. */
  #lastBefore(reservoirId: string, head: number, atMs: number): number {
    const timeOf = this.#database
      .prepare<[string, number], number>('SELECT at_ms FROM entry WHERE reservoir_id = ? AND sequence = ?')
      .pluck()
    let low = 0
    let high = head + 1
    while (high - low > 1) {
      const middle = Math.floor((low + high) / 2)
      if ((timeOf.get(reservoirId, middle) ?? 0) < atMs) low = middle
      else high = middle
    }
    return low
  }

  async head(
    reservoirId: string,
  ): Promise<{ readonly sequence: number; readonly hash: string; readonly atMs: number }> {
    const row = this.#guarded(() => this.#reservoir.get(reservoirId))
    if (row === undefined) return { sequence: 0, hash: genesisHash(reservoirId).toString('hex'), atMs: 0 }
    return { sequence: row.head_sequence, hash: row.head_hash.toString('hex'), atMs: row.head_at_ms }
  }

  /** Sealed with its own hash and the chain’s hash at its sequence; the oldest beyond three go. */
  async putSnapshot(reservoirId: string, snapshot: StoredSnapshot): Promise<void> {
    this.#guarded(() => this.#database.transaction(() => this.#putSnapshotNow(reservoirId, snapshot)).immediate())
  }

  /** The newest snapshot that is whole and not ahead of the entries; a damaged one is passed over. */
  async latestSnapshot(reservoirId: string): Promise<StoredSnapshot | undefined> {
    return this.#guarded(() => {
      for (const row of this.#snapshots.iterate(reservoirId))
        if (sha256(row.bytes).equals(row.bytes_hash))
          return { sequence: row.sequence, atMs: row.at_ms, bytes: new Uint8Array(row.bytes) }
      return undefined
    })
  }

  /** Writes the log back into the file and lets go of it. */
  async close(): Promise<void> {
    this.#database.close()
  }

  /**
   * Walks a reservoir’s chain from an entry to its end, giving other work a turn between slices.
   * @param check.isOver asked between slices; true gives up
   * @param check.sliceEntries entries before others get a turn
   * @param check.afterSequence where to begin, 0 for all; a snapshot sealed there is held against the entry
   * @param check.published a head known from elsewhere; without one a cut that also rewrote the head cannot be seen
   * @returns whole, the first broken sequence, or where a cut tail ends
   */
  async verifyChain(reservoirId: string, check: ChainCheck = {}): Promise<ChainVerdict> {
    const row = this.#guarded(() => this.#reservoir.get(reservoirId))
    const target = row?.head_sequence ?? 0
    let sequence = check.afterSequence ?? 0
    let hash = this.#guarded(() => this.#sealedHash(reservoirId, sequence))
    if (hash === 'broken') return { kind: 'broken', sequence }
    while (sequence < target) {
      if (check.isOver?.()) return { kind: 'given-up', sequence }
      const slice = this.#guarded(() =>
        this.#hashedEntries.all(reservoirId, sequence, Math.min(check.sliceEntries ?? VERIFY_SLICE, target - sequence)),
      )
      if (slice.length === 0) return { kind: 'cut', endsAt: sequence, head: target }
      for (const entry of slice) {
        const expected = chainHash(hash, sequence + 1, entry)
        // the hash holds the sequence, so that a record that is missing breaks it as well
        if (!expected.equals(entry.hash)) return { kind: 'broken', sequence: sequence + 1 }
        if (entry.sequence === check.published?.sequence && expected.toString('hex') !== check.published.hash)
          return { kind: 'broken', sequence: entry.sequence }
        sequence = entry.sequence
        hash = expected
      }
      await new Promise((resolve) => setImmediate(resolve))
    }
    if (check.isOver?.()) return { kind: 'given-up', sequence }
    if (check.published !== undefined && check.published.sequence > sequence)
      return { kind: 'cut', endsAt: sequence, head: check.published.sequence }
    if (row !== undefined && !row.head_hash.equals(hash)) return { kind: 'broken', sequence }
    if (this.#guarded(() => this.#hasStray(reservoirId))) return { kind: 'broken', sequence: sequence + 1 }
    return { kind: 'whole', sequence, hash: hash.toString('hex') }
  }

  /**
   * Raises a reservoir’s term durably and notes who has it now; called by the ownership alone. On a full disk in the
   * room of the ballast, or no daemon could start there to tell anybody of it.
   */
  async raiseTerm(reservoirId: string, controller: string): Promise<number> {
    try {
      return this.#raiseTermOnce(reservoirId, controller)
    } catch (error) {
      if (!isFault(error, 'full')) throw error
      return this.#raiseTermOnce(reservoirId, controller)
    }
  }

  #raiseTermOnce(reservoirId: string, controller: string): number {
    return this.#guarded(
      () =>
        this.#database
          .prepare<[string, string, Buffer], number>(
            `INSERT INTO reservoir (id, term, owner, head_sequence, head_hash, head_at_ms) VALUES (?, 1, ?, 0, ?, 0)
           ON CONFLICT (id) DO UPDATE SET term = term + 1, owner = excluded.owner RETURNING term`,
          )
          .pluck()
          .get(reservoirId, controller, genesisHash(reservoirId))!,
    )
  }

  /** Every reservoir that something is kept of. */
  reservoirIds(): readonly string[] {
    return this.#guarded(() => this.#database.prepare<[], string>('SELECT id FROM reservoir ORDER BY id').pluck().all())
  }

  /** A restored ledger must not give out a term that nodes have seen before. */
  liftTerm(reservoirId: string, atLeast: number): void {
    this.#guarded(() =>
      this.#database.prepare('UPDATE reservoir SET term = max(term, ?) WHERE id = ?').run(atLeast, reservoirId),
    )
  }

  /** The highest term given out and to whom, or undefined for a reservoir nobody has claimed. */
  termOf(reservoirId: string): { readonly term: number; readonly owner: string } | undefined {
    const row = this.#guarded(() => this.#reservoir.get(reservoirId))
    return row && { term: row.term, owner: row.owner }
  }

  /** What the open connection really runs with: 'wal' and 2 (FULL). */
  durability(): { readonly journalMode: string; readonly synchronous: number } {
    return {
      journalMode: this.#database.pragma('journal_mode', { simple: true }) as string,
      synchronous: this.#database.pragma('synchronous', { simple: true }) as number,
    }
  }

  /** A copy beside the running ledger, page by page. @throws LedgerFault of the target’s disk */
  async backup(target: string): Promise<void> {
    try {
      await this.#database.backup(target)
    } catch (error) {
      throw toLedgerFault(error, target)
    }
  }

  /** Taken again only where as much is left beside it, so that a disk at its edge is not filled again and again. */
  async hasReserve(): Promise<boolean> {
    if (this.#ballast.held()) return true
    try {
      return (await this.freeBytes()) >= 2 * this.#ballast.bytes && this.#ballast.restore()
    } catch (error) {
      throw toLedgerFault(error, this.path)
    }
  }

  /** Room left on the ledger’s disk for an ordinary user, bytes. */
  async freeBytes(): Promise<number> {
    const { bavail, bsize } = await statfs(dirname(this.path))
    return bavail * bsize
  }

  #appendNow(
    reservoirId: string,
    term: number,
    expectedSequence: number,
    entries: readonly LedgerEntry[],
  ): number | 'fenced' {
    const row = this.#reservoir.get(reservoirId)
    if (row === undefined || row.term !== term || row.head_sequence !== expectedSequence) return 'fenced'
    let { head_sequence: sequence, head_hash: hash, head_at_ms: atMs } = row
    for (const entry of entries) {
      if (!Number.isSafeInteger(entry.atMs))
        throw new TypeError(`entry ${entry.kind}: atMs ${entry.atMs} is no whole number`)
      sequence += 1
      hash = chainHash(hash, sequence, entry)
      atMs = entry.atMs
      this.#insert.run(reservoirId, sequence, entry.kind, atMs, entry.json, hash)
    }
    this.#moveHead.run(sequence, hash, atMs, reservoirId)
    return sequence
  }

  #putSnapshotNow(reservoirId: string, snapshot: StoredSnapshot): void {
    const chain = this.#hashAt(reservoirId, snapshot.sequence)
    if (chain === undefined)
      throw new RangeError(`snapshot at ${snapshot.sequence}: reservoir ${reservoirId} has no such entry`)
    const bytes = Buffer.from(snapshot.bytes)
    this.#database
      .prepare(
        'INSERT OR REPLACE INTO snapshot (reservoir_id, sequence, at_ms, bytes, bytes_hash, chain_hash) VALUES (?, ?, ?, ?, ?, ?)',
      )
      .run(reservoirId, snapshot.sequence, snapshot.atMs, bytes, sha256(bytes), chain)
    this.#database
      .prepare(
        `DELETE FROM snapshot WHERE reservoir_id = ? AND sequence NOT IN
         (SELECT sequence FROM snapshot WHERE reservoir_id = ? ORDER BY sequence DESC LIMIT ?)`,
      )
      .run(reservoirId, reservoirId, SNAPSHOTS_KEPT)
  }

  #hashAt(reservoirId: string, sequence: number): Buffer | undefined {
    if (sequence === 0) return genesisHash(reservoirId)
    return this.#hashedEntries.all(reservoirId, sequence - 1, 1).find((entry) => entry.sequence === sequence)?.hash
  }

  /** An entry behind the head: someone moved the head back to hide it. */
  #hasStray(reservoirId: string): boolean {
    const head = this.#reservoir.get(reservoirId)?.head_sequence ?? 0
    return this.#entries.all(reservoirId, head, 1).length > 0
  }

  #sealedHash(reservoirId: string, sequence: number): Buffer | 'broken' {
    const stored = this.#hashAt(reservoirId, sequence)
    const sealed = this.#database
      .prepare<[string, number], Buffer>('SELECT chain_hash FROM snapshot WHERE reservoir_id = ? AND sequence = ?')
      .pluck()
      .get(reservoirId, sequence)
    if (stored === undefined || (sealed !== undefined && !sealed.equals(stored))) return 'broken'
    return stored
  }

  /** A full disk frees the ballast at once: this write is lost, the trip that follows from it must not be. */
  #guarded<T>(work: () => T): T {
    try {
      return work()
    } catch (error) {
      const fault = toLedgerFault(error, this.path)
      if (isFault(fault, 'full')) this.#ballast.free()
      throw fault
    }
  }
}

function sha256(bytes: Uint8Array): Buffer {
  return createHash('sha256').update(bytes).digest()
}
