/** What people say to alarms: seen, put aside until a time, taken up again. */

import { type AlarmBoard, type BoardChange, NORMAL, withStanding } from './alarm-board.ts'
import { definitionOf } from './alarm-definition.ts'

const HOUR_MS = 3_600_000
/** Out of sight for longer than a shift would be forgotten; plant life is never longer out of sight than roots live. */
const SHELVE_MOST_MS = 24 * HOUR_MS
const SHELVE_MOST_URGENT_MS = HOUR_MS

const unchanged = (board: AlarmBoard): BoardChange => ({ board, changes: [] })

/** A person has seen it. One whose cause is gone becomes normal; one that stands stays, seen. */
export function acknowledgeAlarm(board: AlarmBoard, alarm: string, by: string): BoardChange {
  const before = board[alarm]
  if (!before || !definitionOf(alarm)) return unchanged(board)
  const seen =
    before.condition === 'unacknowledged'
      ? ({ ...before, condition: 'acknowledged', by } as const)
      : before.condition === 'returned' || before.condition === 'latched'
        ? { ...NORMAL, holdsSinceMs: before.holdsSinceMs, by }
        : undefined
  return seen ? withStanding(unchanged(board), alarm, seen) : unchanged(board)
}

/**
 * Why an alarm may not be shelved until then; undefined where it may. An urgent one at most an hour, others a day.
 * A longer wish is refused, not cut.
 */
export function shelvingRefused(alarm: string, untilMs: number, atMs: number): string | undefined {
  const definition = definitionOf(alarm)
  if (!definition) return `there is no alarm "${alarm}"`
  const mostMs = definition.priority === 'urgent' ? SHELVE_MOST_URGENT_MS : SHELVE_MOST_MS
  if (!(untilMs > atMs)) return 'the end of the shelving is not in the future'
  if (untilMs - atMs > mostMs)
    return `an alarm of priority ${definition.priority} may be shelved for ${mostMs / HOUR_MS} h at most`
  return undefined
}

/** Puts an alarm aside until `untilMs`; unchanged where that is refused. */
export function shelveAlarm(
  board: AlarmBoard,
  shelving: { readonly alarm: string; readonly untilMs: number; readonly by: string; readonly atMs: number },
): BoardChange {
  const { alarm, untilMs, by, atMs } = shelving
  if (shelvingRefused(alarm, untilMs, atMs) !== undefined) return unchanged(board)
  const before = board[alarm] ?? NORMAL
  const { told, toldAtMs, raisedAtMs, detail, holdsSinceMs } = before
  const after = {
    ...NORMAL,
    condition: 'shelved' as const,
    holdsSinceMs,
    untilMs,
    by,
    told,
    toldAtMs,
    raisedAtMs,
    detail,
  }
  return withStanding(unchanged(board), alarm, after)
}

/** Takes it from the shelf: with its cause still there it is raised at the next look. */
export function unshelveAlarm(board: AlarmBoard, alarm: string): BoardChange {
  const before = board[alarm]
  if (before?.condition !== 'shelved') return unchanged(board)
  return withStanding(unchanged(board), alarm, { ...NORMAL, holdsSinceMs: before.holdsSinceMs })
}
