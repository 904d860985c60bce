import { refilled } from './bottle.ts'
import { quietly, type Transition } from './happening.ts'
import { withLeases } from './lease.ts'
import type { Limits } from './limits.ts'
import type { SafetyState } from './state.ts'

export type SafetyAct =
  | { readonly act: 'rinsed' | 'probe-checked'; readonly doneAtMs: number }
  | { readonly act: 'stock-refilled'; readonly doneAtMs: number; readonly stock: string; readonly volumeMl: number }
  /** none of safety’s business */
  | {
      readonly act:
        | 'salt-added'
        | 'drained'
        | 'topped-up'
        | 'changed'
        | 'bottle-weighed'
        | 'transplanted'
        | 'harvested'
        | 'noted'
    }

/**
 * Something a person did by hand. The rinse counts when it was done after sanitising ended, the probe check when it
 * was done after the rinse; neither can be done in time to come.
 */
export function onAct(
  limits: Limits,
  state: SafetyState,
  input: { readonly atMs: number; readonly act: SafetyAct },
): Transition {
  const { atMs, act } = input
  switch (act.act) {
    case 'rinsed':
      return isDoneIn(state, 'to-rinse', act.doneAtMs, atMs)
        ? withLeases(quietly({ ...state, sanitise: { phase: 'to-check', sinceMs: act.doneAtMs } }))
        : quietly(state)
    case 'probe-checked':
      return isDoneIn(state, 'to-check', act.doneAtMs, atMs)
        ? withLeases(quietly({ ...state, sanitise: null }))
        : quietly(state)
    case 'stock-refilled':
      return quietly(refilled(state, { ...act, atMs }))
    case 'drained':
    case 'changed':
    case 'salt-added':
      return quietly(withoutContrasts(limits, state, atMs))
    default:
      return quietly(state)
  }
}

/** How many mixing times pass until conductivity is a line again: what was let go comes back by a float valve. */
const SETTLE_MIXINGS = 4

/** Solution that a hand let go or salt that it put in moves conductivity more than any shot: nothing across it is evidence. */
function withoutContrasts(limits: Limits, state: SafetyState, atMs: number): SafetyState {
  const effects = Object.fromEntries(
    Object.entries(state.effects).map(([stock, effect]) => [stock, { ...effect, contrast: null }]),
  )
  return { ...state, effects, effectBins: [], effectQuietUntilMs: atMs + SETTLE_MIXINGS * limits.mixingMs }
}

function isDoneIn(state: SafetyState, phase: 'to-rinse' | 'to-check', doneAtMs: number, atMs: number): boolean {
  return state.sanitise?.phase === phase && doneAtMs >= state.sanitise.sinceMs && doneAtMs <= atMs
}
