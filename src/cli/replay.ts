/** `tarnward replay`: a ledger run again from its records, without a daemon and without touching a pump. */

import { existsSync } from 'node:fs'
import { formatConfigurationError } from '../config/configuration-error.ts'
import { loadConfiguration } from '../config/load-configuration.ts'
import { LedgerFault } from '../ledger/ledger-fault.ts'
import { openSqliteLedger } from '../ledger/sqlite-ledger.ts'
import { safetyLimits } from '../reservoir/configure-limits.ts'
import { reservoirSettings } from '../reservoir/configure-reservoir.ts'
import { type JudgedAgain, judgeAgain } from '../reservoir/judge-again.ts'
import type { LedgerRecord } from '../reservoir/record.ts'
import { type ReportAgainst, reportsAgainst } from '../reservoir/reports-against.ts'
import { CommandFailure } from './command-failure.ts'
import { readConfiguration } from './read-configuration.ts'

export interface ReplayOptions {
  readonly site: string
  readonly limits?: string
  readonly json?: boolean
}

/** Prints where the estimate and each report disagreed, and whether the gate’s verdicts come out again. */
export async function replay(ledgerFile: string, options: ReplayOptions): Promise<void> {
  const configuration = await readConfiguration(options.site)
  const records = await readLedger(ledgerFile, configuration.site.site)
  const { reports } = reportsAgainst(reservoirSettings(configuration), records)
  const limits =
    options.limits === undefined ? safetyLimits(configuration) : await otherLimits(options.site, options.limits)
  const judged = judgeAgain(limits, records)
  const changed = judged.filter(({ recorded, now }) => recorded !== now)
  const verdicts = { judged: judged.length, same: judged.length - changed.length, changed }
  if (options.json) process.stdout.write(`${JSON.stringify({ records: records.length, reports, verdicts })}\n`)
  else
    process.stdout.write(`${[...reports.flatMap(reportLines), ...verdictLines(verdicts, options.limits)].join('\n')}\n`)
  if (options.limits === undefined && changed.length > 0) process.exitCode = 1
}

async function otherLimits(site: string, limits: string): Promise<ReturnType<typeof safetyLimits>> {
  const read = await loadConfiguration(site, { limits })
  if (read.ok) return safetyLimits(read.configuration)
  throw new CommandFailure('configuration', read.errors.map(formatConfigurationError).join('\n'))
}

async function readLedger(path: string, reservoirId: string): Promise<readonly LedgerRecord[]> {
  if (!existsSync(path))
    throw new CommandFailure(
      'no-input',
      `${path}: there is no such ledger; it is the file ledger.db in the state folder`,
    )
  try {
    const ledger = await openSqliteLedger({ path, ballastBytes: 0 })
    const entries = await ledger.read(reservoirId, 0)
    await ledger.close()
    if (entries.length === 0) throw new CommandFailure('data', `${path}: nothing is kept of ${reservoirId} in it`)
    return entries.map((entry) => JSON.parse(entry.json) as LedgerRecord)
  } catch (error) {
    throw error instanceof LedgerFault ? new CommandFailure('data', `${path}: ${error.message}`) : error
  }
}

function reportLines({ id, sampledAtMs, elements }: ReportAgainst): string[] {
  const rows = elements.map(
    ({ element, estimatedMgPerL, sdMgPerL, reportedMgPerL, sigmas }) =>
      `  ${element.padEnd(6)} estimated ${figure(estimatedMgPerL)} ± ${figure(sdMgPerL)}   reported ${figure(reportedMgPerL)} mg/L   ${sigmas >= 0 ? '+' : ''}${sigmas.toFixed(1)} sd`,
  )
  return [`Report ${id}, bottle of ${new Date(sampledAtMs).toISOString()}; the estimate knew nothing of it:`, ...rows]
}

function figure(mgPerL: number): string {
  return (mgPerL >= 10 ? mgPerL.toFixed(1) : mgPerL.toFixed(3)).padStart(8)
}

function verdictLines(
  { judged, same, changed }: { judged: number; same: number; changed: readonly JudgedAgain[] },
  limits: string | undefined,
): string[] {
  const head =
    limits === undefined
      ? `${same} of ${judged} verdicts come out again as recorded.`
      : `Under ${limits}, ${changed.length} of ${judged} verdicts would have been others.`
  const rows = changed.map(
    ({ atMs, stock, volumeUl, recorded, now, why }) =>
      `  ${new Date(atMs).toISOString()} ${(volumeUl / 1000).toFixed(2)} mL of ${stock}: ${recorded} then, ${now} now${why.length > 0 ? ` (${why.join(', ')})` : ''}`,
  )
  return [head, ...rows]
}
