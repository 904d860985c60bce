// May a report be acted on, or must a person look at it first?

import { CHARGE } from '../../chemistry/alkalinity.ts'
import { misfitTexts } from './misfit-text.ts'
import { judgePlausibility, type Plausibility } from './plausibility.ts'
import type { LaboratorySample } from './report.ts'

/** Beyond this difference of charges a report is held: the usual cause is a mistake of form (a rule of ours). */
export const HELD_BALANCE_PERCENT = 10

/**
 * More conductivity by composition than this share of the measured one cannot come from ions that were left out: held
 * also where no balance can be made. Twice what the ratio of 1030E allows, for a meter of one's own (a rule of ours).
 */
const HELD_CONDUCTIVITY_RATIO = 1.2

export type ReportVerdict =
  | { readonly kind: 'usable'; readonly plausibility: Plausibility; readonly remarks: readonly string[] }
  | {
      readonly kind: 'suspect'
      readonly plausibility: Plausibility
      readonly why: string
      /** one or two mistakes of form that would explain it, in words, with the misfit before and after */
      readonly explanations: readonly string[]
    }

/** Charge balance first: a report that is off by more than a tenth is not acted on before a person has accepted it. */
export function judgeReport(sample: LaboratorySample): ReportVerdict {
  const plausibility = judgePlausibility(sample)
  const { balancePercent, missing, isConductivityFitting, conductivityRatio, isBalanced } = plausibility
  const percent = Math.abs(balancePercent).toFixed(1)
  // in water that holds next to nothing a tenth of the charge is less than a laboratory can tell
  const heldPercent = Math.max(HELD_BALANCE_PERCENT, plausibility.allowedPercent)
  // an ion that was not reported adds to its own side: what is already in excess it leaves in excess
  const wouldExplain = missing.filter((name) => CHARGE[name] * balancePercent < 0)
  if (wouldExplain.length === 0 && Math.abs(balancePercent) > heldPercent) {
    const side = balancePercent > 0 ? 'cations' : 'anions'
    const notReported =
      missing.length === 0 ? '' : ` What was not reported, ${missing.join(', ')}, would only add to them.`
    const allowed = `up to ${Number(heldPercent.toPrecision(3))} % is acted on.`
    const why = `Its ${side} are in excess by ${percent} % of all charge; ${allowed}${notReported}`
    return { kind: 'suspect', plausibility, why, explanations: misfitTexts(sample) }
  }
  if (conductivityRatio !== undefined && conductivityRatio > HELD_CONDUCTIVITY_RATIO) {
    const share = `${Math.round(100 * conductivityRatio)} %`
    const why = `Its conductivity by composition is ${share} of the one measured; up to ${100 * HELD_CONDUCTIVITY_RATIO} % is acted on.`
    return { kind: 'suspect', plausibility, why, explanations: misfitTexts(sample) }
  }
  const remarks = [
    ...(missing.length > 0 ? [`${missing.join(', ')} not reported, so its charge balance could not be checked.`] : []),
    ...(missing.length === 0 && !isBalanced
      ? [`Charge balance is off by ${percent} %: its values are good to about that, no better.`]
      : []),
    ...(!isConductivityFitting && conductivityRatio !== undefined
      ? [`Its conductivity by composition is ${Math.round(100 * conductivityRatio)} % of the one measured.`]
      : []),
  ]
  return { kind: 'usable', plausibility, remarks }
}
