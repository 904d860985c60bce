/** Why nothing is dosed, since when, and what it costs the crop. */

import { firstToRunOut, type RunningOut } from '../core/plan/running-out.ts'
import type { ReservoirSettings, ReservoirState } from './state.ts'

export interface Standstill {
  /** as part of a sentence: `on hold by Ines` */
  readonly why: string
  readonly sinceMs: number
  readonly runsOut: RunningOut | null
  /** the belief that `runsOut` was worked out from */
  readonly ofBeliefMs: number
}

/** A state without the standstill it had, or with the one it has now; worked out anew when the belief has moved. */
export function watchStandstill(settings: ReservoirSettings, state: ReservoirState): ReservoirState {
  const { standstill: before, core, atMs } = state
  const why = core && whyNothingIsDosed(settings, state)
  if (!core || !why) return before === null ? state : { ...state, standstill: null }
  const ofBeliefMs = core.history.filter.atMs
  if (before?.why === why.text && before.ofBeliefMs === ofBeliefMs) return state
  const sinceMs = why.sinceMs ?? before?.sinceMs ?? atMs
  const runsOut = firstToRunOut(settings.core, core, Math.max(atMs, ofBeliefMs))
  return { ...state, standstill: { why: why.text, sinceMs, runsOut, ofBeliefMs } }
}

/** What stops every dose, the gravest first; undefined while doses may go. */
function whyNothingIsDosed(
  { limits }: ReservoirSettings,
  { safety, heard, atMs }: ReservoirState,
): { readonly text: string; readonly sinceMs?: number } | undefined {
  const { held, trips, nodes } = safety
  if (held) return { text: `on hold by ${held.by}`, sinceMs: held.atMs }
  if (safety.sanitise) return { text: 'off for sanitising' }
  const trip = trips[0]
  if (trip) return { text: `tripped (${trip.trip})`, sinceMs: trip.atMs }
  if (!safety.diskWritable) return { text: 'stopped because the record cannot be written' }
  if (!safety.clockSane) return { text: 'stopped because the clock is not sane' }
  if (!safety.linkUp) return { text: 'stopped because the way to the nodes is down' }
  const unsettled = safety.book.commands.find(({ isFromBefore }) => isFromBefore === true)
  if (unsettled) {
    const { commandId, node } = unsettled
    return { text: `stopped until node ${node} tells what became of command ${commandId} from before the start` }
  }
  if (safety.mode === 'observe') return { text: 'off in mode observe' }
  if (safety.mode === 'advise' && !safety.approved) return { text: 'waiting for a person’s approval in mode advise' }
  const isDark = (name: string) =>
    !nodes[name]?.online || !(atMs - (heard.nodesAtMs[name] ?? heard.startedAtMs) <= limits.heartbeatAgeMaxMs)
  const names = Object.keys(nodes)
  if (names.length === 0 || !names.every(isDark)) return undefined
  return { text: `stopped because no pump node is heard (${names.join(', ')})` }
}
