import type { OpenCommand } from './book.ts'
import { andThen, quietly, type Transition } from './happening.ts'
import type { Limits } from './limits.ts'
import { possiblyUlOf } from './run-time.ts'
import { settle } from './settlement.ts'
import type { HeardTotals, PumpState, SafetyState } from './state.ts'
import { latch } from './trip.ts'

interface Totals {
  readonly totalRunMs: number | null
  readonly doubtMs: number | null
}

/**
 * Whether a count that only ever grows has become smaller: then it can settle nothing. It is compared with what it was
 * before the command, and with what the node said last, which during a run is more. Only for what a node said after that.
 *
 * A start of the node in mid-run may take back what was counted of it; its doubt then stands for as much as was asked.
 */
export function isFall(pump: PumpState | undefined, command: OpenCommand | undefined, now: HeardTotals): boolean {
  const before: Totals | undefined = command ?? pump
  if (before !== undefined && (fell(before.totalRunMs, now.totalRunMs) || fell(before.doubtMs, now.doubtMs)))
    return true
  const heard = pump?.heard ?? null
  if (heard === null) return false
  if (heard.boot === now.boot) return fell(heard.totalRunMs, now.totalRunMs) || fell(heard.doubtMs, now.doubtMs)
  const vouchedMs = command === undefined ? sumOf(heard) : Math.min(sumOf(heard), sumOf(command) + command.runMs)
  return fell(heard.doubtMs, now.doubtMs) || sumOf(now) < vouchedMs
}

/** How long a pump may have run for a command by what its node said last, whatever it says later. */
export function heardRunMs(pump: PumpState | undefined, command: OpenCommand): number {
  const heard = pump?.heard ?? command
  return Math.max(0, heard.totalRunMs - command.totalRunMs) + Math.max(0, heard.doubtMs - command.doubtMs)
}

/** Trips, and closes what the totaliser can no longer settle with its full volume, or with more where more was heard of. */
export function closeAfterFall(
  limits: Limits,
  state: SafetyState,
  fall: { atMs: number; node: string; pump: string; command: OpenCommand | undefined },
): Transition {
  const { atMs, command } = fall
  const pump = state.nodes[fall.node]?.pumps[fall.pump]
  const closed = command === undefined ? quietly(state) : settle(limits, state, inFull(command, pump, atMs), 'stopped')
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

function inFull(command: OpenCommand, pump: PumpState | undefined, atMs: number) {
  const { commandId, stock, volumeUl, rateUlPerS } = command
  const highUl = Math.max(volumeUl, possiblyUlOf(heardRunMs(pump, command), rateUlPerS))
  return { atMs, commandId, stock, delivered: { lowUl: 0, highUl } }
}

function sumOf({ totalRunMs, doubtMs }: Pick<HeardTotals, 'totalRunMs' | 'doubtMs'>): number {
  return totalRunMs + doubtMs
}

/** Nobody remembers what it was: nothing is less. */
function fell(before: number | null, now: number): boolean {
  return now < (before ?? 0)
}
