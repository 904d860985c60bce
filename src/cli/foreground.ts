/** What commands that stay in the foreground share: the daemon’s start, its page, and how it ends. */

import { LedgerFault } from '../ledger/ledger-fault.ts'
import { type Access, createAccess, isGood } from '../shell/api/access/access.ts'
import { LOOPBACK } from '../shell/api/access/guard.ts'
import { createLocalKey } from '../shell/api/access/local-key.ts'
import type { Desk } from '../shell/api/desk.ts'
import type { Clock } from '../shell/clock.ts'
import { type Closing, closeAll } from '../shell/closing.ts'
import { type Daemon, type DaemonOptions, type FatalKind, startDaemon } from '../shell/daemon.ts'
import { type HttpServer, startHttp } from '../shell/http.ts'
import { componentLog, type Logger } from '../shell/log.ts'
import { OwnedElsewhere } from '../shell/stores.ts'
import { CommandFailure, EXIT_CODES } from './command-failure.ts'
import { PACKAGE_FOLDER } from './package-folder.ts'
import { wholeNumber } from './whole-number.ts'

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

/** The desk’s solver and tables are loaded when somebody first asks, not before a reservoir is open. */
const DESK_ON_DEMAND: Desk = {
  choices: async () => (await desk()).choices(),
  water: async (question) => (await desk()).water(question),
  recipe: async (question) => (await desk()).recipe(question),
  stocks: async (question) => (await desk()).stocks(question),
  amend: async (question) => (await desk()).amend(question),
}

async function desk(): Promise<Desk> {
  return (await import('./desk.ts')).createDesk()
}

export interface PageWish {
  readonly port: number
  readonly clock: Clock
  /** an address beside loopback */
  readonly listen?: string | undefined
  readonly hostNames?: readonly string[] | undefined
}

/** The page; a port that is taken is a failure that says what to do. */
export async function openPage(daemon: Daemon, wish: PageWish, log: Logger): Promise<HttpServer> {
  const { port, listen, hostNames, clock } = wish
  const key = createLocalKey()
  const access = createAccess({ store: daemon.access, nowMs: Date.now, localKey: key.secret })
  const closings: Closing[] = [() => key.remove()]
  try {
    const isFirst = refuseOpenDoor(access, listen)
    const http = await startHttp({
      ...{
        view: daemon.view,
        site: daemon.site,
        access,
        desk: DESK_ON_DEMAND,
        port,
        log: componentLog(log, 'http'),
        clock,
      },
      pageFolder: new URL('dist/page/', PACKAGE_FOLDER),
      ...(listen === undefined ? {} : { host: listen }),
      ...(hostNames === undefined || hostNames.length === 0 ? {} : { hostNames }),
    })
    closings.unshift(() => http.close())
    if (isFirst) await tellFirstToken(access)
    key.publish(Number(new URL(http.url).port))
    return { url: http.url, close: () => closeAll(closings) }
  } catch (error) {
    await closeAll(closings)
    if (error instanceof CommandFailure) throw error
    throw new CommandFailure(
      'unavailable',
      `The page cannot open port ${port}: ${error instanceof Error ? error.message : String(error)}. Name another with --port.`,
    )
  }
}

/** Other machines are let in only once somebody is known. @returns whether nobody is yet */
function refuseOpenDoor(access: Access, listen: string | undefined): boolean {
  const isNobody = !access.list().some((token) => isGood(token, Date.now()))
  if (!isNobody || listen === undefined || LOOPBACK.includes(listen)) return isNobody
  throw new CommandFailure(
    'usage',
    `--listen ${listen} would let other machines in and no token is there yet. Make one first: tarnward token create --name NAME --role technician`,
  )
}

/** To standard error, since logs are kept and read by others. */
async function tellFirstToken(access: Access): Promise<void> {
  const { secret } = await access.create({ name: 'first-run', role: 'technician' })
  process.stderr.write(
    `A technician’s token, shown this once: ${secret}\n` +
      'Sign in with it on the page. Lost it? tarnward token create. Not needed any more? tarnward token revoke.\n',
  )
}

/** The port that `--port` names; 0 for any free one. @throws CommandFailure for anything that is no port */
export function portOf(text: string): number {
  return wholeNumber('--port', text, 0, 65_535)
}

export interface Ending {
  /** resolves when it is time to stop; with a failure where something failed */
  readonly wait: Promise<CommandFailure | undefined>
  readonly fail: (why: string, kind: FatalKind) => void
  /** for what ends before its time: no timer is left */
  readonly end: () => void
}

/** SIGINT and SIGTERM end it, and a time where one is given. */
export function untilEnd(lastsMs: number | undefined): Ending {
  let end: (failure?: CommandFailure) => void = () => {}
  const wait = new Promise<CommandFailure | undefined>((resolve) => {
    end = resolve
  })
  process.once('SIGINT', () => end())
  process.once('SIGTERM', () => end())
  const timer = lastsMs === undefined ? undefined : setTimeout(() => end(), lastsMs)
  // A timer left behind would keep the process for the rest of its time after Ctrl-C.
  void wait.then(() => clearTimeout(timer))
  return {
    wait,
    fail: (why, kind) => end(new CommandFailure(kind === 'broken' ? 'fault' : 'unavailable', why)),
    end: () => end(),
  }
}

/** After a fault something may be open that never closes; pumps have stopped long before. Chosen. */
const LAST_WORDS_MS = 10_000

/**
 * What is thrown anywhere in the process, a rejection nobody waits for included, ends it as a fault in the loop does:
 * leases withdrawn, the fault and a hold in the ledger, and an exit code that is not 0.
 */
export function endOnFault(daemon: Daemon, log: Logger): void {
  process.on('uncaughtException', (error) => {
    process.exitCode = EXIT_CODES.fault
    componentLog(log, 'process').error({ err: error }, 'something was thrown that nobody caught')
    setTimeout(() => process.exit(EXIT_CODES.fault), LAST_WORDS_MS).unref()
    void daemon.loop.fail(error)
  })
}

const UNITS_MS: Readonly<Record<string, number>> = { s: 1000, m: 60_000, h: 3_600_000 }

/** The time that `--for` holds; undefined where it is not given. */
export function durationMs(text: string | undefined): number | undefined {
  if (text === undefined) return undefined
  const [, number, unit] = /^(\d+(?:\.\d+)?)(s|m|h)$/.exec(text) ?? []
  if (number && unit) return Number(number) * UNITS_MS[unit]!
  throw new CommandFailure('usage', `--for: found "${text}"; a time such as 60s, 5m or 2h is needed`)
}
