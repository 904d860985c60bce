/** `tarnward run`: the daemon in the foreground, on a site of one’s own or on the demo. */

import { readFile } from 'node:fs/promises'
import { homedir } from 'node:os'
import { dirname, join, resolve } from 'node:path'
import type { Configuration } from '../config/configuration.ts'
import { LedgerFault } from '../ledger/ledger-fault.ts'
import { createRealClock } from '../shell/clock.ts'
import { type Daemon, type DaemonOptions, OwnedElsewhere, startDaemon } from '../shell/daemon.ts'
import { type HttpServer, startHttp } from '../shell/http.ts'
import { componentLog, createLog, type Logger } from '../shell/log.ts'
import { createMqttLink, type MqttLink } from '../shell/mqtt.ts'
import type { NodeLink } from '../shell/node-link.ts'
import { createSerialLink } from '../shell/serial.ts'
import { CommandFailure } from './command-failure.ts'
import { PACKAGE_FOLDER } from './package-folder.ts'
import { readConfiguration } from './read-configuration.ts'

export interface RunOptions {
  readonly config?: string
  readonly demo?: boolean
  readonly for?: string
  readonly stateDir?: string
  readonly port: string
  readonly scale: string
  readonly days: string
  readonly seed: string
  readonly jsonLog?: boolean
}

/** Runs until it is told to stop, or until `--for` is over. */
export async function run(options: RunOptions, version: string): Promise<void> {
  const log = createLog(
    options.jsonLog ? { pretty: false } : { pretty: options.demo === true || process.stdout.isTTY === true },
  )
  if (options.demo) {
    const { runDemo } = await import('./demo.ts')
    return runDemo(options, version, log)
  }
  if (!options.config)
    throw new CommandFailure('usage', 'run needs --config FILE, or --demo for a bench without hardware')
  await runSite(options, options.config, version, log)
}

async function runSite(options: RunOptions, siteFile: string, version: string, log: Logger): Promise<void> {
  const configuration = await readConfiguration(siteFile)
  const clock = createRealClock()
  const ending = untilEnd(options.for)
  const link = await siteLink(configuration, siteFile, log)
  const daemon = await begin({
    ...{ configuration, clock, link, log, version },
    stateFolder: options.stateDir ?? defaultStateFolder(configuration.site.site),
    leaseMs: configuration.site.link.leaseS * 1000,
    onFatal: ending.fail,
    ...('publishState' in link
      ? { publishState: (suffix: string, json: string) => (link as MqttLink).publishState(suffix, json) }
      : {}),
  })
  const page = await openPage(daemon, portOf(options.port), log)
  log.info(`keeping ${configuration.site.site}; the page is at ${page.url}`)
  const failure = await ending.wait
  await page.close()
  await daemon.stop()
  if (failure) throw new CommandFailure('unavailable', failure)
}

/** Starts the daemon; what stands in its way becomes a message with an exit code. */
export async function begin(options: DaemonOptions): Promise<Daemon> {
  try {
    return await startDaemon(options)
  } catch (error) {
    if (error instanceof OwnedElsewhere) throw new CommandFailure('unavailable', error.message)
    if (error instanceof LedgerFault) throw new CommandFailure('input-output', error.message)
    throw error
  }
}

/** The page; a port that is taken is a failure that says what to do. */
export async function openPage(daemon: Daemon, port: number, log: Logger): Promise<HttpServer> {
  const pageFolder = new URL('src/page/', PACKAGE_FOLDER)
  try {
    return await startHttp({ view: daemon.view, port, log: componentLog(log, 'http'), pageFolder })
  } catch (error) {
    await daemon.stop()
    throw new CommandFailure(
      'unavailable',
      `The page cannot open port ${port}: ${error instanceof Error ? error.message : String(error)}. Name another with --port.`,
    )
  }
}

async function siteLink(configuration: Configuration, siteFile: string, log: Logger): Promise<NodeLink> {
  const { site, link } = configuration.site
  const onNote = (level: 'info' | 'warn', text: string): void => componentLog(log, 'link')[level](text)
  if (link.serial) return createSerialLink({ ...link.serial, onNote })
  if (!link.broker)
    throw new CommandFailure(
      'configuration',
      `${siteFile}: link.broker or link.serial says how the nodes are reached; neither is there`,
    )
  const credentials =
    link.username === undefined
      ? {}
      : { credentials: { username: link.username, password: await passwordOf(link.passwordFile, siteFile) } }
  return createMqttLink({
    url: link.broker,
    base: `${link.prefix}/${site}`,
    clientId: `tarnward-${site}`,
    onNote,
    ...credentials,
  })
}

async function passwordOf(file: string | undefined, siteFile: string): Promise<string> {
  if (file === undefined) return ''
  const path = resolve(dirname(siteFile), file)
  try {
    return (await readFile(path, 'utf8')).trim()
  } catch {
    throw new CommandFailure('no-input', `${path}: the broker’s password file (link.passwordFile) cannot be read`)
  }
}

/** What systemd names, else the user’s own state folder. */
function defaultStateFolder(site: string): string {
  const own = process.env['STATE_DIRECTORY']
  if (own) return own
  return join(process.env['XDG_STATE_HOME'] ?? join(homedir(), '.local', 'state'), 'tarnward', site)
}

export function portOf(text: string): number {
  const port = Number(text)
  if (Number.isInteger(port) && port >= 0 && port <= 65_535) return port
  throw new CommandFailure('usage', `--port: found "${text}"; a number from 0 to 65535 is needed`)
}

export interface Ending {
  /** resolves when it is time to stop; with words where something failed */
  readonly wait: Promise<string | undefined>
  readonly fail: (why: string) => void
}

/** SIGINT and SIGTERM end it, and the time after `--for`. */
export function untilEnd(forTime: string | undefined): Ending {
  const lastsMs = forTime === undefined ? undefined : durationMs(forTime)
  let end: (failure?: string) => void = () => {}
  const wait = new Promise<string | undefined>((resolve) => {
    end = resolve
  })
  process.once('SIGINT', () => end())
  process.once('SIGTERM', () => end())
  if (lastsMs !== undefined) setTimeout(() => end(), lastsMs)
  return { wait, fail: (why) => end(why) }
}

const UNITS_MS: Readonly<Record<string, number>> = { s: 1000, m: 60_000, h: 3_600_000 }

function durationMs(text: string): number {
  const [, number, unit] = /^(\d+(?:\.\d+)?)(s|m|h)$/.exec(text) ?? []
  if (number && unit) return Number(number) * UNITS_MS[unit]!
  throw new CommandFailure('usage', `--for: found "${text}"; a time such as 60s, 5m or 2h is needed`)
}
