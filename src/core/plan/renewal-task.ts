// The renewal that is asked for until it is done: what has been let go, how old the solution is, and when a next slice
// may follow.

import type { Renewal } from './renewal.ts'

export interface RenewalTask extends Renewal {
  readonly askedAtMs: number
  /** let go since it was asked for, L */
  readonly drainedL: number
  readonly text: string
}

export interface RenewalState {
  readonly task: RenewalTask | null
  /** mean age of the solution at a moment: it grows with time, and what is let go takes its share of it along */
  readonly ageMs: number
  readonly ageAtMs: number
  readonly lastDrainedMs: number | null
}

/** Time between two slices: mixing, and estimates that have followed. A judgement. */
const SLICE_GAP_MS = 86_400_000
/** A task counts as done from this share on: nobody lets go to the millilitre. */
const DONE_SHARE = 0.9

/** A solution just mixed. */
export function freshSolution(atMs: number): RenewalState {
  return { task: null, ageMs: 0, ageAtMs: atMs, lastDrainedMs: null }
}

/** Mean age of the solution now. */
export function solutionAgeMs(state: RenewalState, atMs: number): number {
  return state.ageMs + Math.max(0, atMs - state.ageAtMs)
}

/** After solution was let go, by the plan’s own asking or by anybody. */
export function afterDrain(state: RenewalState, volumeL: number, ofL: number, doneAtMs: number): RenewalState {
  const keptShare = 1 - Math.min(1, Math.max(0, volumeL / ofL))
  const drainedL = (state.task?.drainedL ?? 0) + volumeL
  const isDone = state.task !== null && drainedL >= DONE_SHARE * state.task.volumeL
  return {
    task: state.task === null || isDone ? null : { ...state.task, drainedL },
    ageMs: solutionAgeMs(state, doneAtMs) * keptShare,
    ageAtMs: Math.max(state.ageAtMs, doneAtMs),
    lastDrainedMs: Math.max(state.lastDrainedMs ?? doneAtMs, doneAtMs),
  }
}

/** Whether a new slice may be asked for. */
export function maySlice({ lastDrainedMs }: RenewalState, atMs: number): boolean {
  return lastDrainedMs === null || atMs - lastDrainedMs >= SLICE_GAP_MS
}

/** The task after a plan found this: kept as it was set while its cause lasts, dropped when that has gone. */
export function afterPlan(
  state: RenewalState,
  found: Renewal | undefined,
  atMs: number,
  textOf: (renewal: Renewal) => string,
): RenewalState {
  if (!found) return state.task === null ? state : { ...state, task: null }
  if (state.task !== null || !maySlice(state, atMs)) return state
  return { ...state, task: { ...found, askedAtMs: atMs, drainedL: 0, text: textOf(found) } }
}
