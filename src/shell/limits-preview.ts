/** Other limits tried on recorded weeks, in two answers that are kept apart: what the gate would have done, and a model. */

import { INTERLOCKS } from '../safety/interlocks.ts'
import type { LimitsPreview } from './api/schema/limits.ts'
import type { Period, Site } from './api/site.ts'
import { previewBands } from './bands-preview.ts'
import { type GateAgain, judgePeriodAgain } from './gate-preview.ts'
import type { Slices } from './slices.ts'

/** Weeks that show what a limit does, and few enough for a person to wait for. */
export const PREVIEW_MS = 28 * 86_400_000

/** @param values other limits, by path; each must be one that could be put in force */
export async function previewLimits(
  site: Site,
  period: Period,
  values: Readonly<Record<string, number>>,
  { slices, isGateOnly }: { readonly slices: Slices; readonly isGateOnly?: boolean },
): Promise<LimitsPreview> {
  const again = await judgePeriodAgain(site, period, values, slices)
  const bands = isGateOnly ? undefined : await previewBands(site, period, values, slices)
  const gate = gateOf(again, Object.keys(values))
  return { from: period.fromMs, to: period.untilMs, gate, ...(bands ? { bands } : {}) }
}

function gateOf({ verdicts, unexplained }: GateAgain, paths: readonly string[]): LimitsPreview['gate'] {
  const changed = verdicts.filter(({ recorded, now }) => recorded !== now)
  const permitted = verdicts.filter(({ now }) => now === 'permit').length
  const changedVerdicts = changed.map(({ atMs, commandId, stock, volumeUl, recorded, now, why }) => ({
    ...{ atMs, commandId, stock, volumeMl: volumeUl / 1000, was: recorded, wouldBe: now },
    why: why.map((id) => RULES[id] ?? id),
  }))
  const refused = verdicts.length - permitted
  const text = [gateText(verdicts.length, changedVerdicts), ...cautions(unexplained, verdicts.length, paths)].join(' ')
  return { judged: verdicts.length, permitted, refused, changedVerdicts, text }
}

const RULES: Readonly<Record<string, string>> = Object.fromEntries(INTERLOCKS.map(({ id, rule }) => [id, rule]))

function gateText(judged: number, changed: LimitsPreview['gate']['changedVerdicts']): string {
  if (judged === 0) return 'No shot was judged in this time.'
  if (changed.length === 0) return `All ${judged} verdicts would have been the same.`
  const refused = changed.filter(({ wouldBe }) => wouldBe === 'refuse')
  const permitted = changed.length - refused.length
  const lostMl = refused.reduce((sum, { volumeMl }) => sum + volumeMl, 0)
  const parts = [
    ...(refused.length === 0 ? [] : [`${refused.length} shots (${lostMl.toFixed(0)} mL) would have been refused`]),
    ...(permitted === 0 ? [] : [`${permitted} refused shots would have been permitted`]),
  ]
  return `Of ${judged} verdicts, ${parts.join(' and ')}. The shots asked for are taken as they were.`
}

/** What the figures of a verdict were counted under, and so cannot be counted anew. */
const COUNTED_UNDER: Readonly<Record<string, string>> = {
  'water.flowMinLPerMin': 'How long the flow had been steady was counted under the old least flow.',
  'acid.buffering.makeUpMaxLPerMin': 'The make-up water credited to acid was counted under the old bound of the meter.',
}

function cautions(unexplained: number, judged: number, paths: readonly string[]): readonly string[] {
  const counted = paths.flatMap((path) => COUNTED_UNDER[path] ?? [])
  if (unexplained === 0) return counted
  return [
    ...counted,
    `${unexplained} of ${judged} verdicts do not come out as recorded even under the limits of now: the site’s files were changed since.`,
  ]
}
