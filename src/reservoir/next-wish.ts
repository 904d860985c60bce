/** What to ask safety for now: the next shot of the plan, or of an approved ration where no plan can be carried out. */

import { isUnsettled } from '../core/estimate/memory.ts'
import { nextRation } from '../core/plan/ration.ts'
import { hasDueShot, nextShot } from '../core/propose.ts'
import type { CoreState } from '../core/state.ts'
import { headroom, shotRoom } from '../safety/headroom.ts'
import type { Limits } from '../safety/limits.ts'
import { coveredLoss, rationFacts } from '../safety/ration-facts.ts'
import type { ShotWish } from '../safety/types.ts'
import { waterFacts } from '../safety/water-facts.ts'
import { isActing } from './approval.ts'
import type { ReservoirSettings, ReservoirState } from './state.ts'

const HOUR_MS = 3_600_000

export interface NextWish {
  readonly core: CoreState
  readonly wish: ShotWish
  /** what people are told of it, before the volume; '' for a shot of the plan */
  readonly told: string
}

/**
 * One wish at a time, and none while a command is not settled. Rations are looked at by ticks only: their room grows
 * with the make-up water, and needs no second’s hurry.
 */
export function nextWish(settings: ReservoirSettings, state: ReservoirState, isTick: boolean): NextWish | undefined {
  const { core, atMs, safety } = state
  if (!core || safety.book.commands.length > 0 || !isActing(settings, state)) return undefined
  const isShotDue = hasDueShot(core, atMs)
  const isRationed = isTick && (safety.ration ?? null) !== null
  if (!isShotDue && !isRationed) return undefined
  const next = isShotDue ? nextShot(settings.core, core, shotRoom(settings.limits, safety, atMs), atMs) : undefined
  if (next) return { core: next.state, wish: next.shot, told: '' }
  if (!isRationed) return undefined
  const shotMinUl = Object.fromEntries(settings.core.stocks.map((stock) => [stock.id, stock.shotMinUl]))
  const isEstimatorUnfit = isUnfit(core)
  const left = headroom(settings.limits, safety, atMs)
  const shot = nextRation({ headroom: left, isEstimatorUnfit, shotMinUl })
  if (!shot) return undefined
  return {
    core,
    wish: { ...shot, planId: `ration-${Math.round((safety.ration?.atMs ?? 0) / 1000)}`, purpose: 'ration' },
    told: `Ration by the make-up meter, ${left.lostProbe ?? 'the estimate'} being lost: `,
  }
}

/** What a ration stands in for now and until when, as a part of a sentence; undefined where none runs. */
export function rationRuns(limits: Limits, state: ReservoirState): string | undefined {
  const { safety, core, atMs } = state
  const approved = safety.ration ?? null
  if (approved === null || limits.ration === undefined || !core || safety.mode !== 'automatic') return undefined
  if (safety.held !== null || safety.trips.length > 0 || !(atMs - approved.atMs <= limits.ration.lastsMs))
    return undefined
  const facts = rationFacts(limits, safety, '', waterFacts(limits, safety, atMs), atMs)
  const isForEstimate = facts.lost.length === 0 && isUnfit(core) && facts.rationCovers.includes('estimator')
  const lost = coveredLoss(facts)?.id ?? (isForEstimate ? 'the estimate' : undefined)
  if (lost === undefined) return undefined
  const leftH = (approved.atMs + limits.ration.lastsMs - atMs) / HOUR_MS
  return `${lost} is lost; ${approved.by} approved a ration that has ${leftH.toFixed(0)} h left`
}

/** Readings contradict the belief, or the last plan could not be made for want of one. */
function isUnfit({ history, plan }: CoreState): boolean {
  if (isUnsettled(history.filter.memory)) return true
  return plan?.notes.some(({ kind }) => kind === 'no-estimate' || kind === 'solver') ?? false
}
