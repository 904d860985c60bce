import { type Limits, stockLimitsOf } from './limits.ts'
import type { JudgedRow, SettledRow } from './rebuild.ts'
import { type SafetyState, withPump } from './state.ts'

/**
 * The state with every pump’s totaliser as the records last knew it, so that growth since then is found and growth
 * before is not counted again. A run that no command asked for belongs to the pump of its stock.
 *
 * A settled row does not tell the doubt; after one, the next heartbeat’s doubt is taken as it comes.
 *
 * @param rows judged and settled rows, oldest first; those of a node that no limit names are passed over
 */
export function rebuildTotals(
  limits: Limits,
  state: SafetyState,
  rows: readonly (JudgedRow | SettledRow)[],
): SafetyState {
  let next = state
  const judgedById = new Map<string, JudgedRow>()
  for (const row of rows) {
    const judged = row.kind === 'judged' ? row : null
    if (judged?.verdict === 'refuse') continue
    if (judged !== null) judgedById.set(judged.commandId, judged)
    const place = judgedById.get(row.commandId) ?? stockLimitsOf(limits, row.stock)
    if (place === null || row.totalRunMs === undefined || next.nodes[place.node] === undefined) continue
    const doubtMs = judged === null ? null : doubtOf(judged)
    next = withPump(next, place.node, place.pump, { ...UNHEARD, totalRunMs: row.totalRunMs, doubtMs })
  }
  return next
}

/** No record tells what heartbeats said in between. */
const UNHEARD = { boot: null, uptimeMs: 0, heard: null } as const

function doubtOf(row: JudgedRow): number | null {
  const doubtMs = row.figures['doubtMs']
  return typeof doubtMs === 'number' ? doubtMs : null
}
