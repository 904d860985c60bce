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

/** Scans of one reservoir that go to the disk together, oldest first. */
export interface ScanBatch {
  readonly reservoirId: string
  readonly scans: readonly RawScan[]
}

/** The file alone, for whoever writes to it. @throws LedgerFault as `openSqliteFile` */
export async function openTelemetryFile(options: TelemetryOptions): Promise<TelemetryFile> {
  const database = await openSqliteFile({ ...options, schema: TELEMETRY_SCHEMA, synchronous: 'NORMAL' })
  return new TelemetryFile(options.path, database)
}

/**
 * Opens the store of raw scans. It is the only store that may lose its last two minutes, and no estimate reads it.
 * @param write who writes a batch; the store itself where it is left out
 * @throws LedgerFault as `openSqliteFile`
 */
export async function openTelemetry(
  options: TelemetryOptions,
  write?: (batches: readonly ScanBatch[]) => Promise<void>,
): Promise<Telemetry> {
  const file = await openTelemetryFile(options)
  return new Telemetry(file, write ?? (async (batches) => file.write(batches)))
}

/** Raw scans on the disk, packed by reservoir, lossless. */
export class TelemetryFile {
  readonly #path: string
  readonly #database: Database

  constructor(path: string, database: Database) {
    this.#path = path
    this.#database = database
  }

  /** Writes batches in one commit, and removes what is past its time. @throws LedgerFault; then nothing was written */
  write(batches: readonly ScanBatch[]): void {
    try {
      this.#database.transaction(() => this.#writeAll(batches)).immediate()
    } catch (error) {
      throw toLedgerFault(error, this.#path)
    }
  }

  /** Scans of the batches that reach into [fromMs, untilMs]. */
  read(reservoirId: string, fromMs: number, untilMs: number): readonly RawScan[] {
    return this.#database
      .prepare<[string, number, number], Buffer>(
        'SELECT packed FROM batch WHERE reservoir_id = ? AND until_ms >= ? AND from_ms <= ? ORDER BY id',
      )
      .pluck()
      .all(reservoirId, fromMs, untilMs)
      .flatMap(unpack)
  }

  close(): void {
    this.#database.close()
  }

  #writeAll(batches: readonly ScanBatch[]): void {
    const insert = this.#database.prepare(
      'INSERT INTO batch (reservoir_id, from_ms, until_ms, scans, packed) VALUES (?, ?, ?, ?, ?)',
    )
    const prune = this.#database.prepare(
      'DELETE FROM batch WHERE id IN (SELECT id FROM batch WHERE reservoir_id = ? AND until_ms < ? LIMIT ?)',
    )
    for (const { reservoirId, scans } of batches) {
      const first = scans[0]
      const last = scans.at(-1)
      if (first === undefined || last === undefined) continue
      insert.run(reservoirId, first.atMs, last.atMs, scans.length, pack(scans))
      prune.run(reservoirId, last.atMs - RETENTION_MS, PRUNE_MAX)
    }
  }
}

/** Raw scans as they come in: what is not written yet waits here. */
export class Telemetry {
  readonly #file: TelemetryFile
  readonly #write: (batches: readonly ScanBatch[]) => Promise<void>
  #waiting = new Map<string, RawScan[]>()
  /** with the writer now; back among those that wait where it fails */
  #underWay = new Map<string, RawScan[]>()
  #flushing: Promise<void> | undefined
  #dropped = 0

  constructor(file: TelemetryFile, write: (batches: readonly ScanBatch[]) => Promise<void>) {
    this.#file = file
    this.#write = write
  }

  /** Takes a scan; writes when the oldest waiting one is two minutes old. @throws LedgerFault; the scans stay waiting */
  async record(reservoirId: string, raw: RawScan): Promise<void> {
    this.hold(reservoirId, raw)
    await this.flushIfDue(raw.atMs)
  }

  /** Takes a scan and writes nothing: what room a full disk has left belongs to the ledger. */
  hold(reservoirId: string, raw: RawScan): void {
    const waiting = this.#waiting.get(reservoirId) ?? []
    waiting.push(raw)
    this.#waiting.set(reservoirId, waiting)
    this.#forgetOldest(waiting)
  }

  /** Writes what waits once it is due; call it from a timer so that a probe that falls silent is written too. */
  async flushIfDue(atMs: number): Promise<void> {
    // A disk that hangs is asked once: what comes meanwhile waits for the next time.
    if (this.#flushing) return
    const oldest = Math.min(...[...this.#waiting.values()].map((waiting) => waiting[0]?.atMs ?? Infinity))
    if (atMs - oldest >= BATCH_MAX_MS) await this.flush()
  }

  /** Writes everything that waits in one commit; while another batch is under way, waits for that one. @throws LedgerFault */
  async flush(): Promise<void> {
    if (this.#flushing) return this.#flushing
    this.#underWay = this.#waiting
    this.#waiting = new Map()
    this.#flushing = this.#hand([...this.#underWay].map(([reservoirId, scans]) => ({ reservoirId, scans })))
    try {
      await this.#flushing
    } finally {
      this.#flushing = undefined
    }
  }

  /** Scans that arrived in [fromMs, untilMs], in order of arrival, those still waiting included. */
  read(reservoirId: string, fromMs: number, untilMs: number): readonly RawScan[] {
    const within = (raw: RawScan) => raw.atMs >= fromMs && raw.atMs <= untilMs
    return [
      ...this.#file.read(reservoirId, fromMs, untilMs),
      ...(this.#underWay.get(reservoirId) ?? []),
      ...(this.#waiting.get(reservoirId) ?? []),
    ].filter(within)
  }

  /** Scans that never reached the disk because it took none for too long. */
  dropped(): number {
    return this.#dropped
  }

  /** Writes what waits and closes. A full disk at this moment costs the last two minutes and nothing else. */
  async close(): Promise<void> {
    try {
      await this.#flushing?.catch(() => {})
      await this.flush()
    } finally {
      this.#file.close()
    }
  }

  async #hand(batches: readonly ScanBatch[]): Promise<void> {
    try {
      if (batches.length > 0) await this.#write(batches)
    } catch (error) {
      for (const { reservoirId, scans } of batches) {
        const waiting = [...scans, ...(this.#waiting.get(reservoirId) ?? [])]
        this.#waiting.set(reservoirId, waiting)
        this.#forgetOldest(waiting)
      }
      throw error
    } finally {
      this.#underWay = new Map()
    }
  }

  #forgetOldest(waiting: RawScan[]): void {
    this.#dropped += waiting.splice(0, Math.max(0, waiting.length - HELD_MAX)).length
  }
}

/** JSON keeps every double; deflate brings two minutes of a bench from about 5 kB to about 0.7 kB. */
function pack(scans: readonly RawScan[]): Buffer {
  return deflateRawSync(JSON.stringify(scans))
}

function unpack(packed: Buffer): RawScan[] {
  return JSON.parse(inflateRawSync(packed).toString()) as RawScan[]
}
