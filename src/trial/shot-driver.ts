/**
 * Speaks the device contract for the baselines: leases always, one shot at a time, each only once. No interlocks: the
 * baselines stand for what people do today, and the simulated plant is patient.
 */

import type { Configuration } from '../config/configuration.ts'
import type { Input } from '../reservoir/input.ts'
import type { Outgoing } from './controller.ts'
import { learnClock, leaseFor, type NodeClock, uptimeNowMs } from './node-clock.ts'

const LEASE_MS = 180_000
const START_WINDOW_MS = 60_000
/** A node lets no pump run longer at once than a few minutes, so a large dose becomes several shots. */
const RUN_MAX_MIN = 3

export interface ShotDriver {
  /** Adds a shot to the queue, mL. */
  ask(stock: string, volumeMl: number): void
  readonly isIdle: boolean
  /** Takes an input; answers with leases and the next shot where the pumps are free. */
  handle(input: Input): readonly Outgoing[]
}

/** A driver with an empty queue, for a site’s stocks and pump rates. */
export function createShotDriver(configuration: Configuration): ShotDriver {
  const by = { controller: 'baseline', term: 1 }
  const clocks = new Map<string, NodeClock>()
  const queue: { stock: string; volumeMl: number }[] = []
  let runningId: string | undefined
  let count = 0

  const next = (atMs: number): Outgoing[] => {
    const shot = runningId === undefined ? queue[0] : undefined
    const stock = shot && configuration.site.stocks.find((candidate) => candidate.id === shot.stock)
    const clock = stock && clocks.get(stock.node)
    if (!shot || !stock || !clock) return []
    queue.shift()
    runningId = `baseline-${++count}`
    const runMs = Math.max(1, Math.round((shot.volumeMl / stock.rateMlPerMin) * 60_000))
    const startBeforeUptimeMs = Math.round(uptimeNowMs(clock, atMs) + START_WINDOW_MS)
    const message = { id: runningId, ...by, boot: clock.boot, runMs, startBeforeUptimeMs }
    return [{ node: stock.node, sent: { kind: 'command', pump: stock.pump, message } }]
  }

  return {
    ask(stock, volumeMl) {
      const rateMlPerMin = configuration.site.stocks.find(({ id }) => id === stock)?.rateMlPerMin ?? 0
      const count = Math.ceil(volumeMl / (rateMlPerMin * RUN_MAX_MIN))
      for (let shot = 0; shot < count; shot++) queue.push({ stock, volumeMl: volumeMl / count })
    },
    get isIdle() {
      return runningId === undefined && queue.length === 0
    },
    handle(input) {
      learnClock(clocks, input)
      if (
        input.kind === 'pump-report' &&
        input.report.id === runningId &&
        !['accepted', 'running'].includes(input.report.state)
      )
        runningId = undefined
      const out: Outgoing[] = []
      if (input.kind === 'heartbeat') {
        const clock = clocks.get(input.node)!
        out.push({ node: input.node, sent: { kind: 'lease', message: leaseFor(clock, by, input.atMs, LEASE_MS) } })
        out.push(...next(input.atMs))
      }
      return out
    },
  }
}
