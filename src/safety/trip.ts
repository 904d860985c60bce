import { quietly, type Transition } from './happening.ts'
import type { SafetyState, Trip } from './state.ts'

export type TripName =
  | 'pump-ran-alone'
  | 'pump-overran'
  | 'totaliser-fell'
  | 'ledger-damaged'
  | `effect-${'none' | 'too-little' | 'too-much' | 'opposite' | 'unseen'}`

/** The subject of a trip that was rebuilt from its record, which keeps only the sentence. */
const ANY_SUBJECT = ''

/** Latches a trip until a person resets it. The same trip about the same thing is told once. */
export function latch(state: SafetyState, trip: Trip & { readonly trip: TripName }): Transition {
  const isLatched = state.trips.some(
    (old) => old.trip === trip.trip && (old.subject === trip.subject || old.subject === ANY_SUBJECT),
  )
  if (isLatched) return quietly(state)
  return {
    state: { ...state, trips: [...state.trips, trip] },
    happenings: [{ kind: 'tripped', trip: trip.trip, why: trip.why }],
  }
}

/** Latches a trip again from its record, with the same promise as `latch`. */
export function relatch(
  state: SafetyState,
  record: { readonly trip: string; readonly why: string; readonly atMs: number },
): SafetyState {
  const { trip, why, atMs } = record
  return { ...state, trips: [...state.trips, { trip, why, atMs, subject: ANY_SUBJECT }] }
}
