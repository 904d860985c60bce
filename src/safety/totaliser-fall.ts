import type { OpenCommand } from './book.ts'
import { andThen, quietly, type Transition } from './happening.ts'
import type { Limits } from './limits.ts'
import { settle } from './settlement.ts'
import type { SafetyState } from './state.ts'
import { latch } from './trip.ts'

interface Totals {
  readonly totalRunMs: number | null
  readonly doubtMs: number | null
}

/** Whether a count that only ever grows has become smaller: then it can settle nothing. */
export function isFall(before: Totals, now: Totals): boolean {
  return fell(before.totalRunMs, now.totalRunMs) || fell(before.doubtMs, now.doubtMs)
}

/** Trips, and closes what the totaliser can no longer settle with its full volume. */
export function closeAfterFall(
  limits: Limits,
  state: SafetyState,
  fall: { atMs: number; node: string; pump: string; command: OpenCommand | undefined },
): Transition {
  const { atMs, command } = fall
  const closed =
    command === undefined
      ? quietly(state)
      : settle(limits, state, { atMs, ...idOf(command), delivered: { lowUl: 0, highUl: command.volumeUl } }, 'stopped')
  return andThen(closed, (next) =>
    latch(next, {
      trip: 'totaliser-fell',
      subject: `${fall.node}/${fall.pump}`,
      why:
        `the run-time count of ${fall.pump} on ${fall.node} became smaller; ` +
        'see whether the node was changed or lost its memory, then reset the trip',
      atMs,
    }),
  )
}

function idOf(command: OpenCommand): { commandId: string; stock: string } {
  return { commandId: command.commandId, stock: command.stock }
}

function fell(before: number | null, now: number | null): boolean {
  return before !== null && now !== null && now < before
}
