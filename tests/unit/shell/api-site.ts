/** A daemon on the simulated bench in lockstep, some days old, with what the API is made of. */

import { createWorld, type World } from '../../../simulator/world.ts'
import { createLockstepClock, type LockstepClock } from '../../../src/shell/clock.ts'
import { type Daemon, startDaemon } from '../../../src/shell/daemon.ts'
import { createLog } from '../../../src/shell/log.ts'
import type { NodeLink, NodeLinkHandlers } from '../../../src/shell/node-link.ts'
import { plantNamed } from '../../bench/lived-site.ts'
import { scratchFolder } from '../ledger/scratch.ts'

const MINUTE_MS = 60_000

export interface ApiSite extends Daemon {
  readonly clock: LockstepClock
  readonly world: World
  readonly stateFolder: string
  /** the bench goes on for some minutes */
  live(minutes: number): Promise<void>
}

/** The example bench after some hours in the mode automatic. */
export async function apiSite(hours = 6, stateFolder = scratchFolder()): Promise<ApiSite> {
  const { configuration, scenario } = await plantNamed('quarry-lane')
  const world = createWorld(scenario, 2001, { heartbeatMs: MINUTE_MS, scanMs: MINUTE_MS })
  const clock = createLockstepClock(world.startMs)
  const link = lockstepLink(world, clock)
  const daemon = await startDaemon({
    ...{
      configuration,
      stateFolder,
      clock,
      link,
      version: 'test',
      leaseMs: 180_000,
      tickMs: MINUTE_MS,
      writesHere: true,
    },
    log: createLog({ pretty: false, destination: { write: () => {} } }),
    onFatal: (why) => {
      throw new Error(why)
    },
  })
  const live = async (minutes: number): Promise<void> => {
    for (let minute = 0; minute < minutes; minute++) {
      clock.advance(MINUTE_MS)
      link.deliver()
      await daemon.loop.idle()
    }
  }
  await daemon.view.instruct('tests', 'a bench that is only simulated', { instruction: 'mode', mode: 'automatic' })
  await live(hours * 60)
  return { ...daemon, clock, world, stateFolder, live }
}

function lockstepLink(world: World, clock: LockstepClock): NodeLink & { deliver(): void } {
  let handlers: NodeLinkHandlers | undefined
  return {
    start(given) {
      handlers = given
      given.onLink(true)
    },
    async sendCommand(node, pump, message) {
      world.receive(clock.wallMs(), node, { kind: 'command', pump, message })
      return 'sent'
    },
    sendLease(node, message) {
      world.receive(clock.wallMs(), node, { kind: 'lease', message })
    },
    deliver() {
      for (const { node, message } of world.advanceTo(clock.wallMs())) handlers?.onMessage(node, message)
    },
    async close() {},
  }
}
