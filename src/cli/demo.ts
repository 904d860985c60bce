/**
 * `tarnward run --demo`: a simulated bench behind an embedded broker. It first lives some days in lockstep, so that
 * there is a past to look at, then goes on over MQTT at scaled time: for the daemon that is an ordinary restart.
 */

import { mkdtemp, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { startMqttPlant } from '../../simulator/mqtt-plant.ts'
import { createWorld, type World } from '../../simulator/world.ts'
import { MACRONUTRIENTS } from '../chemistry/element.ts'
import type { Configuration } from '../config/configuration.ts'
import { TOPIC_PREFIX } from '../contract/topic.ts'
import { startBroker } from '../shell/broker.ts'
import { createLockstepClock, createScaledClock } from '../shell/clock.ts'
import { type Closing, closeAll } from '../shell/closing.ts'
import type { Daemon } from '../shell/daemon.ts'
import type { HttpServer } from '../shell/http.ts'
import { leaseScaleFault } from '../shell/lease.ts'
import { componentLog, createLog, type Logger } from '../shell/log.ts'
import { HANGS_AFTER_MS } from '../shell/loop-options.ts'
import { createMqttLink } from '../shell/mqtt.ts'
import type { NodeLink, NodeLinkHandlers } from '../shell/node-link.ts'
import { CommandFailure } from './command-failure.ts'
import { bottleMinute, writeReport } from './demo-laboratory.ts'
import { begin, durationMs, type Ending, endOnFault, openPage, portOf, untilEnd } from './foreground.ts'
import { loadPlant } from './load-plant.ts'
import { PACKAGE_FOLDER } from './package-folder.ts'
import type { RunOptions } from './run.ts'
import { wholeNumber } from './whole-number.ts'

const SCENARIO = new URL('config/scenarios/quarry-lane.yaml', PACKAGE_FOLDER)
const MINUTE_MS = 60_000
const DAY_MS = 86_400_000
/** Further back the crop of the demo is long harvested. */
const DAYS_MOST = 60
/** Nodes of the demo speak twice a minute, so that scaled time leaves each message its while on the wire. */
const HEARTBEAT_MS = 30_000
const LEASE_MS = 90_000
/** In lockstep a lease is renewed once a minute. */
const LOCKSTEP_LEASE_MS = 180_000

/**
 * Lives the demo until it is told to stop, or until `--for` is over; its folder goes with it unless it was named.
 *
 * @throws CommandFailure for options out of their range, a page or broker that cannot open, a fault while it ran
 */
export async function runDemo(options: RunOptions, version: string, log: Logger): Promise<void> {
  const scale = Number(options.scale)
  const tooFast = scale > 0 ? leaseScaleFault(LEASE_MS, scale) : 'a factor above 0 is needed'
  if (tooFast) throw new CommandFailure('usage', `--scale ${options.scale}: ${tooFast}`)
  const days = wholeNumber('--days', options.days, 0, DAYS_MOST)
  const seed = wholeNumber('--seed', options.seed, 0, 2 ** 31)
  const port = portOf(options.port)
  const lastsMs = durationMs(options.for)
  const loaded = await loadPlant(fileURLToPath(SCENARIO))
  const stateFolder = options.stateDir ?? (await mkdtemp(join(tmpdir(), 'tarnward-demo-')))
  const bench: Bench = {
    configuration: loaded.configuration,
    world: createWorld(loaded.scenario, seed, { heartbeatMs: HEARTBEAT_MS }),
    stateFolder,
    version,
  }
  try {
    await liveInLockstep(bench, days, log)
    await liveOnTheWire(bench, { scale, port, ending: untilEnd(lastsMs) }, log)
  } finally {
    if (!options.stateDir) await rm(stateFolder, { recursive: true, force: true })
  }
}

interface Bench {
  readonly configuration: Configuration
  readonly world: World
  readonly stateFolder: string
  readonly version: string
}

/** Days without a wall clock: time moves on as fast as the machine can think. */
async function liveInLockstep(bench: Bench, days: number, log: Logger): Promise<void> {
  const { world } = bench
  const say = componentLog(log, 'demo')
  say.info(`living ${days} days of the bench in a moment: 220 L, butterhead lettuce and basil, hard well water`)
  const clock = createLockstepClock(world.startMs)
  const link = lockstepLink(world, () => clock.wallMs())
  const quiet = createLog({ level: 'error', pretty: true })
  let failure: string | undefined
  const daemon = await begin({
    ...bench,
    clock,
    link,
    log: quiet,
    writesHere: true,
    leaseMs: LOCKSTEP_LEASE_MS,
    tickMs: MINUTE_MS,
    onFatal: (why) => {
      failure = why
    },
  })
  await goAutomatic(daemon)
  const bottle = bottleMinute(world, days)
  for (let minute = 1; minute <= days * 24 * 60 && failure === undefined; minute++) {
    clock.advance(MINUTE_MS)
    link.deliver()
    await daemon.loop.idle()
    if (minute === bottle) world.sample(clock.wallMs())
    if (minute % (24 * 60) === 0) say.info(dayLine(daemon, world, minute / (24 * 60)))
  }
  await daemon.stop()
  if (failure !== undefined) throw new CommandFailure('fault', failure)
}

async function goAutomatic(daemon: Daemon): Promise<void> {
  await daemon.loop.take({
    kind: 'instruction',
    by: 'demo',
    reason: 'a bench that is only simulated',
    instruction: { instruction: 'mode', mode: 'automatic' },
  })
}

interface LockstepLink extends NodeLink {
  /** hands over what the nodes have said since */
  deliver(): void
}

function lockstepLink(world: World, nowMs: () => number): LockstepLink {
  let handlers: NodeLinkHandlers | undefined
  return {
    start(given) {
      handlers = given
      given.onLink(true)
    },
    async sendCommand(node, pump, message) {
      world.receive(nowMs(), node, { kind: 'command', pump, message })
      return 'sent'
    },
    sendLease(node, message) {
      world.receive(nowMs(), node, { kind: 'lease', message })
    },
    deliver() {
      for (const { node, message } of world.advanceTo(nowMs())) handlers?.onMessage(node, message)
    },
    async close() {},
  }
}

function dayLine(daemon: Daemon, world: World, day: number): string {
  const estimate = daemon.view.estimate()
  const truth = world.truth()
  const shown = MACRONUTRIENTS.map((name) => {
    const believed = estimate?.elements[name]
    return `${name} ${believed?.mgPerL.toFixed(0)}±${believed?.sdMgPerL.toFixed(0)} (${truth.mgPerL[name]?.toFixed(0)})`
  })
  return `day ${Number(day.toFixed(1))}: pH ${truth.ph.toFixed(2)}, EC ${truth.conductivityDsPerM.toFixed(2)} mS/cm; believed and (true) mg/L: ${shown.join(', ')}`
}

interface WireSettings {
  readonly scale: number
  readonly port: number
  readonly ending: Ending
}

/** On from there over a real MQTT connection, in scaled time, with the page open. */
async function liveOnTheWire(bench: Bench, settings: WireSettings, log: Logger): Promise<void> {
  const { world } = bench
  const say = componentLog(log, 'demo')
  const closings: Closing[] = []
  try {
    const { daemon, page } = await openWire(bench, settings, log, closings)
    say.info(
      `the page is at ${page.url}; one minute of the bench takes ${(60 / settings.scale).toFixed(2)} s. Ctrl-C ends it.`,
    )
    const give = await writeReport(world, bench.stateFolder, page.url)
    if (give) say.info(`a laboratory’s report has come; watch each element move with it: ${give}`)
    const failure = await settings.ending.wait
    say.info(dayLine(daemon, world, (world.truth().atMs - world.startMs) / DAY_MS))
    say.info(summary(daemon))
    if (failure) throw failure
  } finally {
    settings.ending.end()
    await closeAll(closings)
  }
}

/** Broker, daemon, page and plant, each with its way to be closed put before those of what it stands on. */
async function openWire(
  bench: Bench,
  settings: WireSettings,
  log: Logger,
  closings: Closing[],
): Promise<{ readonly daemon: Daemon; readonly page: HttpServer }> {
  const { configuration, world } = bench
  const { site } = configuration.site
  const base = `${TOPIC_PREFIX}/${site}`
  const clock = createScaledClock(settings.scale, world.truth().atMs + MINUTE_MS)
  const broker = await startBroker({ base, port: 0 })
  closings.unshift(() => broker.close())
  const link = createMqttLink({ url: broker.url, base, clientId: `tarnward-${site}`, clock })
  const daemon = await begin({
    ...{ ...bench, clock, link, log, leaseMs: LEASE_MS, onFatal: settings.ending.fail },
    // A disk does not run faster with the clock.
    hangsAfterMs: HANGS_AFTER_MS * settings.scale,
    publishState: (suffix, json) => link.publishState(suffix, json),
  })
  closings.unshift(() => daemon.stop())
  endOnFault(daemon, log)
  const page = await openPage(daemon, { port: settings.port, clock }, log)
  closings.unshift(() => page.close())
  const { scenario } = world
  const nowMs = (): number => clock.wallMs()
  const plant = startMqttPlant({ brokerUrl: broker.url, site, scenario, seed: 0, world, nowMs })
  closings.unshift(() => plant.stop())
  return { daemon, page }
}

function summary(daemon: Daemon): string {
  const { doses } = daemon.view.counters()
  const rows = doses.map(
    ({ pump, outcome, count, volumeUl }) => `${pump} ${outcome} ${count} × (${(volumeUl / 1000).toFixed(1)} mL in all)`,
  )
  return `${daemon.view.status().sentence} Shots since the page opened: ${rows.join(', ') || 'none'}`
}
