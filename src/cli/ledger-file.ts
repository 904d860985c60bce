/** The ledger’s file as commands name it, opened beside whoever runs, and checked. */

import { existsSync } from 'node:fs'
import { join } from 'node:path'
import type { ChainVerdict } from '../ledger/chain.ts'
import { LedgerFault } from '../ledger/ledger-fault.ts'
import { openSqliteLedger, type SqliteLedger } from '../ledger/sqlite-ledger.ts'
import { damageText } from '../shell/chain-check.ts'
import { LEDGER_FILE } from '../shell/stores.ts'
import { CommandFailure } from './command-failure.ts'
import { readConfiguration } from './read-configuration.ts'
import { defaultStateFolder } from './run.ts'

export interface LedgerPlace {
  readonly config?: string
  readonly stateDir?: string
}

/** @throws CommandFailure where neither folder nor site is named */
export async function ledgerPath({ config, stateDir }: LedgerPlace): Promise<string> {
  if (stateDir !== undefined) return join(stateDir, LEDGER_FILE)
  if (config === undefined) throw new CommandFailure('usage', 'say which ledger: --state-dir FOLDER or --config FILE')
  return join(defaultStateFolder((await readConfiguration(config)).site.site), LEDGER_FILE)
}

/** Opens a ledger for a while. @throws CommandFailure in the words of the fault where it cannot be used */
export async function withLedger<Found>(path: string, use: (ledger: SqliteLedger) => Promise<Found>): Promise<Found> {
  if (!existsSync(path)) throw new CommandFailure('no-input', `${path}: there is no such ledger`)
  try {
    const ledger = await openSqliteLedger({ path, ballastBytes: 0 })
    try {
      return await use(ledger)
    } finally {
      await ledger.close()
    }
  } catch (error) {
    throw error instanceof LedgerFault ? new CommandFailure('data', error.message) : error
  }
}

export interface CheckedReservoir {
  readonly reservoir: string
  readonly verdict: ChainVerdict
  /** undefined where the chain is whole */
  readonly damage?: string
}

/** Every reservoir’s whole chain. */
export async function checkChains(ledger: SqliteLedger): Promise<readonly CheckedReservoir[]> {
  const checked: CheckedReservoir[] = []
  for (const reservoir of ledger.reservoirIds()) {
    const verdict = await ledger.verifyChain(reservoir)
    const damage = damageText(ledger.path, verdict)
    checked.push({ reservoir, verdict, ...(damage === undefined ? {} : { damage }) })
  }
  return checked
}

/** One line a reservoir that is whole. */
export function wholeLines(checked: readonly CheckedReservoir[]): readonly string[] {
  return checked.flatMap(({ reservoir, verdict }) =>
    verdict.kind === 'whole' ? [`${reservoir}: ${verdict.sequence} entries, whole; head ${verdict.hash}`] : [],
  )
}

/** @throws CommandFailure naming the first damage */
export function refuseDamaged(checked: readonly CheckedReservoir[]): void {
  const damage = checked.find((one) => one.damage !== undefined)?.damage
  if (damage !== undefined) throw new CommandFailure('data', damage)
}
