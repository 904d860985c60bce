/** `tarnward backup`: the ledger copied page by page beside whoever writes it, and the copy checked. */

import { existsSync, renameSync, rmSync } from 'node:fs'
import { CommandFailure } from './command-failure.ts'
import { checkChains, type LedgerPlace, ledgerPath, refuseDamaged, wholeLines, withLedger } from './ledger-file.ts'

/** A copy whose chain is not whole is not left behind: it would be found when it is needed. */
export async function backup(file: string, options: LedgerPlace): Promise<void> {
  const path = await ledgerPath(options)
  if (existsSync(file)) throw new CommandFailure('usage', `${file} is there already; name another file`)
  const partial = `${file}.part`
  try {
    rmSync(partial, { force: true })
    await withLedger(path, (ledger) => ledger.backup(partial))
    const checked = await withLedger(partial, checkChains)
    refuseDamaged(checked)
    renameSync(partial, file)
    process.stdout.write(`${[`${path} was copied to ${file}`, ...wholeLines(checked), KEPT_APART].join('\n')}\n`)
  } finally {
    for (const rest of ['', '-wal', '-shm']) rmSync(`${partial}${rest}`, { force: true })
  }
}

const KEPT_APART =
  'Everything that estimate and limits need is in it. Not in it: raw readings (telemetry.db) and tokens (access.db).'
