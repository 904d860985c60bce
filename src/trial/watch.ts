/**
 * Watches the plant’s own pump seconds against the promises of the limits. It sees what really ran, not what anybody
 * said ran.
 */

import type { Configuration } from '../config/configuration.ts'
import type { NodeMessage } from '../contract/message.ts'

const MINUTE_MS = 60_000
const HOUR_MS = 3_600_000
const DAY_MS = 86_400_000
/** A report says to the millisecond how long a pump ran; volumes are rounded to it. */
const ROUNDING_SHARE = 1.001

interface Run {
  readonly stock: string
  readonly endMs: number
  readonly volumeMl: number
}

export interface Watch {
  /** looks at every pump report of the plant */
  look(atMs: number, node: string, message: NodeMessage): void
  readonly violations: readonly string[]
  readonly dosedMl: Readonly<Record<string, number>>
  readonly shots: number
}

/** Judges every run by shot, hour and day caps and by the time incompatible stocks must stay apart. */
export function createWatch({ site, limits }: Configuration): Watch {
  const violations: string[] = []
  const dosedMl: Record<string, number> = Object.fromEntries(site.stocks.map(({ id }) => [id, 0]))
  const totals = new Map<string, number>()
  let runs: Run[] = []
  let shots = 0

  const judge = (run: Run): void => {
    const cap = limits.stocks[run.stock]
    const since = (ms: number): number =>
      runs.reduce(
        (sum, other) => (other.stock === run.stock && other.endMs > run.endMs - ms ? sum + other.volumeMl : sum),
        0,
      )
    const over = (what: string, found: number, allowed: number): void => {
      if (!(found <= allowed * ROUNDING_SHARE))
        violations.push(
          `${new Date(run.endMs).toISOString()} ${run.stock} ${what}: ${found.toFixed(2)} mL, allowed ${allowed}`,
        )
    }
    if (!cap) return void violations.push(`${run.stock} ran without a limit`)
    over('shot', run.volumeMl, cap.shotMaxMl)
    over('hour', since(HOUR_MS), cap.hourMaxMl)
    over('day', since(DAY_MS), cap.dayMaxMl)
    for (const { from, min } of cap.apart) {
      const near = runs.find((other) => other.stock === from && run.endMs - other.endMs < min * MINUTE_MS)
      if (near)
        violations.push(
          `${new Date(run.endMs).toISOString()} ${run.stock} ${Math.round((run.endMs - near.endMs) / MINUTE_MS)} min after ${from}, ${min} must pass`,
        )
    }
  }

  return {
    violations,
    dosedMl,
    get shots() {
      return shots
    },
    look(atMs, node, sent) {
      if (sent.kind !== 'report' || !['done', 'stopped'].includes(sent.message.state)) return
      const stock = site.stocks.find((candidate) => candidate.node === node && candidate.pump === sent.pump)
      if (!stock) return
      const key = `${node}/${sent.pump}`
      const ranMs = sent.message.totalRunMs - (totals.get(key) ?? 0)
      totals.set(key, sent.message.totalRunMs)
      if (ranMs <= 0) return
      const run = { stock: stock.id, endMs: atMs, volumeMl: (ranMs / MINUTE_MS) * stock.rateMlPerMin }
      runs = [...runs.filter((other) => other.endMs > atMs - DAY_MS), run]
      dosedMl[stock.id]! += run.volumeMl
      shots++
      judge(run)
    },
  }
}
