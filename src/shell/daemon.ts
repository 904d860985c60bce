/** The daemon: ledger, ownership, loop, leases, link, clock watch and page, wired together and taken down in order. */

import { mkdir } from 'node:fs/promises'
import { join } from 'node:path'
import type { Configuration } from '../config/configuration.ts'
import { configurationHash } from '../config/configuration-hash.ts'
import { openSqliteLedger } from '../ledger/sqlite-ledger.ts'
import { createSqliteOwnership } from '../ledger/sqlite-ownership.ts'
import { openTelemetry } from '../ledger/telemetry.ts'
import { reservoirSettings } from '../reservoir/configure-reservoir.ts'
import { inputOfMessage } from '../reservoir/inbound.ts'
import { type Clock, repeat } from './clock.ts'
import { watchClock } from './clock-watch.ts'
import { createDaemonState, type DaemonState } from './daemon-state.ts'
import type { DaemonView } from './daemon-view.ts'
import { createLeaseKeeper, type LeaseKeeper } from './lease.ts'
import { componentLog, type Logger } from './log.ts'
import { Loop } from './loop.ts'
import type { NodeLink } from './node-link.ts'
import { openReservoir } from './open-reservoir.ts'
import { utcOffsetMinutes } from './zone.ts'

export interface DaemonOptions {
  readonly configuration: Configuration
  readonly stateFolder: string
  readonly clock: Clock
  readonly link: NodeLink
  readonly log: Logger
  readonly version: string
  readonly leaseMs: number
  /** time between ticks; 10 s unless given */
  readonly tickMs?: number
  /** where messages go that integrators may read, retained; nowhere for a serial line */
  readonly publishState?: (suffix: string, json: string) => void
  /** the process can no longer own the reservoir or trust itself; it should end */
  readonly onFatal: (why: string) => void
}

export interface Daemon {
  readonly view: DaemonView
  readonly loop: Loop
  readonly state: DaemonState
  /** Withdraws every lease, keeps a snapshot and lets go of files and links. */
  stop(): Promise<void>
}

export class OwnedElsewhere extends Error {}

const TICK_MS = 10_000
const HEARTBEAT_MS = 5_000
const LEDGER_FILE = 'ledger.db'
const TELEMETRY_FILE = 'telemetry.db'

/**
 * Starts to keep a reservoir.
 *
 * @throws OwnedElsewhere when another daemon has it, LedgerFault when the ledger cannot be used
 */
export async function startDaemon(options: DaemonOptions): Promise<Daemon> {
  const { configuration, clock, link, stateFolder } = options
  const log = componentLog(options.log, 'daemon')
  await mkdir(stateFolder, { recursive: true, mode: 0o700 })
  const reservoirId = configuration.site.site
  const controller = `tarnward-${reservoirId}`
  const ledger = await openSqliteLedger({ path: join(stateFolder, LEDGER_FILE) })
  const ownership = createSqliteOwnership(ledger)
  const claim = await ownership.claim(reservoirId, controller)
  if ('heldBy' in claim) {
    await ledger.close()
    throw new OwnedElsewhere(`${claim.heldBy} keeps ${reservoirId} already; stop that one first`)
  }
  const telemetry = await openTelemetry({ path: join(stateFolder, TELEMETRY_FILE) })
  const settings = reservoirSettings(configuration)
  const hash = configurationHash(configuration)
  const opened = await openReservoir(ledger, reservoirId, settings, hash, clock.wallMs())
  log.info({ term: claim.term }, `${reservoirId} opened: ${opened.note}`)

  let leases: LeaseKeeper | undefined
  const state = createDaemonState({ ...options, reservoirId, ledger, loop: () => loop })
  const loop: Loop = new Loop({
    ...{ settings, reservoirId, ledger, clock, link, term: claim.term },
    configurationHash: hash,
    state: opened.state,
    headSequence: opened.headSequence,
    leases: () => leases,
    onEffect: (effect, atMs) => state.note(effect, atMs),
    onFenced: () => options.onFatal('another daemon has taken the reservoir over'),
    onFault: (fault) =>
      log.error({ reason: fault.reason }, `the ledger cannot be written: ${fault.message}; nothing is dosed`),
  })
  leases = createLeaseKeeper({
    clock,
    link,
    controller,
    term: claim.term,
    leaseMs: options.leaseMs,
    loopHealthy: () => loop.busyForMs() <= HEARTBEAT_MS,
  })
  await loop.take({
    kind: 'start',
    controller,
    term: claim.term,
    utcOffsetMin: utcOffsetMinutes(configuration.site.zone, clock.wallMs()),
  })

  const stopWatch = watchClock({
    clock,
    ledgerLastAtMs: () => loop.state.atMs,
    onNews: (news) => {
      if (news.kind === 'jump') log.warn(news.text)
      else void loop.take({ kind: 'edge', news: { edge: 'clock', sane: news.sane } })
    },
  })
  link.start({
    onMessage: (node, message) => {
      if (message.kind === 'heartbeat') leases.heard(node, message.message.boot, message.message.uptimeMs)
      if (message.kind === 'scan') telemetry.record(reservoirId, { atMs: clock.wallMs(), node, scan: message.message })
      const { atMs: _stampedByTheLoop, ...input } = inputOfMessage(0, node, message)
      void loop.take(input)
    },
    onRefused: (topic, why) => log.warn({ topic }, `a message was not taken: ${why}`),
    onLink: (up) => {
      if (up) leases.linkUp()
      void loop.take({ kind: 'edge', news: { edge: 'link', up } })
    },
  })
  const stopTicks = repeat(clock, options.tickMs ?? TICK_MS, () => {
    void loop.take({ kind: 'tick', utcOffsetMin: utcOffsetMinutes(configuration.site.zone, clock.wallMs()) })
    flushTelemetry()
    state.publish()
  })
  const flushTelemetry = (): void => {
    try {
      telemetry.flushIfDue(clock.wallMs())
    } catch (error) {
      log.warn(`raw readings cannot be kept: ${error instanceof Error ? error.message : String(error)}`)
    }
  }

  return {
    view: state.view,
    loop,
    state,
    async stop() {
      stopTicks()
      stopWatch()
      leases.stop()
      await loop.stop()
      await link.close()
      telemetry.close()
      await ownership.release()
      await ledger.close()
    },
  }
}
