/** `tarnward run`: the daemon in the foreground, on a site of one’s own or on the demo. */

import { readFile } from 'node:fs/promises'
import { homedir } from 'node:os'
import { dirname, join, resolve } from 'node:path'
import type { Configuration } from '../config/configuration.ts'
import { effectWarnings } from '../reservoir/configure-effect.ts'
import { createRealClock } from '../shell/clock.ts'
import { type Closing, closeAll } from '../shell/closing.ts'
import { componentLog, createLog, type Logger } from '../shell/log.ts'
import { createMqttLink, type MqttLink } from '../shell/mqtt.ts'
import type { NodeLink } from '../shell/node-link.ts'
import { createNotifier, type Recipient } from '../shell/notify.ts'
import { CommandFailure } from './command-failure.ts'
import { begin, durationMs, endOnFault, openPage, portOf, untilEnd } from './foreground.ts'
import { readConfiguration } from './read-configuration.ts'

export interface RunOptions {
  readonly config?: string
  readonly demo?: boolean
  readonly for?: string
  readonly stateDir?: string
  readonly port: string
  readonly listen?: string
  readonly hostName?: readonly string[]
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
  const lastsMs = durationMs(options.for)
  const port = portOf(options.port)
  const configuration = await readConfiguration(siteFile)
  const { site, link: wire } = configuration.site
  const clock = createRealClock()
  const ending = untilEnd(lastsMs)
  const closings: Closing[] = []
  try {
    const stateFolder = options.stateDir ?? defaultStateFolder(site)
    const link = await siteLink(configuration, siteFile, log)
    const notifier = createNotifier({
      ...{ site, clock, log: componentLog(log, 'notify') },
      people: await recipients(configuration, siteFile),
    })
    closings.unshift(() => notifier.stop())
    const daemon = await begin({
      notify: (notice) => notifier.notify(notice),
      ...{ configuration, clock, link, log, version, leaseMs: wire.leaseS * 1000, onFatal: ending.fail },
      stateFolder,
      ...('publishState' in link
        ? { publishState: (suffix: string, json: string) => (link as MqttLink).publishState(suffix, json) }
        : {}),
    })
    closings.unshift(() => daemon.stop())
    endOnFault(daemon, log)
    const page = await openPage(daemon, { port, clock, listen: options.listen, hostNames: options.hostName }, log)
    closings.unshift(() => page.close())
    for (const warning of effectWarnings(configuration)) log.warn(warning)
    log.info(`keeping ${site}; the page is at ${page.url}`)
    const failure = await ending.wait
    if (failure) throw failure
  } finally {
    ending.end()
    await closeAll(closings)
  }
}

async function siteLink(configuration: Configuration, siteFile: string, log: Logger): Promise<NodeLink> {
  const { site, link } = configuration.site
  const onNote = (level: 'info' | 'warn', text: string): void => componentLog(log, 'link')[level](text)
  if (link.serial) {
    const { createSerialLink } = await import('../shell/serial.ts')
    return createSerialLink({ ...link.serial, onNote })
  }
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

async function recipients(configuration: Configuration, siteFile: string): Promise<readonly Recipient[]> {
  return Promise.all(
    configuration.site.alarms.people.map(async ({ name, webhook, secretFile }) =>
      secretFile === undefined ? { name, webhook } : { name, webhook, secret: await secretOf(secretFile, siteFile) },
    ),
  )
}

async function secretOf(file: string, siteFile: string): Promise<string> {
  const path = resolve(dirname(siteFile), file)
  try {
    return (await readFile(path, 'utf8')).trim()
  } catch {
    throw new CommandFailure('no-input', `${path}: the secret of a person’s webhook (alarms.people) cannot be read`)
  }
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
export function defaultStateFolder(site: string): string {
  const own = process.env['STATE_DIRECTORY']
  if (own) return own
  return join(process.env['XDG_STATE_HOME'] ?? join(homedir(), '.local', 'state'), 'tarnward', site)
}
