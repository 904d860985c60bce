/** A site on disk that has lived until a moment ago, as a daemon leaves it when it stops. */

import { readFile, writeFile } from 'node:fs/promises'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { createWorld, type World } from '../../simulator/world.ts'
import { PACKAGE_FOLDER } from '../../src/cli/package-folder.ts'
import { readConfiguration } from '../../src/cli/read-configuration.ts'
import { createLockstepClock } from '../../src/shell/clock.ts'
import { type Daemon, startDaemon } from '../../src/shell/daemon.ts'
import { createLog } from '../../src/shell/log.ts'
import type { NodeLink, NodeLinkHandlers } from '../../src/shell/node-link.ts'
import { plantNamed } from './lived-site.ts'

const MINUTE_MS = 60_000
const DAY_MS = 86_400_000
/** Room for what is to happen at the end. */
const LAST_HOURS_MIN = 240
const LEASE_MS = 180_000
const EXAMPLE = new URL('config/example/', PACKAGE_FOLDER)
/** Nobody listens there: what is measured must not hang on a broker. */
const NOWHERE = 'link: { broker: mqtt://127.0.0.1:1 }'

/** A site that is being lived, for what a test wants to have happened in it. */
export interface LivingSite {
  readonly daemon: Daemon
  live(minutes: number): Promise<void>
}

/**
 * Lives the last `days` of the example’s bench into `folder`, the daemon and its ledger as they are.
 *
 * @param lastHours what happens at the end of it, inside the same days
 * @returns the site file to start again with
 */
export async function storeSite(
  folder: string,
  days: number,
  lastHours?: (site: LivingSite) => Promise<void>,
): Promise<string> {
  const site = await writeSite(folder)
  const { scenario } = await plantNamed('quarry-lane')
  const startAtMs = Math.floor((Date.now() - days * DAY_MS) / MINUTE_MS) * MINUTE_MS
  const world = createWorld(scenario, 1, { startAtMs, heartbeatMs: MINUTE_MS / 2 })
  const clock = createLockstepClock(world.startMs)
  const link = lockstepLink(world, () => clock.wallMs())
  const daemon = await startDaemon({
    ...{ configuration: await readConfiguration(site), stateFolder: folder, clock, link, version: 'bench' },
    ...{ log: createLog({ level: 'error' }), leaseMs: LEASE_MS, tickMs: MINUTE_MS, writesHere: true },
    onFatal: (why) => {
      throw new Error(why)
    },
  })
  const instruction = { instruction: 'mode', mode: 'automatic' } as const
  await daemon.loop.take({ kind: 'instruction', by: 'bench', reason: 'nobody is in the room', instruction })
  const live = async (minutes: number) => {
    for (let minute = 0; minute < minutes; minute++) {
      clock.advance(MINUTE_MS)
      link.deliver()
      await daemon.loop.idle()
    }
  }
  await live(days * 1440 - (lastHours ? LAST_HOURS_MIN : 0))
  await lastHours?.({ daemon, live })
  await daemon.stop()
  return site
}

/** The example’s site with another link, its neighbours named by their full paths. */
async function writeSite(folder: string): Promise<string> {
  const text = await readFile(new URL('site.yaml', EXAMPLE), 'utf8')
  const full = text.replace(/^(crops|salts|limits): (.*)$/gm, (_line, key: string, file: string) => {
    return `${key}: ${fileURLToPath(new URL(file, EXAMPLE))}`
  })
  const site = join(folder, 'site.yaml')
  await writeFile(site, `${full.replace(/^link:.*\n(?: .*\n)*/m, '')}\n${NOWHERE}\n`)
  return site
}

function lockstepLink(world: World, nowMs: () => number): NodeLink & { deliver(): void } {
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
    sendLease: (node, message) => world.receive(nowMs(), node, { kind: 'lease', message }),
    deliver() {
      for (const { node, message } of world.advanceTo(nowMs())) handlers?.onMessage(node, message)
    },
    async close() {},
  }
}
