/** From a secret to who it is and what they may do. Secrets are random; only their SHA-256 is kept. */

import { createHash, randomBytes, timingSafeEqual } from 'node:crypto'
import type { AccessBook, StoredToken, TokenRole } from '../../../ledger/access-store.ts'
import { LedgerFault } from '../../../ledger/ledger-fault.ts'
import { ROLES, type Role } from '../schema/route.ts'

/** Who asks. `name` goes into the ledger beside what they do. */
export interface Caller {
  readonly role: Role
  readonly name?: string
  /** how they are known: a token, the key of this process that only its own user can read, or not at all */
  readonly by: 'token' | 'local-key' | 'nothing'
  readonly expiresAtMs?: number
}

export const NOBODY: Caller = { role: 'anyone', by: 'nothing' }

export interface Access {
  /** undefined for a secret that is unknown, expired or revoked */
  callerOf(secret: string): Caller | undefined
  /** @throws LedgerFault where the token cannot be kept */
  create(wish: TokenWish): Promise<{ readonly secret: string; readonly token: StoredToken }>
  /** @returns whether there was such a token that was still good for anything; @throws LedgerFault */
  revoke(id: string): Promise<boolean>
  list(): readonly StoredToken[]
  readonly store: AccessBook
}

export interface TokenWish {
  readonly name: string
  readonly role: TokenRole
  readonly expiresInDays?: number | undefined
}

const DAY_MS = 86_400_000
/** 256 bits: guessing is hopeless, so a plain hash keeps them as well as a slow one would. */
const SECRET_BYTES = 32

export interface AccessOptions {
  readonly store: AccessBook
  readonly nowMs: () => number
  /** a secret of this process alone */
  readonly localKey?: string
}

/** Tokens of a store, and the local key where there is one. */
export function createAccess({ store, nowMs, localKey }: AccessOptions): Access {
  const localHash = localKey === undefined ? undefined : hashOf(localKey)
  return {
    store,
    callerOf(secret) {
      const hash = hashOf(secret)
      if (localHash !== undefined && timingSafeEqual(hash, localHash)) return { role: 'technician', by: 'local-key' }
      // All are compared, so that the time taken says nothing of which was nearly right.
      const found = store.tokens().filter((token) => timingSafeEqual(token.hash, hash))[0]
      if (!found || !isGood(found, nowMs())) return undefined
      void noteUse(store, found, nowMs())
      const { role, name, expiresAtMs } = found
      return { role, name, by: 'token', ...(expiresAtMs === undefined ? {} : { expiresAtMs }) }
    },
    async create(wish) {
      const secret = newSecret()
      const createdAtMs = nowMs()
      const expiry = wish.expiresInDays === undefined ? {} : { expiresAtMs: createdAtMs + wish.expiresInDays * DAY_MS }
      const token = { id: randomBytes(4).toString('hex'), name: wish.name, role: wish.role, createdAtMs, ...expiry }
      await store.addToken(token, hashOf(secret))
      return { secret, token }
    },
    revoke: async (id) => store.revokeToken(id, nowMs()),
    list: () => store.tokens().map(({ hash: _hash, ...token }) => token),
  }
}

/** A courtesy to whoever reads the list: a disk that does not take it keeps nobody out. */
async function noteUse(store: AccessBook, token: StoredToken, atMs: number): Promise<void> {
  try {
    await store.noteUse(token, atMs)
  } catch (error) {
    if (!(error instanceof LedgerFault)) throw error
  }
}

/** Whether a token opens anything now. */
export function isGood(token: StoredToken, nowMs: number): boolean {
  return token.revokedAtMs === undefined && (token.expiresAtMs === undefined || nowMs < token.expiresAtMs)
}

/** A new secret, as people copy it. */
export function newSecret(): string {
  return randomBytes(SECRET_BYTES).toString('base64url')
}

/** Whether a role is enough where another is asked for. */
export function isEnough(role: Role, needed: Role): boolean {
  return ROLES.indexOf(role) >= ROLES.indexOf(needed)
}

function hashOf(secret: string): Buffer {
  return createHash('sha256').update(secret).digest()
}
