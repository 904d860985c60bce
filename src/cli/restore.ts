/** `tarnward restore`: a backup takes the ledger’s place, checked first; the ledger that was there is moved aside. */

import { copyFileSync, existsSync, mkdirSync, renameSync, rmSync } from 'node:fs'
import { dirname } from 'node:path'
import { LedgerFault } from '../ledger/ledger-fault.ts'
import { type OwnerLock, takeOwnerLock } from '../ledger/owner-lock.ts'
import { CommandFailure } from './command-failure.ts'
import { checkChains, type LedgerPlace, ledgerPath, refuseDamaged, wholeLines, withLedger } from './ledger-file.ts'

/** Above every term that was given out since the backup, where the ledger that knew them cannot be asked. Chosen. */
const TERMS_BEYOND = 1000
const PARTS = ['', '-wal', '-shm'] as const

/** Refuses while a daemon runs, and a backup whose chain is not whole. */
export async function restore(file: string, options: LedgerPlace): Promise<void> {
  const path = await ledgerPath(options)
  if (!existsSync(file)) throw new CommandFailure('no-input', `${file}: there is no such file`)
  mkdirSync(dirname(path), { recursive: true, mode: 0o700 })
  const lock = lockOf(path)
  const incoming = `${path}.restoring`
  try {
    for (const part of PARTS) rmSync(`${incoming}${part}`, { force: true })
    copyFileSync(file, incoming)
    const checked = await withLedger(incoming, async (ledger) => {
      const found = await checkChains(ledger)
      refuseDamaged(found)
      for (const { reservoir } of found)
        ledger.liftTerm(reservoir, (ledger.termOf(reservoir)?.term ?? 0) + TERMS_BEYOND)
      return found
    })
    const aside = moveAside(path)
    for (const part of PARTS) if (existsSync(`${incoming}${part}`)) renameSync(`${incoming}${part}`, `${path}${part}`)
    const was = aside === undefined ? [] : [`The ledger that was there is now ${aside}`]
    process.stdout.write(`${[`${file} is now ${path}`, ...wholeLines(checked), ...was, TO_DO].join('\n')}\n`)
  } finally {
    for (const part of PARTS) rmSync(`${incoming}${part}`, { force: true })
    lock.release()
  }
}

function lockOf(path: string): OwnerLock {
  try {
    const lock = takeOwnerLock(path)
    if (lock !== 'held') return lock
  } catch (error) {
    throw error instanceof LedgerFault ? new CommandFailure('input-output', error.message) : error
  }
  throw new CommandFailure('unavailable', `${path}: a daemon keeps this ledger. Stop it first, then restore.`)
}

/** To a name that is free, with the log that belongs to it. */
function moveAside(path: string): string | undefined {
  if (!existsSync(path)) return undefined
  let number = 1
  while (existsSync(`${path}.before-restore-${number}`)) number++
  const aside = `${path}.before-restore-${number}`
  for (const part of PARTS) if (existsSync(`${path}${part}`)) renameSync(`${path}${part}`, `${aside}${part}`)
  return aside
}

const TO_DO =
  'Doses since the backup are not in it: what the pump nodes count beyond it trips at the next start. Look at the bottles and write down what was added, laboratory reports included, before that trip is reset.'
