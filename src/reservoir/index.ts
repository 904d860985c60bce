/** The package’s face: the loop, its inputs and effects, and a reservoir to drive with a plant of one’s own. */

import type { Configuration } from '../config/configuration.ts'
import { configurationHash } from '../config/configuration-hash.ts'
import { finishRerun } from '../core/estimate/history.ts'
import { type Estimate, estimateOf } from '../core/estimate/summary.ts'
import type { Plan } from '../core/plan/plan.ts'
import { reservoirSettings } from './configure-reservoir.ts'
import type { Effect } from './effect.ts'
import type { Input } from './input.ts'
import { decodeSnapshot, encodeSnapshot } from './snapshot.ts'
import { initialReservoirState, type ReservoirSettings, type ReservoirState } from './state.ts'
import { step } from './step.ts'

export type { Configuration } from '../config/configuration.ts'
export { loadConfiguration } from '../config/load-configuration.ts'
export type { Estimate } from '../core/estimate/summary.ts'
export type { Plan } from '../core/plan/plan.ts'
export { toCommandMessage } from './command-message.ts'
export type { Effect } from './effect.ts'
export { inputOfMessage } from './inbound.ts'
export type * from './input.ts'
export type { LaboratoryPreview } from './laboratory-preview.ts'
export { laboratoryPreview } from './laboratory-preview.ts'
export type { LedgerRecord } from './record.ts'
export { initialReservoirState, type ReservoirSettings, type ReservoirState } from './state.ts'
export { step } from './step.ts'

/** A reservoir that is driven from outside, one input at a time. */
export interface Reservoir {
  /** Folds one input; carry out the effects in their order. */
  handle(input: Input): readonly Effect[]
  /** What it is believed to hold now, every accepted report taken in; undefined before the first `start`. */
  estimate(): Estimate | undefined
  /** The newest plan, null before there was one. */
  plan(): Plan | null
  /** Everything it remembers, with schema and configuration hash. */
  snapshot(): Uint8Array
}

/**
 * A reservoir of a parsed configuration, new or going on from a snapshot as if it had never stopped.
 *
 * @throws when the snapshot cannot be read or belongs to another configuration
 */
export function createReservoir(configuration: Configuration, snapshot?: Uint8Array): Reservoir {
  const settings = reservoirSettings(configuration)
  const hash = configurationHash(configuration)
  let state = snapshot ? restored(snapshot, hash) : initialReservoirState(settings)
  return {
    handle(input) {
      const stepped = step(settings, state, input)
      state = stepped.state
      return stepped.effects
    },
    estimate: () => estimateNow(settings, state),
    plan: () => state.core?.plan ?? null,
    snapshot: () => encodeSnapshot(state, hash),
  }
}

function restored(snapshot: Uint8Array, hash: string): ReservoirState {
  const read = decodeSnapshot<ReservoirState>(snapshot, hash)
  if (read.kind === 'unreadable') throw new Error(`${read.why}; start without it and add the laboratory results again`)
  return read.state
}

/** The estimate with any re-run under way finished on the side; the state itself goes on in slices. */
function estimateNow(settings: ReservoirSettings, state: ReservoirState): Estimate | undefined {
  if (!state.core) return undefined
  return estimateOf(finishRerun(settings.core, state.core.cohorts, state.core.history).filter)
}
