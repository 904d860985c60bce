/** `tarnward ledger verify`: every entry against the chain of hashes, also beside a running daemon. */

import { checkChains, type LedgerPlace, ledgerPath, refuseDamaged, wholeLines, withLedger } from './ledger-file.ts'

/** Prints the head of each reservoir; ends with exit code 65 where something was changed or cut. */
export async function ledgerVerify(options: LedgerPlace & { readonly json?: boolean }): Promise<void> {
  const path = await ledgerPath(options)
  const checked = await withLedger(path, checkChains)
  if (options.json) process.stdout.write(`${JSON.stringify({ path, reservoirs: checked })}\n`)
  refuseDamaged(checked)
  if (!options.json) process.stdout.write(`${[path, ...wholeLines(checked)].join('\n')}\n`)
}
