import Sqlite from 'better-sqlite3'
import { isFault, toLedgerFault } from './ledger-fault.ts'

export interface OwnerLock {
  release(): void
}

/** A handle that nobody refers to is closed by the garbage collector, and its lock would go with it. */
const HELD = new Set<Sqlite.Database>()

/**
 * The lock that says which process owns a store, kept by an open handle on `<path>.lock` and gone with the process,
 * a kill -9 included. Nothing may open and close that file by other means in this process: POSIX drops all of a
 * process’s locks on a file when any of its handles closes (https://www.sqlite.org/howtocorrupt.html, 2.2).
 * @returns the lock, or 'held' where another handle has it
 * @throws LedgerFault where the folder cannot be written
 */
export function takeOwnerLock(path: string): OwnerLock | 'held' {
  const file = `${path}.lock`
  let database: Sqlite.Database | undefined
  try {
    database = new Sqlite(file, { timeout: 0 })
    database.exec('BEGIN EXCLUSIVE')
  } catch (error) {
    database?.close()
    const fault = toLedgerFault(error, file)
    if (isFault(fault, 'locked')) return 'held'
    throw fault
  }
  const held = database
  HELD.add(held)
  return {
    release: () => {
      HELD.delete(held)
      held.close()
    },
  }
}
