/** Who may ask, and what was asked already: tokens by hash, and the keys of requests that may move liquid. */

import type { Database } from 'better-sqlite3'
import { toLedgerFault } from './ledger-fault.ts'
import { ACCESS_SCHEMA } from './schema.ts'
import { openSqliteFile } from './sqlite-file.ts'

export type TokenRole = 'viewer' | 'grower' | 'technician'

export interface StoredToken {
  readonly id: string
  readonly name: string
  readonly role: TokenRole
  readonly createdAtMs: number
  readonly expiresAtMs?: number
  readonly revokedAtMs?: number
  readonly lastUsedAtMs?: number
}

/** What is known of a key: nothing, that it was asked and nobody can say what became of it, or its answer. */
export type AskedBefore =
  | { readonly kind: 'new' }
  | { readonly kind: 'other-request' }
  | { readonly kind: 'open' }
  | { readonly kind: 'answered'; readonly status: number; readonly json: string }

interface TokenRow {
  readonly id: string
  readonly name: string
  readonly role: TokenRole
  readonly hash: Buffer
  readonly created_at_ms: number
  readonly expires_at_ms: number | null
  readonly revoked_at_ms: number | null
  readonly last_used_at_ms: number | null
}

interface AskedRow {
  readonly request_hash: Buffer
  readonly status: number | null
  readonly json: string | null
}

/** A retry comes within minutes; a week covers a phone left in a drawer. Chosen. */
const KEYS_KEPT_MS = 7 * 86_400_000
/** When a token was last used is told to the hour, so that reading writes next to nothing. */
const USED_STEP_MS = 3_600_000

/** Opens the file, or makes one; commits are synced. @throws LedgerFault as `openSqliteFile` */
export async function openAccessStore(path: string): Promise<AccessStore> {
  return new AccessStore(path, await openSqliteFile({ path, schema: ACCESS_SCHEMA, synchronous: 'FULL' }))
}

type Soon<Value> = Value | Promise<Value>

/** A store of tokens and keys, whoever writes it: reading is at once, writing may wait for a disk. */
export interface AccessBook {
  tokens(): readonly (StoredToken & { readonly hash: Buffer })[]
  addToken(token: StoredToken, hash: Buffer): Soon<void>
  revokeToken(id: string, atMs: number): Soon<boolean>
  noteUse(token: StoredToken, atMs: number): Soon<void>
  ask(request: { who: string; key: string; hash: Buffer; atMs: number }): Soon<AskedBefore>
  answer(who: string, key: string, status: number, json: string): Soon<void>
  forget(who: string, key: string): Soon<void>
  close(): void
}

/** Every method throws LedgerFault where the disk does. */
export class AccessStore implements AccessBook {
  readonly #path: string
  readonly #database: Database

  constructor(path: string, database: Database) {
    this.#path = path
    this.#database = database
  }

  addToken(token: StoredToken, hash: Buffer): void {
    const { id, name, role, createdAtMs, expiresAtMs } = token
    this.#run(
      'INSERT INTO token (id, name, role, hash, created_at_ms, expires_at_ms) VALUES (?, ?, ?, ?, ?, ?)',
      ...[id, name, role, hash, createdAtMs, expiresAtMs ?? null],
    )
  }

  /** Oldest first, with the hash to compare with. */
  tokens(): readonly (StoredToken & { readonly hash: Buffer })[] {
    return this.#guarded(() =>
      this.#database.prepare<[], TokenRow>('SELECT * FROM token ORDER BY created_at_ms, id').all().map(tokenOf),
    )
  }

  /** @returns whether there was such a token that was still good for anything */
  revokeToken(id: string, atMs: number): boolean {
    return this.#run('UPDATE token SET revoked_at_ms = ? WHERE id = ? AND revoked_at_ms IS NULL', atMs, id) > 0
  }

  noteUse(token: StoredToken, atMs: number): void {
    if (atMs - (token.lastUsedAtMs ?? 0) < USED_STEP_MS) return
    this.#run('UPDATE token SET last_used_at_ms = ? WHERE id = ?', atMs, token.id)
  }

  /** Keeps a key before anything is done for it, and says what is known of it. */
  ask(request: { who: string; key: string; hash: Buffer; atMs: number }): AskedBefore {
    const { who, key, hash, atMs } = request
    return this.#guarded(() =>
      this.#database
        .transaction((): AskedBefore => {
          const row = this.#database
            .prepare<[string, string], AskedRow>(
              'SELECT request_hash, status, json FROM asked WHERE who = ? AND key = ?',
            )
            .get(who, key)
          if (row) return knownAs(row, hash)
          this.#run('DELETE FROM asked WHERE at_ms < ?', atMs - KEYS_KEPT_MS)
          this.#run('INSERT INTO asked (who, key, request_hash, at_ms) VALUES (?, ?, ?, ?)', who, key, hash, atMs)
          return { kind: 'new' }
        })
        .immediate(),
    )
  }

  answer(who: string, key: string, status: number, json: string): void {
    this.#run('UPDATE asked SET status = ?, json = ? WHERE who = ? AND key = ?', status, json, who, key)
  }

  /** It was refused and nothing was done, so the same key may be tried again. */
  forget(who: string, key: string): void {
    this.#run('DELETE FROM asked WHERE who = ? AND key = ?', who, key)
  }

  close(): void {
    this.#database.close()
  }

  #run(sql: string, ...values: readonly (string | number | Buffer | null)[]): number {
    return this.#guarded(() => this.#database.prepare(sql).run(...values).changes)
  }

  #guarded<Answer>(work: () => Answer): Answer {
    try {
      return work()
    } catch (error) {
      throw toLedgerFault(error, this.#path)
    }
  }
}

function knownAs(row: AskedRow, hash: Buffer): AskedBefore {
  if (!row.request_hash.equals(hash)) return { kind: 'other-request' }
  if (row.status === null || row.json === null) return { kind: 'open' }
  return { kind: 'answered', status: row.status, json: row.json }
}

function tokenOf(row: TokenRow): StoredToken & { readonly hash: Buffer } {
  const { id, name, role, hash } = row
  return {
    ...{ id, name, role, hash, createdAtMs: row.created_at_ms },
    ...(row.expires_at_ms === null ? {} : { expiresAtMs: row.expires_at_ms }),
    ...(row.revoked_at_ms === null ? {} : { revokedAtMs: row.revoked_at_ms }),
    ...(row.last_used_at_ms === null ? {} : { lastUsedAtMs: row.last_used_at_ms }),
  }
}
