import { type ElementDay, elementDays } from './element-day.ts'
import type { Limits } from './limits.ts'
import type { SafetyState } from './state.ts'
import { type WaterFacts, waterFacts } from './water-facts.ts'

/** What is the same for every stock at one moment, so that it is worked out once, however many are asked about. */
export interface MomentFacts {
  readonly water: WaterFacts
  readonly elementDays: readonly ElementDay[]
}

export function momentFacts(limits: Limits, state: SafetyState, atMs: number): MomentFacts {
  return { water: waterFacts(limits, state, atMs), elementDays: elementDays(limits, state.book, atMs) }
}
