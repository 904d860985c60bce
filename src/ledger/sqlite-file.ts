import { mkdirSync } from 'node:fs'
import { dirname } from 'node:path'
import Sqlite, { type Database } from 'better-sqlite3'
import { ledgerFault, toLedgerFault } from './ledger-fault.ts'
import { takeOwnerLock } from './owner-lock.ts'
import type { Schema } from './schema.ts'

export interface SqliteFileOptions {
  readonly path: string
  readonly schema: Schema
  /** FULL: an acknowledged commit survives a power cut. NORMAL: the last ones may be lost, the file stays whole */
  readonly synchronous: 'FULL' | 'NORMAL'
  /** largest size in pages of 4096 bytes; beyond it a write fails as if the disk were full */
  readonly pageCountMax?: number | undefined
}

/** How long a statement waits for another process’s reader or backup; chosen, longer than any backup step. */
const BUSY_TIMEOUT_MS = 2000
const SYNCHRONOUS = { NORMAL: 1, FULL: 2 } as const

/**
 * An open database of ours at the newest schema, made where there is none.
 * A file of an older schema is first copied to `<path>.schema-<n>.bak` and then brought forward, each step in one
 * transaction, with the owner’s lock taken so that no running daemon loses the ground under its feet.
 * @throws LedgerFault: 'newer-schema', 'not-a-ledger', 'damaged', 'read-only', 'full' or 'locked'
 */
export async function openSqliteFile(options: SqliteFileOptions): Promise<Database> {
  const { path, schema } = options
  let database: Database | undefined
  try {
    mkdirSync(dirname(path), { recursive: true, mode: 0o700 })
    database = new Sqlite(path, { timeout: BUSY_TIMEOUT_MS })
    refuseForeign(database, path, schema)
    setDurability(database, options)
    if (options.pageCountMax !== undefined) database.pragma(`max_page_count = ${options.pageCountMax}`)
    await migrate(database, path, schema)
    return database
  } catch (error) {
    database?.close()
    throw toLedgerFault(error, path)
  }
}

/** Before anything is written to it: a file of another program, or of our own future, is left as it is. */
function refuseForeign(database: Database, path: string, schema: Schema): void {
  const applicationId = database.pragma('application_id', { simple: true }) as number
  const tables = database.prepare('SELECT count(*) FROM sqlite_schema').pluck().get() as number
  if (applicationId === 0 && tables === 0) return
  if (applicationId !== schema.applicationId) throw ledgerFault('not-a-ledger', path)
  const version = versionOf(database)
  if (version > schema.migrations.length) {
    const known = new Error(`schema ${version}, this version knows up to ${schema.migrations.length}`)
    throw ledgerFault('newer-schema', path, known)
  }
}

/** The driver’s build defaults WAL to NORMAL, also for a file once opened with FULL, so it is set and read back each time. */
function setDurability(database: Database, options: SqliteFileOptions): void {
  const mode = database.pragma('journal_mode = WAL', { simple: true })
  database.pragma(`synchronous = ${options.synchronous}`)
  database.pragma('foreign_keys = ON')
  const synchronous = database.pragma('synchronous', { simple: true })
  if (mode !== 'wal' || synchronous !== SYNCHRONOUS[options.synchronous]) {
    throw new Error(
      `${options.path}: wanted WAL and synchronous ${options.synchronous}, got ${mode} and ${synchronous}`,
    )
  }
}

async function migrate(database: Database, path: string, schema: Schema): Promise<void> {
  if (versionOf(database) === schema.migrations.length) return
  const lock = takeOwnerLock(path)
  if (lock === 'held')
    throw ledgerFault('locked', path, new Error('a daemon that runs must stop before its files are brought forward'))
  try {
    const found = versionOf(database)
    if (found > 0) await database.backup(`${path}.schema-${found}.bak`)
    for (let next = found; next < schema.migrations.length; next++) applyStep(database, schema, next)
  } finally {
    lock.release()
  }
}

function applyStep(database: Database, schema: Schema, index: number): void {
  const step = schema.migrations[index]!
  database
    .transaction(() => {
      step.up(database)
      database.pragma(`application_id = ${schema.applicationId}`)
      database.pragma(`user_version = ${index + 1}`)
    })
    .immediate()
}

function versionOf(database: Database): number {
  return database.pragma('user_version', { simple: true }) as number
}
