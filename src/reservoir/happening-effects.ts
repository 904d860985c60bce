/** What safety has to tell, as records, messages and facts for the core. */

import { takeSettled } from '../core/observe.ts'
import type { Happening } from '../safety/happening.ts'
import type { Effect } from './effect.ts'
import type { ReservoirSettings, ReservoirState } from './state.ts'
import { watchSettled } from './watch-act.ts'

/** Tells one happening; a settled shot also reaches the core’s balance. */
export function tellHappening(
  settings: ReservoirSettings,
  state: ReservoirState,
  happening: Happening,
  effects: Effect[],
): ReservoirState {
  const { atMs } = state
  switch (happening.kind) {
    case 'settled': {
      const { commandId, stock, outcome, delivered } = happening
      const total = happening.totalRunMs === undefined ? {} : { totalRunMs: happening.totalRunMs }
      const purpose = happening.purpose === undefined ? {} : { purpose: happening.purpose }
      const record = { kind: 'settled' as const, atMs, commandId, stock, outcome, delivered, ...total, ...purpose }
      const watch = watchSettled(state.watch, record)
      effects.push({ kind: 'record', record })
      effects.push({ kind: 'notification', event: 'settled', text: settledText(happening) })
      const shot = {
        atMs,
        commandId,
        stock,
        isFinal: outcome !== 'unknown',
        lowUl: delivered.lowUl,
        highUl: delivered.highUl,
      }
      // what went into a measuring glass is not in the balance
      if (!state.core || happening.purpose !== undefined) return { ...state, watch }
      return { ...state, watch, core: takeSettled(settings.core, state.core, shot) }
    }
    case 'tripped':
      effects.push({ kind: 'record', record: { kind: 'tripped', atMs, trip: happening.trip, why: happening.why } })
      effects.push({ kind: 'notification', event: 'tripped', text: `Tripped (${happening.trip}): ${happening.why}` })
      return state
    case 'effect-judged': {
      const { kind: _kind, ...told } = happening
      effects.push({ kind: 'record', record: { kind: 'effect-judged', atMs, ...told } })
      return state
    }
    case 'node-boot':
      effects.push({ kind: 'record', record: { kind: 'node-boot', atMs, node: happening.node, boot: happening.boot } })
      return state
    case 'lease':
      effects.push({ kind: 'lease', node: happening.node, allowed: happening.allowed, why: happening.why })
      return state
    case 'instruction-refused':
      effects.push({
        kind: 'notification',
        event: 'instruction-refused',
        text: `${happening.instruction} refused: ${happening.why}`,
      })
      return state
  }
}

function settledText(settled: Extract<Happening, { kind: 'settled' }>): string {
  const { commandId, stock, outcome, delivered } = settled
  const low = (delivered.lowUl / 1000).toFixed(2)
  const high = (delivered.highUl / 1000).toFixed(2)
  const volume = low === high ? `${high} mL` : `${low} to ${high} mL`
  return outcome === 'unknown'
    ? `${stock}, command ${commandId}: nobody knows what ran; up to ${high} mL counts as delivered`
    : `${stock}, command ${commandId} ${outcome}: ${volume} delivered`
}
