/** `tarnward report`: a period as one HTML file, from the running daemon, or from its files while none runs. */

import { existsSync } from 'node:fs'
import { writeFile } from 'node:fs/promises'
import { join } from 'node:path'
import type { Configuration } from '../config/configuration.ts'
import { configurationHash } from '../config/configuration-hash.ts'
import { LedgerFault } from '../ledger/ledger-fault.ts'
import { openSqliteLedger } from '../ledger/sqlite-ledger.ts'
import { reservoirSettings } from '../reservoir/configure-reservoir.ts'
import { settingsInForce } from '../reservoir/limit-change.ts'
import type { Period, Site } from '../shell/api/site.ts'
import { createRealClock, parseInstant } from '../shell/clock.ts'
import { openReservoir } from '../shell/open-reservoir.ts'
import { reportFacts } from '../shell/report/facts.ts'
import { reportHtml } from '../shell/report/report.ts'
import { CommandFailure } from './command-failure.ts'
import { askDaemonForText } from './daemon-http.ts'
import { readConfiguration } from './read-configuration.ts'
import { defaultStateFolder } from './run.ts'

export interface ReportOptions {
  readonly from: string
  readonly to?: string
  readonly out: string
  readonly url: string
  readonly config?: string
  readonly stateDir?: string
}

/** Writes the file and says where it is. An older file of that name is not written over. */
export async function report(options: ReportOptions, version: string): Promise<void> {
  const { out, config, url } = options
  if (existsSync(out)) throw new CommandFailure('usage', `--out: ${out} is there already; name another file`)
  const period = periodOf(options)
  const path = `/api/report?from=${period.fromMs}&to=${period.untilMs}`
  const text = await askDaemonForText(url, path).catch((error: unknown) => {
    if (!(error instanceof CommandFailure && error.kind === 'unavailable')) throw error
    if (config !== undefined) return fromFiles(options, period, version)
    throw new CommandFailure('unavailable', `${error.message} With --config SITE the files are read instead.`)
  })
  await writeFile(out, text, { flag: 'wx' })
  process.stdout.write(
    `${out}: ${new Date(period.fromMs).toISOString()} to ${new Date(period.untilMs).toISOString()}\n`,
  )
}

function periodOf({ from, to }: ReportOptions): Period {
  const fromMs = momentOf('--from', from)
  const untilMs = to === undefined ? createRealClock().wallMs() : momentOf('--to', to)
  if (fromMs < untilMs) return { fromMs, untilMs }
  throw new CommandFailure('usage', `--to: found ${to ?? 'now'}, which is not after --from ${from}`)
}

/** A day is the midnight it begins with, UTC. */
function momentOf(option: string, text: string): number {
  const atMs = /^\d{4}-\d{2}-\d{2}$/.test(text) ? Date.parse(`${text}T00:00:00Z`) : parseInstant(text)
  if (Number.isFinite(atMs)) return atMs
  throw new CommandFailure(
    'usage',
    `${option}: found "${text}"; a day such as 2026-03-02, or a time such as 2026-03-02T08:00:00Z`,
  )
}

async function fromFiles(options: ReportOptions, period: Period, version: string): Promise<string> {
  const configuration = await readConfiguration(options.config!)
  const folder = options.stateDir ?? defaultStateFolder(configuration.site.site)
  const path = join(folder, 'ledger.db')
  if (!existsSync(path))
    throw new CommandFailure('no-input', `${path}: there is no ledger of this site; name its folder with --state-dir`)
  try {
    const ledger = await openSqliteLedger({ path, ballastBytes: 0 })
    try {
      return reportHtml(await reportFacts(await siteOf(configuration, ledger, version), period))
    } finally {
      await ledger.close()
    }
  } catch (error) {
    throw error instanceof LedgerFault ? new CommandFailure('data', `${path}: ${error.message}`) : error
  }
}

async function siteOf(
  configuration: Configuration,
  ledger: Awaited<ReturnType<typeof openSqliteLedger>>,
  version: string,
): Promise<Site> {
  const id = configuration.site.site
  const nowMs = createRealClock().wallMs()
  const settings = reservoirSettings(configuration)
  const { state } = await openReservoir(ledger, id, settings, configurationHash(configuration), nowMs)
  return {
    ...{ configuration, version, settings: settingsInForce(settings, state.changedLimits), statedSettings: settings },
    state: () => state,
    nowMs: () => nowMs,
    records: async (kinds, period) =>
      (await ledger.readKinds(id, kinds, period)).map((entry) => JSON.parse(entry.json)),
  }
}
