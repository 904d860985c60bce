import { deflateRawSync, inflateRawSync } from 'node:zlib'
import type { Database } from 'better-sqlite3'
import type { ScanMessage } from '../contract/message.ts'
import { toLedgerFault } from './ledger-fault.ts'
import { TELEMETRY_SCHEMA } from './schema.ts'
import { openSqliteFile } from './sqlite-file.ts'

/** One scan as it arrived. */
export interface RawScan {
  readonly atMs: number
  readonly node: string
  readonly scan: ScanMessage
}

export interface TelemetryOptions {
  readonly path: string
  readonly pageCountMax?: number
}

/** A commit at most this often: one row per scan would wear a memory card out (9 kB written per 160 byte row, measured). */
export const BATCH_MAX_MS = 120_000
export const RETENTION_MS = 35 * 86_400_000
/** Scans held while the disk takes none; beyond it the oldest go and are counted. About 10 MB. */
const HELD_MAX = 20_000
/** Batches removed with one commit, so that catching up after a long stop does not hold the process. */
const PRUNE_MAX = 200

/**
 * Opens the store of raw scans. It is the only store that may lose its last two minutes, and no estimate reads it.
 * @throws LedgerFault as `openSqliteFile`
 */
export async function openTelemetry(options: TelemetryOptions): Promise<Telemetry> {
  const database = await openSqliteFile({ ...options, schema: TELEMETRY_SCHEMA, synchronous: 'NORMAL' })
  return new Telemetry(options.path, database)
}

/** Raw scans, lossless, packed by reservoir. */
export class Telemetry {
  readonly #path: string
  readonly #database: Database
  readonly #waiting = new Map<string, RawScan[]>()
  #dropped = 0

  constructor(path: string, database: Database) {
    this.#path = path
    this.#database = database
  }

  /** Takes a scan; writes when the oldest waiting one is two minutes old. @throws LedgerFault; the scans stay waiting */
  record(reservoirId: string, raw: RawScan): void {
    this.hold(reservoirId, raw)
    this.flushIfDue(raw.atMs)
  }

  /** Takes a scan and writes nothing: what room a full disk has left belongs to the ledger. */
  hold(reservoirId: string, raw: RawScan): void {
    const waiting = this.#waiting.get(reservoirId) ?? []
    waiting.push(raw)
    if (waiting.length > HELD_MAX) {
      waiting.shift()
      this.#dropped += 1
    }
    this.#waiting.set(reservoirId, waiting)
  }

  /** Writes what waits once it is due; call it from a timer so that a probe that falls silent is written too. */
  flushIfDue(atMs: number): void {
    const oldest = Math.min(...[...this.#waiting.values()].map((waiting) => waiting[0]?.atMs ?? Infinity))
    if (atMs - oldest >= BATCH_MAX_MS) this.flush()
  }

  /** Writes everything that waits in one commit, and removes what is past its time. @throws LedgerFault */
  flush(): void {
    try {
      this.#database.transaction(() => this.#writeAll()).immediate()
    } catch (error) {
      throw toLedgerFault(error, this.#path)
    }
    this.#waiting.clear()
  }

  /** Scans that arrived in [fromMs, untilMs], in order of arrival, those still waiting included. */
  read(reservoirId: string, fromMs: number, untilMs: number): readonly RawScan[] {
    const stored = this.#database
      .prepare<[string, number, number], Buffer>(
        'SELECT packed FROM batch WHERE reservoir_id = ? AND until_ms >= ? AND from_ms <= ? ORDER BY id',
      )
      .pluck()
      .all(reservoirId, fromMs, untilMs)
      .flatMap(unpack)
    const within = (raw: RawScan) => raw.atMs >= fromMs && raw.atMs <= untilMs
    return [...stored, ...(this.#waiting.get(reservoirId) ?? [])].filter(within)
  }

  /** Scans that never reached the disk because it took none for too long. */
  dropped(): number {
    return this.#dropped
  }

  /** Writes what waits and closes. A full disk at this moment costs the last two minutes and nothing else. */
  close(): void {
    try {
      this.flush()
    } finally {
      this.#database.close()
    }
  }

  #writeAll(): void {
    const insert = this.#database.prepare(
      'INSERT INTO batch (reservoir_id, from_ms, until_ms, scans, packed) VALUES (?, ?, ?, ?, ?)',
    )
    const prune = this.#database.prepare(
      'DELETE FROM batch WHERE id IN (SELECT id FROM batch WHERE reservoir_id = ? AND until_ms < ? LIMIT ?)',
    )
    for (const [reservoirId, scans] of this.#waiting) {
      const first = scans[0]
      const last = scans.at(-1)
      if (first === undefined || last === undefined) continue
      insert.run(reservoirId, first.atMs, last.atMs, scans.length, pack(scans))
      prune.run(reservoirId, last.atMs - RETENTION_MS, PRUNE_MAX)
    }
  }
}

/** JSON keeps every double; deflate brings two minutes of a bench from about 5 kB to about 0.7 kB. */
function pack(scans: readonly RawScan[]): Buffer {
  return deflateRawSync(JSON.stringify(scans))
}

function unpack(packed: Buffer): RawScan[] {
  return JSON.parse(inflateRawSync(packed).toString()) as RawScan[]
}
