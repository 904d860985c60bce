import type { Seen } from './effect-contrast.ts'
import type { SafetyState } from './state.ts'
import type { Delivered } from './types.ts'

export type Outcome = 'done' | 'refused' | 'stopped' | 'not-sent' | 'unknown'

/** What a transition has to tell the rest of the house. */
export type Happening =
  /**
   * What became of a command. `unknown` counts in full and may be followed by an exact one of the same id. An id that
   * begins with `no-command:` is a run nobody here asked for.
   */
  | {
      readonly kind: 'settled'
      readonly commandId: string
      readonly stock: string
      readonly outcome: Outcome
      readonly delivered: Delivered
      readonly totalRunMs?: number
      readonly purpose?: 'calibration'
    }
  | { readonly kind: 'tripped'; readonly trip: string; readonly why: string }
  /** the effect of a shot was measured, or could not be, and what follows from it */
  | {
      readonly kind: 'effect-judged'
      readonly stock: string
      readonly decision: 'undecided' | 'as-declared' | 'wrong' | 'unseen'
      readonly unverifiedUl: number
      readonly information: number
      readonly agreement: number
      readonly against: number
      readonly seen?: Seen
    }
  | { readonly kind: 'node-boot'; readonly node: string; readonly boot: string }
  /** only when it changed */
  | { readonly kind: 'lease'; readonly node: string; readonly allowed: boolean; readonly why: string }
  | { readonly kind: 'instruction-refused'; readonly instruction: string; readonly why: string }

export interface Transition {
  readonly state: SafetyState
  readonly happenings: readonly Happening[]
}

const NOTHING: readonly Happening[] = []

/** A transition that has nothing to tell. */
export function quietly(state: SafetyState): Transition {
  return { state, happenings: NOTHING }
}

/** Runs a second transition on the outcome of a first. */
export function andThen(first: Transition, second: (state: SafetyState) => Transition): Transition {
  const next = second(first.state)
  return { state: next.state, happenings: [...first.happenings, ...next.happenings] }
}
