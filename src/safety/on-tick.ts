import { latestEndMs, pruneBook } from './book.ts'
import { closeContrasts } from './effect.ts'
import { andThen, type Transition } from './happening.ts'
import { withLeases } from './lease.ts'
import type { Limits } from './limits.ts'
import { markUnknown } from './settlement.ts'
import type { SafetyState } from './state.ts'
import { withSwitch } from './switch-lease.ts'

/** Time passes: commands that nobody reported on in time are unknown, and the book drops what left its windows. */
export function onTick(limits: Limits, state: SafetyState, input: { readonly atMs: number }): Transition {
  const book = pruneBook(state.book, input.atMs)
  let next = withSwitch(limits, book === state.book ? state : { ...state, book }, input.atMs)
  for (const command of book.commands) {
    // A grace that is no number is over at once: a person hears of it, and no dose goes out by such limits.
    const isOverdue = !(input.atMs <= latestEndMs(limits, command) + limits.reportGraceMs)
    if (isOverdue) next = withLeases(andThen(next, (before) => markUnknown(before, command)))
  }
  return andThen(next, (before) => closeContrasts(limits, before, input.atMs))
}
