import type { Database } from 'better-sqlite3'

/** One step of a file’s schema; its number is its place in the list, from 1. A landed step is never edited. */
export interface Migration {
  readonly title: string
  readonly up: (database: Database) => void
}

/** What marks a file as ours: application_id, and the steps that lead to the newest user_version. */
export interface Schema {
  readonly applicationId: number
  readonly migrations: readonly Migration[]
}

/** 'TnwL', 'TnwT' and 'TnwA' in ASCII; chosen here, registered nowhere. */
const LEDGER_APPLICATION_ID = 0x546e774c
const TELEMETRY_APPLICATION_ID = 0x546e7754
const ACCESS_APPLICATION_ID = 0x546e7741

export const LEDGER_SCHEMA: Schema = {
  applicationId: LEDGER_APPLICATION_ID,
  migrations: [
    {
      title: 'reservoirs with term and head, chained entries, sealed snapshots',
      up: (database) =>
        database.exec(`
          CREATE TABLE reservoir (
            id TEXT PRIMARY KEY,
            term INTEGER NOT NULL,
            owner TEXT NOT NULL,
            head_sequence INTEGER NOT NULL,
            head_hash BLOB NOT NULL CHECK (length(head_hash) = 32),
            head_at_ms INTEGER NOT NULL
          ) STRICT, WITHOUT ROWID;
          CREATE TABLE entry (
            reservoir_id TEXT NOT NULL REFERENCES reservoir (id),
            sequence INTEGER NOT NULL CHECK (sequence > 0),
            kind TEXT NOT NULL,
            at_ms INTEGER NOT NULL,
            json TEXT NOT NULL CHECK (json_valid(json)),
            hash BLOB NOT NULL CHECK (length(hash) = 32),
            PRIMARY KEY (reservoir_id, sequence)
          ) STRICT, WITHOUT ROWID;
          CREATE TABLE snapshot (
            reservoir_id TEXT NOT NULL REFERENCES reservoir (id),
            sequence INTEGER NOT NULL,
            at_ms INTEGER NOT NULL,
            bytes BLOB NOT NULL,
            bytes_hash BLOB NOT NULL CHECK (length(bytes_hash) = 32),
            chain_hash BLOB NOT NULL CHECK (length(chain_hash) = 32),
            PRIMARY KEY (reservoir_id, sequence)
          ) STRICT;`),
    },
  ],
}

export const TELEMETRY_SCHEMA: Schema = {
  applicationId: TELEMETRY_APPLICATION_ID,
  migrations: [
    {
      title: 'packed batches of raw scans',
      up: (database) =>
        database.exec(`
          CREATE TABLE batch (
            id INTEGER PRIMARY KEY,
            reservoir_id TEXT NOT NULL,
            from_ms INTEGER NOT NULL,
            until_ms INTEGER NOT NULL,
            scans INTEGER NOT NULL,
            packed BLOB NOT NULL
          ) STRICT;
          CREATE INDEX batch_by_time ON batch (reservoir_id, until_ms);`),
    },
  ],
}

export const ACCESS_SCHEMA: Schema = {
  applicationId: ACCESS_APPLICATION_ID,
  migrations: [
    {
      title: 'tokens by their hash, and the keys of acts already asked for',
      up: (database) =>
        database.exec(`
          CREATE TABLE token (
            id TEXT PRIMARY KEY,
            name TEXT NOT NULL,
            role TEXT NOT NULL CHECK (role IN ('viewer', 'grower', 'technician')),
            hash BLOB NOT NULL UNIQUE CHECK (length(hash) = 32),
            created_at_ms INTEGER NOT NULL,
            expires_at_ms INTEGER,
            revoked_at_ms INTEGER,
            last_used_at_ms INTEGER
          ) STRICT, WITHOUT ROWID;
          CREATE TABLE asked (
            who TEXT NOT NULL,
            key TEXT NOT NULL,
            request_hash BLOB NOT NULL CHECK (length(request_hash) = 32),
            at_ms INTEGER NOT NULL,
            status INTEGER,
            json TEXT,
            PRIMARY KEY (who, key)
          ) STRICT, WITHOUT ROWID;
          CREATE INDEX asked_by_time ON asked (at_ms);`),
    },
  ],
}
