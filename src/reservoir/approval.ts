/** In the advise mode a person’s approval is for one plan: it is carried out as it was approved, or it lapses. */

import type { Limits } from '../safety/limits.ts'
import type { ReservoirSettings, ReservoirState } from './state.ts'

/** Until when the newest plan is approved; undefined where it is not, or no longer. */
export function approvedUntilMs(limits: Pick<Limits, 'approvalMs'>, state: ReservoirState): number | undefined {
  const { approved, mode } = state.safety
  if (mode !== 'advise' || approved === null || approved.planId !== state.core?.plan?.id) return undefined
  const untilMs = approved.atMs + limits.approvalMs
  return state.atMs <= untilMs ? untilMs : undefined
}

/** Whether shots of the plan may be asked for now. */
export function isActing(settings: ReservoirSettings, state: ReservoirState): boolean {
  return state.safety.mode === 'automatic' || approvedUntilMs(settings.limits, state) !== undefined
}

/** No new plan takes the place of an approved one while any of its shots is still to come. */
export function isPlanKept(settings: ReservoirSettings, state: ReservoirState): boolean {
  const isUnfinished = (state.core?.shots.length ?? 0) > 0 || state.safety.book.commands.length > 0
  return isUnfinished && approvedUntilMs(settings.limits, state) !== undefined
}
