/** What stands for the whole site: started, mode, hold, link, disk, clock. */

import type { Limits } from '../../../src/safety/limits.ts'
import type { Answers } from './answers.ts'
import { lastStartIndex, type Told } from './told.ts'

export interface Standing {
  readonly term: number | null
  readonly blocks: readonly string[]
  /** null where no approval is needed, else the plans that a living approval covers */
  readonly approvedPlans: readonly string[] | null
}

/** What of the whole site speaks against any shot at this moment. */
export function standingOf(limits: Limits, told: readonly Told[], atMs: number, answers: Answers): Standing {
  const startAt = lastStartIndex(told)
  const start = told[startAt]
  const term = start?.kind === 'start' ? start.term : null
  const blocks: string[] = []
  if (term === null) blocks.push('not started')
  if (isHeld(told)) blocks.push('held')
  if (!latestEdge(told, 'link')) blocks.push('link down')
  if (!latestEdge(told, 'disk')) blocks.push('disk not writable')
  if (!latestEdge(told, 'clock')) blocks.push('clock not sane')
  const mode = modeOf(limits, told)
  if (mode !== 'automatic' && mode !== 'advise') blocks.push(`mode ${mode}`)
  return { term, blocks, approvedPlans: mode === 'automatic' ? null : livingApproval(limits, told, atMs, answers) }
}

function modeOf(limits: Limits, told: readonly Told[]): string {
  let mode: string = limits.mode
  for (const event of told) {
    if (event.kind === 'instruction' && event.instruction.instruction === 'mode') mode = event.instruction.mode
  }
  return mode
}

function isHeld(told: readonly Told[]): boolean {
  let held = false
  for (const event of told) {
    if (event.kind !== 'instruction') continue
    if (event.instruction.instruction === 'hold') held = true
    if (event.instruction.instruction === 'release') held = false
  }
  return held
}

function latestEdge(told: readonly Told[], edge: 'link' | 'disk' | 'clock'): boolean {
  let well = true
  for (const event of told) {
    if (event.kind !== 'edge' || event.news.edge !== edge) continue
    if (event.news.edge === 'link') well = event.news.up
    if (event.news.edge === 'disk') well = event.news.writable
    if (event.news.edge === 'clock') well = event.news.sane
  }
  return well
}

/** Only the latest approval counts, and a change of mode or a start ends it. */
function livingApproval(limits: Limits, told: readonly Told[], atMs: number, answers: Answers): readonly string[] {
  let approval: { planId: string; atMs: number } | null = null
  for (const event of told) {
    if (event.kind === 'start') approval = null
    if (event.kind !== 'instruction') continue
    const { instruction } = event
    if (instruction.instruction === 'mode') approval = null
    if (instruction.instruction === 'hold' && answers.holdEndsApproval) approval = null
    if (instruction.instruction === 'approve') approval = { planId: instruction.planId, atMs: event.atMs }
  }
  if (approval === null) return []
  const ageMs = atMs - approval.atMs
  const isGood = ageMs < limits.approvalMs || (ageMs === limits.approvalMs && !answers.approvalEndsAtItsTime)
  return ageMs >= 0 && isGood ? [approval.planId] : []
}
