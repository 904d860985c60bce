/** An amendment as it is printed and given to machines. */

import { OPEN_AIR } from '../chemistry/carbon.ts'
import { conductivity25DsPerM } from '../chemistry/conductivity.ts'
import { ELEMENT_INDEX } from '../chemistry/element.ts'
import { toMgPerL } from '../chemistry/molar-mass.ts'
import type { Amendment } from '../formulation/amend/amend.ts'
import type { AmendOption } from '../formulation/amend/amend-question.ts'
import type { UsedReservoir } from '../formulation/amend/used-reservoir.ts'
import type { LaboratorySample } from '../formulation/laboratory/report.ts'
import type { ReportVerdict } from '../formulation/laboratory/report-verdict.ts'
import type { RecipeBand } from '../formulation/recipe/recipe.ts'
import { roundToScale } from '../formulation/recipe/rounding.ts'
import type { Addable } from './amend-inputs.ts'
import type { AmendedView, AmendOptionView, HeldView } from './amend-schema.ts'
import { DISCHARGE_CAUTION, SALT_CAUTION } from './recipe-caution.ts'

export interface AmendContext {
  readonly sample: LaboratorySample
  readonly verdict: ReportVerdict
  readonly crop: string
  readonly volumeL: number
  readonly used: UsedReservoir
  readonly bands: readonly RecipeBand[]
  readonly addables: readonly Addable[]
  readonly acidMeqPerL: number
  /** least step of scale (g) or measure (mL) */
  readonly step: number
  readonly phAim: number
  readonly remarks: readonly string[]
}

/** A report that was held, as it is printed; nothing is reckoned from it. */
export function heldView(sample: LaboratorySample, verdict: Extract<ReportVerdict, { kind: 'suspect' }>): HeldView {
  const { why, explanations } = verdict
  return { ...reportView(sample, verdict), kind: 'held', why, explanations }
}

/** An amendment as it is printed: grams, litres, mg/L and mS/cm, the advised way first among its options. */
export function amendedView(context: AmendContext, amendment: Amendment): AmendedView {
  const { advised, advice, better, amendOnly, renewAndAmend, startAfresh } = amendment
  const ways = [amendOnly, renewAndAmend, startAfresh].filter((option) => option !== undefined)
  const options = ways.map((option) => optionView(context, option))
  const chosen = ways.find(({ kind }) => kind === advised)!
  const totals = totalsAsMeasured(context, chosen, options[ways.indexOf(chosen)]!)
  return {
    ...reportView(context.sample, context.verdict),
    kind: 'amendment',
    ...{
      crop: context.crop,
      volumeL: context.volumeL,
      remarks: [...context.remarks, ...levelRemark(context, options[ways.indexOf(chosen)]!)],
      advised,
      advice,
      options,
    },
    notes: amendment.notes.map((note) => ({
      ...note,
      endMgPerL: toMgPerL(note.element, totals[ELEMENT_INDEX[note.element]]!),
    })),
    better: better.map(({ missShare: _share, ...rest }) => rest),
    cautions: [isBySalt(context) ? HAND_CAUTION : STOCK_CAUTION, SALT_CAUTION, DISCHARGE_CAUTION],
  }
}

const HAND_CAUTION =
  'Dissolve each salt in a bucket of its own; let calcium mix in for one turnover before sulfate or phosphate. Measure EC and pH afterwards; where EC is off by more than 5 %, stop and look for the reason.'

const STOCK_CAUTION =
  'Give one stock, let it mix in for one turnover, then the next: calcium and phosphate must not meet undiluted. Measure EC and pH afterwards; where EC is off by more than 5 %, stop and look for the reason.'

function isBySalt({ addables }: AmendContext): boolean {
  return addables.every(({ unit }) => unit === 'g')
}

function reportView({ label, sampledAt, conductivityDsPerM }: LaboratorySample, { plausibility }: ReportVerdict) {
  return {
    schema: 'tarnward/amend/1' as const,
    sample: label,
    ...(sampledAt === undefined ? {} : { sampledAt }),
    balancePercent: plausibility.balancePercent,
    calculatedDsPerM: plausibility.calculatedDsPerM,
    ...(conductivityDsPerM === undefined ? {} : { measuredDsPerM: conductivityDsPerM }),
  }
}

function optionView(context: AmendContext, option: AmendOption): AmendOptionView {
  const { addables, acidMeqPerL, step } = context
  const { renewal, waterL, dischargeL } = option
  const rounded = roundToScale([...option.amounts], step)
  const amounts = rounded.flatMap(({ exactG, weighedG, isTooCoarse }, at) => {
    const { salt, unit } = addables[at]!
    return exactG > 0 && !isTrifle(context, option.recipe.broughtMmolPerL[at]!)
      ? [{ name: salt.name, exact: exactG, measured: weighedG, unit, isTooCoarse }]
      : []
  })
  const saltG = rounded.reduce((sum, { weighedG }, at) => sum + weighedG * addables[at]!.saltG, 0)
  return {
    way: option.kind,
    amounts: amounts.sort((a, b) => b.exact - a.exact),
    ...{ saltG, waterL, dischargeL, acidMeq: acidMeqPerL * waterL },
    ...{ renewalShare: renewal.share, slices: renewal.slices, sliceShare: renewal.sliceShare },
    outOfBand: option.recipe.unmet,
    conductivityDsPerM: conductivityAfter(context, option),
  }
}

/** Stocks are water too; beyond this part of the volume it is worth a word. */
const TOLD_VOLUME_SHARE = 0.01

function levelRemark({ volumeL }: AmendContext, { amounts }: AmendOptionView): string[] {
  const stocksL = amounts.reduce((sum, { unit, measured }) => sum + (unit === 'mL' ? measured / 1000 : 0), 0)
  if (stocksL <= TOLD_VOLUME_SHARE * volumeL) return []
  const percent = `${((100 * stocksL) / volumeL).toFixed(1)} %`
  return [
    `The stocks themselves are ${stocksL.toFixed(1)} L of water, ${percent} of the reservoir: leave as much room, or all ends that much thinner.`,
  ]
}

/** The solver's last crumbs: less than this part of every aim is not weighed. */
const TRIFLE_SHARE = 0.002

function isTrifle({ bands }: AmendContext, broughtMmolPerL: Float64Array): boolean {
  return broughtMmolPerL.every(
    (mmol, at) => mmol <= TRIFLE_SHARE * (bands[at]!.aim > 0 ? bands[at]!.aim : bands[at]!.high),
  )
}

/** The model, in proportion to what was measured: so its own error and the meter’s fall out. */
function conductivityAfter({ used, phAim }: AmendContext, { recipe }: AmendOption): number {
  const after = conductivity25DsPerM(recipe.totalMmolPerL, phAim, OPEN_AIR)
  if (used.conductivityDsPerM === undefined) return after
  const now = conductivity25DsPerM(used.mmolPerL, used.ph ?? phAim, OPEN_AIR)
  return now > 0 ? (after * used.conductivityDsPerM) / now : after
}

function totalsAsMeasured({ addables, volumeL }: AmendContext, option: AmendOption, view: AmendOptionView) {
  const totals = Float64Array.from(option.beforeMmolPerL)
  for (const { name, measured } of view.amounts) {
    const { mmolPerG } = addables.find(({ salt }) => salt.name === name)!.salt
    mmolPerG.forEach((mmol, at) => {
      totals[at]! += (mmol * measured) / volumeL
    })
  }
  return totals
}
