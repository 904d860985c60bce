/** What mistake of form would explain a report that contradicts itself, in words. */

import { explainMisfit, type FormHypothesis, type FormSuspicion, type Misfit } from './plausibility.ts'
import type { LaboratorySample } from './report.ts'

/** One sentence for each explanation, the best fit first; empty where none is found. */
export function misfitTexts(sample: LaboratorySample): string[] {
  return explainMisfit(sample).map(hypothesisText)
}

function hypothesisText({ changes, before, after }: FormHypothesis): string {
  const what = changes.map(changeText).join(', and ')
  return `It would fit if ${what}: charges then differ by ${percent(after.balancePercent)} % instead of ${percent(before.balancePercent)} %${conductivityText(before, after)}.`
}

function changeText({ element, readAs, perhaps, mgPerL }: FormSuspicion): string {
  return `${element}, read as ${readAs}, was meant as ${perhaps} (${mgPerL.toPrecision(3)} mg/L of the element)`
}

function conductivityText(before: Misfit, after: Misfit): string {
  if (before.conductivityRatio === undefined || after.conductivityRatio === undefined) return ''
  const share = (ratio: number): string => (100 * ratio).toFixed(0)
  return `, and its conductivity by composition is ${share(after.conductivityRatio)} % of the one measured instead of ${share(before.conductivityRatio)} %`
}

function percent(value: number): string {
  return Math.abs(value).toFixed(1)
}
