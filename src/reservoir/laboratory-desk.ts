/** Reports as they come in: taken, held for a person, or refused; and what a person then decides. */

import { takeLaboratory } from '../core/observe.ts'
import type { CoreState } from '../core/state.ts'
import type { Effect } from './effect.ts'
import type { LaboratoryDecisionInput, LaboratoryInput, LaboratoryResult } from './input.ts'
import { laboratoryPreview } from './laboratory-preview.ts'
import { refuse } from './refusal.ts'
import type { HeldReport, ReservoirSettings, ReservoirState } from './state.ts'

/** Takes a report, or holds one that disagrees with the estimate as no water does. */
export function takeResult(
  settings: ReservoirSettings,
  state: ReservoirState,
  core: CoreState,
  input: LaboratoryInput,
  effects: Effect[],
): ReservoirState {
  const { atMs, by, result, isAccepted } = input
  const preview = laboratoryPreview(settings, state, result)
  const why = preview.kind === 'preview' ? preview.heldBecause : []
  if (why.length > 0 && !isAccepted) {
    effects.push({ kind: 'record', record: { kind: 'laboratory-held', atMs, by, result, why } })
    const text = `Laboratory result ${result.id} is held and moves nothing: ${why.join(' ')} Look at the report; then accept it, or withdraw it and add the corrected one.`
    effects.push({ kind: 'notification', event: 'laboratory-held', text })
    return holdReport(state, { by, result, why, heldAtMs: atMs })
  }
  const taken = takeLaboratory(core, result, atMs)
  if (taken.kind === 'refused') return refuse(state, `the laboratory result ${result.id}`, taken.why, effects)
  effects.push({ kind: 'record', record: { kind: 'laboratory', atMs, by, result } })
  return { ...withoutHeld(state, result.id), core: tellTaken(taken.state, result, effects) }
}

function tellTaken(core: CoreState, { id }: LaboratoryResult, effects: Effect[]): CoreState {
  effects.push({
    kind: 'notification',
    event: 'laboratory',
    text: `Laboratory result ${id} taken; everything since its bottle was filled is run again`,
  })
  return core
}

/** What a person decides of a held report. */
export function decideResult(
  state: ReservoirState,
  core: CoreState,
  input: LaboratoryDecisionInput,
  effects: Effect[],
): ReservoirState {
  const { atMs, by, reason, id, decision } = input
  const held = state.heldReports.find((report) => report.result.id === id)
  const what = `the decision on ${id}`
  if (!held) return refuse(state, what, 'no report of this id is held; one that was taken can be withdrawn', effects)
  const record = { kind: 'laboratory-decided', atMs, by, reason, id, decision } as const
  if (decision === 'hold') {
    effects.push({ kind: 'record', record })
    effects.push({ kind: 'notification', event: 'laboratory-held', text: `${by}: ${id} stays held (${reason})` })
    return state
  }
  const taken = takeLaboratory(core, held.result, atMs)
  if (taken.kind === 'refused') return refuse(state, what, taken.why, effects)
  effects.push({ kind: 'record', record })
  effects.push({ kind: 'notification', event: 'laboratory-accepted', text: `${by} accepted ${id}: ${reason}` })
  return { ...withoutHeld(state, id), core: tellTaken(taken.state, held.result, effects) }
}

/** A held report beside the others; one of the same id takes the place of the older. */
export function holdReport(state: ReservoirState, report: HeldReport): ReservoirState {
  return { ...state, heldReports: [...withoutHeld(state, report.result.id).heldReports, report] }
}

/** The very same state where none of this id is held. */
export function withoutHeld(state: ReservoirState, id: string): ReservoirState {
  const heldReports = state.heldReports.filter((report) => report.result.id !== id)
  return heldReports.length === state.heldReports.length ? state : { ...state, heldReports }
}

/** A decision as its record has it, at a restart. */
export function foldDecision(
  state: ReservoirState,
  record: { readonly atMs: number; readonly id: string; readonly decision: 'accept' | 'hold' },
): ReservoirState {
  const held = state.heldReports.find((report) => report.result.id === record.id)
  if (!held || record.decision === 'hold' || !state.core) return state
  const taken = takeLaboratory(state.core, held.result, record.atMs)
  return taken.kind === 'taken' ? { ...withoutHeld(state, record.id), core: taken.state } : state
}
