/**
 * The loop’s stand-in while the disk lets an append hang: it hears what is said, raises alarms, takes a hold, and says
 * so. Nothing can be dosed out of it, and it is thrown away once the disk answers; what must not be lost waits for the
 * loop itself.
 */

import type { Effect } from '../reservoir/effect.ts'
import type { ReservoirSettings, ReservoirState } from '../reservoir/state.ts'
import { step } from '../reservoir/step.ts'
import { stamped, type UnstampedInput } from './loop-input.ts'

export class StandIn {
  readonly #settings: ReservoirSettings
  readonly #onEffect: (effect: Effect, atMs: number) => void
  #state: ReservoirState

  /** @param state as the last input left it that was kept */
  constructor(settings: ReservoirSettings, state: ReservoirState, onEffect: (effect: Effect, atMs: number) => void) {
    this.#settings = settings
    this.#state = state
    this.#onEffect = onEffect
  }

  get state(): ReservoirState {
    return this.#state
  }

  /** Tells alarms and notices. Records would count twice, and leases are withdrawn already from a loop that hangs. */
  hear(input: UnstampedInput, wallMs: number): void {
    const { state, effects } = step(this.#settings, this.#state, stamped(input, wallMs, this.#state))
    this.#state = state
    for (const effect of effects) {
      if (effect.kind === 'command')
        throw new Error('a command came out of a state that says that nothing can be written')
      if (effect.kind === 'alarm' || effect.kind === 'notification') this.#onEffect(effect, state.atMs)
    }
  }
}
