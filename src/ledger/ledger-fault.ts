export const LEDGER_FAULTS = ['full', 'read-only', 'damaged', 'not-a-ledger', 'newer-schema', 'locked'] as const
export type LedgerFaultReason = (typeof LEDGER_FAULTS)[number]

/** What a store could not do, in words; `reason` is what a program decides by. */
export class LedgerFault extends Error {
  readonly reason: LedgerFaultReason

  constructor(reason: LedgerFaultReason, message: string, options?: ErrorOptions) {
    super(message, options)
    this.name = 'LedgerFault'
    this.reason = reason
  }
}

/** Each says what a person should do next; `{file}` is the path. */
const WORDS: Readonly<Record<LedgerFaultReason, string>> = {
  full: '{file}: the disk is full. Nothing of this write was kept. Make room on it, then restart.',
  'read-only': '{file}: cannot be written. Check owner, mode and mount of the file and of its folder.',
  damaged: '{file}: cannot be trusted any more. Stop, keep a copy of the file, and restore the last backup.',
  'not-a-ledger': '{file}: is no file of this program. Move it away or name another folder.',
  'newer-schema':
    '{file}: was written by a newer version. Install that version, or restore the copy it took before upgrading.',
  locked: '{file}: is in use by another process. Stop that one first.',
}

/** The fault of a reason and a file in its usual words. */
export function ledgerFault(reason: LedgerFaultReason, file: string, cause?: unknown): LedgerFault {
  const detail = cause instanceof Error ? ` (${cause.message})` : ''
  return new LedgerFault(reason, WORDS[reason].replace('{file}', file) + detail, { cause })
}

/** Whether an error is the fault of this reason. */
export function isFault(error: unknown, reason: LedgerFaultReason): error is LedgerFault {
  return error instanceof LedgerFault && error.reason === reason
}

/**
 * A driver’s error as a fault of the file it came from.
 * @returns a LedgerFault, or the error itself where it is none of the disk’s or the file’s (a broken invariant)
 *
 * Result codes: https://www.sqlite.org/rescode.html. An I/O error counts as damage: after one, nothing that the disk
 * says about earlier writes can be relied on.
 */
export function toLedgerFault(error: unknown, file: string): unknown {
  if (error instanceof LedgerFault) return error
  const code = codeOf(error)
  const reason = REASONS.find(([prefix]) => code.startsWith(prefix))?.[1]
  return reason === undefined ? error : ledgerFault(reason, file, error)
}

const REASONS: readonly (readonly [string, LedgerFaultReason])[] = [
  ['SQLITE_FULL', 'full'],
  ['ENOSPC', 'full'],
  ['EDQUOT', 'full'],
  ['SQLITE_READONLY', 'read-only'],
  ['SQLITE_CANTOPEN', 'read-only'],
  ['SQLITE_PERM', 'read-only'],
  ['EROFS', 'read-only'],
  ['EACCES', 'read-only'],
  ['EPERM', 'read-only'],
  ['SQLITE_NOTADB', 'not-a-ledger'],
  ['SQLITE_CORRUPT', 'damaged'],
  ['SQLITE_IOERR', 'damaged'],
  ['EIO', 'damaged'],
  ['SQLITE_BUSY', 'locked'],
  ['SQLITE_LOCKED', 'locked'],
]

function codeOf(error: unknown): string {
  return String((error as { readonly code?: unknown } | null | undefined)?.code)
}
