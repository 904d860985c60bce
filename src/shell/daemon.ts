/** The daemon: ledger, ownership, loop, leases, link, clock watch and page, wired together and taken down in order. */

import type { Configuration } from '../config/configuration.ts'
import { configurationHash } from '../config/configuration-hash.ts'
import type { NodeMessage } from '../contract/message.ts'
import type { Notice } from '../core/alarm/escalation.ts'
import type { AccessBook } from '../ledger/access-store.ts'
import { LedgerFault } from '../ledger/ledger-fault.ts'
import { reservoirSettings } from '../reservoir/configure-reservoir.ts'
import { inputOfMessage } from '../reservoir/inbound.ts'
import type { StartInput } from '../reservoir/input.ts'
import { settingsInForce } from '../reservoir/limit-change.ts'
import type { Period, Site } from './api/site.ts'
import { damageOf, damageOfTail } from './chain-check.ts'
import { type Cancel, type Clock, repeat } from './clock.ts'
import { watchClock } from './clock-watch.ts'
import { closeAll } from './closing.ts'
import { createDaemonState, type DaemonState } from './daemon-state.ts'
import type { DaemonView } from './daemon-view.ts'
import { createLeaseKeeper, type LeaseKeeper } from './lease.ts'
import { componentLog, type Logger } from './log.ts'
import { Loop } from './loop.ts'
import type { UnstampedInput } from './loop-input.ts'
import { HANGS_AFTER_MS } from './loop-options.ts'
import type { NodeLink } from './node-link.ts'
import { openReservoir } from './open-reservoir.ts'
import { faultText } from './program-fault.ts'
import { createSlices } from './slices.ts'
import { openStores, type Stores } from './stores.ts'
import { createStrangers } from './strangers.ts'
import { utcOffsetMinutes } from './zone.ts'

/** Taken over by another daemon, or a fault of the program itself. */
export type FatalKind = 'taken-over' | 'broken'

export interface DaemonOptions {
  readonly configuration: Configuration
  readonly stateFolder: string
  readonly clock: Clock
  readonly link: NodeLink
  readonly log: Logger
  readonly version: string
  readonly leaseMs: number
  /** see `openStores` */
  readonly writesHere?: boolean
  /** see `LoopOptions` */
  readonly hangsAfterMs?: number
  /** time between ticks; 10 s unless given */
  readonly tickMs?: number
  /** where messages go that integrators may read, retained; nowhere for a serial line */
  readonly publishState?: (suffix: string, json: string) => void
  /** people’s messages; nowhere where it is left out */
  readonly notify?: (notice: Notice) => void
  /** the process can no longer own the reservoir or trust itself; pumps are stopped, and it should end */
  readonly onFatal: (why: string, kind: FatalKind) => void
}

export interface Daemon {
  readonly view: DaemonView
  /** what the API’s fuller views are made of */
  readonly site: Site
  readonly loop: Loop
  readonly state: DaemonState
  /** who may ask */
  readonly access: AccessBook
  /** Withdraws every lease, keeps a snapshot and lets go of files and links. */
  stop(): Promise<void>
}

const TICK_MS = 10_000

/**
 * Starts to keep a reservoir.
 *
 * @throws OwnedElsewhere when another daemon has it, LedgerFault when the ledger cannot be used
 */
export async function startDaemon(options: DaemonOptions): Promise<Daemon> {
  const reservoirId = options.configuration.site.site
  const stores = await openStores(options.stateFolder, reservoirId, options.writesHere)
  const { controller } = stores
  try {
    const component = componentLog(options.log, 'daemon')
    return await keep({ ...options, reservoirId, controller, stores, component, statuses: new Map() })
  } catch (error) {
    await stores.close()
    throw error
  }
}

interface Keeping extends DaemonOptions {
  readonly reservoirId: string
  readonly controller: string
  readonly stores: Stores
  readonly component: Logger
  /** the last status of each node, as a broker holds it for whoever comes anew */
  readonly statuses: Map<string, NodeMessage>
}

async function keep(keeping: Keeping): Promise<Daemon> {
  const { stores, clock, link, component } = keeping
  let leases: LeaseKeeper | undefined
  const state = createDaemonState({ ...keeping, ledger: stores.ledger, loop: () => loop })
  const loop = await openLoop(keeping, state, () => leases)
  leases = createLeaseKeeper({
    ...{ clock, link, controller: keeping.controller, leaseMs: keeping.leaseMs },
    term: () => loop.term,
    loopHealthy: () => loop.busyForMs() <= (keeping.hangsAfterMs ?? HANGS_AFTER_MS),
  })
  await loop.take({ kind: 'start', ...startOf(keeping, stores.term) })
  const stopCheck = await checkRecord(keeping, loop)
  const stopWatch = watchClock({
    clock,
    ledgerLastAtMs: () => loop.state.atMs,
    onNews: (news) => {
      if (news.kind === 'jump') component.warn(news.text)
      else void loop.take({ kind: 'edge', news: { edge: 'clock', sane: news.sane } })
    },
  })
  listen(keeping, loop, leases, state)
  const stopTicks = repeat(clock, keeping.tickMs ?? TICK_MS, () => {
    void loop.take({ kind: 'tick', utcOffsetMin: offsetNow(keeping) })
    if (loop.isKeeping) void unlessFull(component, loop, () => stores.telemetry.flushIfDue(clock.wallMs()))
    state.publish()
  })
  const site = siteOf(keeping, loop)
  return {
    view: state.view,
    site,
    loop,
    state,
    access: stores.access,
    stop: stopper({ keeping, loop, leases, timers: [stopTicks, stopWatch, stopCheck] }),
  }
}

function siteOf({ configuration, version, reservoirId, stores, clock }: Keeping, loop: Loop): Site {
  const settings = reservoirSettings(configuration)
  return {
    configuration,
    version,
    statedSettings: settings,
    get settings() {
      return settingsInForce(settings, loop.state.changedLimits)
    },
    state: () => loop.state,
    nowMs: () => clock.wallMs(),
    async records(kinds, period) {
      const slices = createSlices(() => clock.monoMs())
      const found = []
      for (const part of partsOf(period)) {
        for (const entry of await stores.ledger.readKinds(reservoirId, kinds, part)) {
          found.push(JSON.parse(entry.json))
          if (found.length % ENTRIES_A_LOOK === 0) await slices.next()
        }
        await slices.next()
      }
      return found
    },
  }
}

/** Parsed between two looks at the clock: some two milliseconds. */
const ENTRIES_A_LOOK = 50
const DAY_MS = 86_400_000
/** A longer period is asked for what is rare, and read at once. */
const DAYS_IN_PARTS_MAX = 800

/** A period as its days, so that what is read at once is little. */
function partsOf({ fromMs, untilMs }: Period): readonly Period[] {
  if (!(untilMs - fromMs <= DAYS_IN_PARTS_MAX * DAY_MS)) return [{ fromMs, untilMs }]
  const parts: Period[] = []
  for (let at = fromMs; at <= untilMs; at += DAY_MS)
    parts.push({ fromMs: at, untilMs: Math.min(at + DAY_MS - 1, untilMs) })
  return parts
}

async function openLoop(keeping: Keeping, state: DaemonState, leases: () => LeaseKeeper | undefined): Promise<Loop> {
  const { configuration, reservoirId, stores, clock, link, component, onFatal } = keeping
  const { ledger, term } = stores
  const settings = reservoirSettings(configuration)
  const hash = configurationHash(configuration)
  const opened = await openReservoir(ledger, reservoirId, settings, hash, clock.wallMs())
  component.info({ term }, `${reservoirId} opened: ${opened.note}`)
  const loop: Loop = new Loop({
    ...{ settings, reservoirId, ledger, clock, link, term, leases },
    hangsAfterMs: keeping.hangsAfterMs ?? HANGS_AFTER_MS,
    configurationHash: hash,
    state: opened.state,
    headSequence: opened.headSequence,
    startAgain: async () => startOf(keeping, await stores.renewTerm()),
    onStartedAgain: () => {
      for (const [node, status] of keeping.statuses) void loop.take(unstamped(node, status))
    },
    onEffect: (effect, atMs) => state.note(effect, atMs),
    onFenced: () => onFatal('another daemon has taken the reservoir over', 'taken-over'),
    onFault: (fault) =>
      component.error({ reason: fault.reason }, `the ledger cannot be written: ${fault.message}; nothing is dosed`),
    onBroken: (error) => {
      component.error({ err: error }, 'a fault of the program itself: every lease is withdrawn, nothing is dosed')
      onFatal(
        `Tarnward has met a fault of its own and stops: ${faultText(error)}. The next start is held until a person ` +
          'has read the log and releases it.',
        'broken',
      )
    },
  })
  return loop
}

/** Before anything is armed the end of the chain, and then all of it on the side: damage trips, and is told with its place. */
async function checkRecord({ stores, reservoirId, component }: Keeping, loop: Loop): Promise<Cancel> {
  const trip = async (why: string | undefined): Promise<void> => {
    if (why === undefined) return
    component.error({ event: 'ledger-damaged' }, why)
    await loop.take({ kind: 'edge', news: { edge: 'ledger-damaged', why } })
  }
  await trip(await damageOfTail(stores.ledger, reservoirId))
  let isOver = false
  void damageOf(stores.ledger, reservoirId, { isOver: () => isOver }).then(trip, (error) => loop.fail(error))
  return () => {
    isOver = true
  }
}

/** Who starts, for the ledger and the nodes. */
function startOf(keeping: Keeping, term: number): Omit<StartInput, 'kind' | 'atMs'> {
  return { controller: keeping.controller, term, utcOffsetMin: offsetNow(keeping) }
}

/** A node’s message for the loop, which stamps it. */
function unstamped(node: string, message: NodeMessage): UnstampedInput {
  const { atMs: _stampedByTheLoop, ...input } = inputOfMessage(0, node, message)
  return input
}

function listen(keeping: Keeping, loop: Loop, leases: LeaseKeeper, state: DaemonState): void {
  const { clock, link, reservoirId, component, stores, configuration } = keeping
  const strangers = createStrangers(configuration.site.nodes, (text) =>
    state.note({ kind: 'notification', event: 'unknown-node', text }, clock.wallMs()),
  )
  link.start({
    controller: keeping.controller,
    onMessage: (node, message) => {
      // before anything that keeps a name: leases, statuses, raw readings, the queue, the ledger
      if (strangers.isOne(node)) return
      if (message.kind === 'heartbeat') leases.heard(node, message.message.boot, message.message.uptimeMs)
      if (message.kind === 'status') keeping.statuses.set(node, message)
      const taken = loop.take(unstamped(node, message))
      if (message.kind !== 'scan') return
      void taken.then((isTaken) => isTaken && state.noteScan())
      const raw = { atMs: clock.wallMs(), node, scan: message.message }
      if (loop.isKeeping) void unlessFull(component, loop, () => stores.telemetry.record(reservoirId, raw))
      else stores.telemetry.hold(reservoirId, raw)
    },
    onRefused: (topic, why) => component.warn({ topic }, `a message was not taken: ${why}`),
    onLink: (up) => {
      if (up) leases.linkUp()
      void loop.take({ kind: 'edge', news: { edge: 'link', up } })
    },
  })
}

/** Raw readings may be lost; a disk that takes none of them must not stop the loop, a fault of the program must. */
async function unlessFull(component: Logger, loop: Loop, keepRaw: () => Promise<void>): Promise<void> {
  try {
    await keepRaw()
  } catch (error) {
    if (!(error instanceof LedgerFault)) return loop.fail(error)
    component.warn({ reason: error.reason }, `raw readings cannot be kept for now: ${error.message}`)
  }
}

function offsetNow({ configuration, clock }: Keeping): number {
  return utcOffsetMinutes(configuration.site.zone, clock.wallMs())
}

/** Pumps first, then the loop, then what it stood on. */
function stopper(daemon: {
  readonly keeping: Keeping
  readonly loop: Loop
  readonly leases: LeaseKeeper
  readonly timers: readonly Cancel[]
}): () => Promise<void> {
  const { keeping, loop, leases, timers } = daemon
  return () =>
    closeAll([
      ...timers,
      () => leases.stop(),
      () => loop.stop(),
      () => keeping.link.close(),
      () => keeping.stores.close(),
    ])
}
