/** The moments at which a wait, an age or a window is just about over, as the second model sees it. */

import type { View } from './opinion.ts'

const HOUR_MS = 3_600_000

/** All such moments, past ones too, in no order. */
export function edgesOf(view: View): readonly number[] {
  const { limits } = view
  const edges: number[] = []
  const add = (fromMs: number | null | undefined, waits: readonly (number | undefined)[]): void => {
    for (const wait of waits) edges.push((fromMs ?? Number.NaN) + (wait ?? Number.NaN))
  }
  for (const [probe, seen] of view.seen) {
    if (seen === null) continue
    add(seen.atMs, [limits.scanAgeMaxMs])
    add(seen.sameSinceMs, [probe.stuckMs ?? limits.stuckMs])
    if (probe.role === 'flow') add(seen.flowingSinceMs, [limits.flowSteadyMs, limits.acid?.afterFlowMs])
    if (probe.role === 'ph') add(seen.atMs, [limits.acid?.phFreshMs])
  }
  const waits = limits.stocks.flatMap((stock) => [stock.gapMs, ...stock.apart.map((apart) => apart.ms)])
  for (const row of view.deliveries.rows.slice(-8)) {
    add(row.endMs, [...waits, limits.mixingMs, HOUR_MS, HOUR_MS, 24 * HOUR_MS])
  }
  for (const command of view.deliveries.unsettled) {
    add(command.latestEndMs, [...waits, 0, limits.reportGraceMs, limits.mixingMs, HOUR_MS, 24 * HOUR_MS])
  }
  for (const event of view.told.slice(-12)) {
    if (event.kind === 'heartbeat') add(event.atMs, [limits.heartbeatAgeMaxMs])
  }
  for (const event of view.told) {
    if (event.kind === 'instruction' && event.instruction.instruction === 'approve')
      add(event.atMs, [limits.approvalMs])
  }
  return edges.filter((atMs) => Number.isSafeInteger(atMs))
}
