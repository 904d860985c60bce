import { DAY_MS } from './book.ts'
import type { MeterLimits } from './limits.ts'

/**
 * Make-up water by its counter, as far as it is surely known. What is credited here lets more acid in, so doubt falls
 * on the side of less: a counter that falls, jumps, or says it is not good credits nothing it cannot vouch for.
 */
export interface MakeUp {
  readonly last: { readonly counterL: number; readonly atMs: number } | null
  /** all that was credited, L */
  readonly sumL: number
  /** moments at which the sum stood, oldest first, at least MARK_MS apart and from the last day only */
  readonly marks: readonly { readonly atMs: number; readonly sumL: number }[]
}

export const NO_MAKE_UP: MakeUp = { last: null, sumL: 0, marks: [] }

/** Water is known to have come in a window only from the first mark inside it, so this much of a window may be lost. */
const MARK_MS = 300_000
const MINUTE_MS = 60_000

/**
 * One more reading of the counter, L. One that is no number, negative, not good or not newer than the last changes
 * nothing; growth is credited up to what the valve can bring in the time between; a fall starts a new count.
 */
export function takeMeter(
  meter: MeterLimits,
  before: MakeUp,
  reading: { readonly counterL: number; readonly isGood: boolean; readonly atMs: number },
): MakeUp {
  const { counterL, isGood, atMs } = reading
  if (!(isGood && counterL >= 0 && counterL < Number.POSITIVE_INFINITY)) return before
  const last = { counterL, atMs }
  if (before.last === null) return { ...before, last, marks: [{ atMs, sumL: before.sumL }] }
  const elapsedMs = atMs - before.last.atMs
  if (!(elapsedMs > 0)) return before
  const mostL = (meter.maxLPerMin * elapsedMs) / MINUTE_MS
  const grewL = counterL - before.last.counterL
  // A valve of which nobody told what it brings has brought nothing.
  const creditL = Math.max(0, Math.min(grewL, mostL)) || 0
  const sumL = before.sumL + creditL
  return { last, sumL, marks: withMark(before.marks, { atMs, sumL }) }
}

function withMark(marks: MakeUp['marks'], mark: MakeUp['marks'][number]): MakeUp['marks'] {
  if (marks.some((old) => mark.atMs - old.atMs < MARK_MS)) return marks
  return [...marks.filter((old) => old.atMs >= mark.atMs - DAY_MS), mark]
}

/** Litres that surely came in the window up to `atMs`: since the first mark inside it. */
export function makeUpWithinL(makeUp: MakeUp, atMs: number, windowMs: number): number {
  const from = makeUp.marks.find((mark) => mark.atMs >= atMs - windowMs)
  return from === undefined ? 0 : makeUp.sumL - from.sumL
}
