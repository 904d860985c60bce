import type { Effect } from './effect.ts'
import type { ReservoirState } from './state.ts'

/** What could not be taken, written down and told; everything stays as it was. */
export function refuse(state: ReservoirState, what: string, why: string, effects: Effect[]): ReservoirState {
  effects.push({
    kind: 'record',
    record: { kind: 'event', atMs: state.atMs, event: 'refused', text: `${what}: ${why}` },
  })
  effects.push({ kind: 'notification', event: 'refused', text: `Refused ${what}: ${why}` })
  return state
}
