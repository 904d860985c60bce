/** Alkalinity, hardness and pH. Acid follows alkalinity; hardness is food; the pH of a water says little. */

import { ELEMENT_INDEX, ELEMENTS, type ElementName } from '../../chemistry/element.ts'
import { alkalinityFromMeqPerL, hardnessMgPerLCaCO3 } from '../../chemistry/hardness.ts'
import { toMgPerL } from '../../chemistry/molar-mass.ts'
import { planAcid } from '../recipe/acid-plan.ts'
import { USUAL_ACIDS } from '../recipe/acid-strength.ts'
import {
  type Criterion,
  criterion,
  figureText,
  isMeasured,
  percentText,
  shareToReach,
  type WaterQuestion,
} from './criterion.ts'
import { mgPerLOf } from './water.ts'

/** What one acid would take and bring. */
export interface AcidOption {
  readonly acid: string
  readonly needMeqPerL: number
  readonly mlPer1000L: number
  /** what brings the pH to its aim at once; the rest is for what comes back while carbon dioxide leaves */
  readonly firstHourMlPer1000L: number
  /** pH right after all of it is in, before carbon dioxide leaves */
  readonly firstHourPh: number
  readonly brings: { readonly element: ElementName; readonly mgPerL: number }
  /** with what the water holds it stays within the crop’s band */
  readonly isWithinBand: boolean
}

/** Every usual acid for this water and the crop’s pH; empty where no acid is needed or the alkalinity is unknown. */
export function acidOptions({ water, crop }: Pick<WaterQuestion, 'water' | 'crop'>): AcidOption[] {
  const { alkalinity, mmolPerL, ph } = water
  if (alkalinity === undefined) return []
  return USUAL_ACIDS.flatMap((acid): AcidOption[] => {
    const plan = planAcid({
      ...{ totalMmolPerL: mmolPerL, alkalinityMeqPerL: alkalinity.meqPerL, targetPh: crop.phAim, acid },
      ...(ph === undefined ? {} : { ph }),
    })
    if (plan.kind !== 'acid') return []
    const at = plan.broughtMmolPerL.findIndex((mmol) => mmol > 0)
    const element = ELEMENTS[at]!
    return [
      {
        acid: acid.name,
        needMeqPerL: plan.meqPerL,
        mlPer1000L: 1000 * plan.mlPerL,
        firstHourMlPer1000L: 1000 * plan.firstHourMlPerL,
        firstHourPh: plan.firstHourPh,
        brings: { element, mgPerL: toMgPerL(element, plan.broughtMmolPerL[at]!) },
        isWithinBand: mmolPerL[at]! + plan.broughtMmolPerL[at]! <= crop.bands[at]!.high,
      },
    ]
  })
}

/** Alkalinity, hardness and pH, each as a criterion of its own. */
export function judgeAcidity(question: WaterQuestion): Criterion[] {
  return [judgeAlkalinity(question), judgeHardness(question), judgePh(question)]
}

/** Less acid than this is a trim, not a treatment, meq/L (a choice of ours; 15 mg/L as CaCO3). */
const TRIM_MEQ_PER_L = 0.3

function judgeAlkalinity(question: WaterQuestion): Criterion {
  const { water, crop, reverseOsmosis } = question
  const meq = water.alkalinity?.meqPerL
  const figure = meq === undefined ? undefined : alkalinityFromMeqPerL(meq, 'mg/L CaCO3')
  return criterion(question, ['alkalinity', 'mg/L CaCO3'], figure, () => {
    const options = acidOptions(question)
    const need = options[0]?.needMeqPerL ?? 0
    const from = water.alkalinity!.isFromIons ? ' (not measured; from the ions)' : ''
    const figures = { alkalinityMeqPerL: meq!, acidNeedMeqPerL: need }
    if (need < TRIM_MEQ_PER_L) {
      const meaning = `${figureText(meq!)} meq/L${from}: no more than a trim of acid, if any`
      return { level: 'good', meaning, remedies: [], figures }
    }
    const nitrate = ELEMENT_INDEX['NO3-N']
    const room = crop.bands[nitrate]!.aim - water.mmolPerL[nitrate]!
    const share = need > room ? shareToReach(need, room, reverseOsmosis.alkalinity?.meqPerL ?? 0) : undefined
    return {
      level: 'treat',
      meaning: `${figureText(meq!)} meq/L${from}: ${crop.name} at pH ${crop.phAim} needs ${figureText(need)} meq/L of acid in aerated water. The first hour shows less: the rest comes back as carbon dioxide leaves`,
      remedies: [
        ...options.map(optionText),
        ...(share === undefined
          ? []
          : [
              `Nitric acid alone would bring more nitrogen than is wanted: mix in ${percentText(share)} of reverse-osmosis water, or share the work with another acid.`,
            ]),
      ],
      ...(share === undefined ? {} : { reverseOsmosisShare: share }),
      figures,
    }
  })
}

function optionText(option: AcidOption): string {
  const { acid, mlPer1000L, firstHourMlPer1000L, brings, isWithinBand } = option
  const beyond = isWithinBand ? '' : `, beyond the band: not this acid alone`
  return `${acid}: ${figureText(mlPer1000L)} mL per 1000 L (the aim shows after ${figureText(firstHourMlPer1000L)}); brings ${figureText(brings.mgPerL)} mg/L ${brings.element}${beyond}.`
}

/** Where a rule of thumb by hardness and the chemistry part, meq/L (a choice of ours). */
const GYPSUM_MEQ_PER_L = 1.5

function judgeHardness(question: WaterQuestion): Criterion {
  const { water, crop, reverseOsmosis } = question
  const [ca, mg] = [mgPerLOf(water, 'Ca'), mgPerLOf(water, 'Mg')]
  const figure = isMeasured(water, 'Ca', 'Mg') ? hardnessMgPerLCaCO3(ca, mg) : undefined
  return criterion(question, ['hardness', 'mg/L CaCO3'], figure, (hardness) => {
    const aims = (['Ca', 'Mg'] as const).map((name) => toMgPerL(name, crop.bands[ELEMENT_INDEX[name]]!.aim))
    const food = `calcium ${figureText(ca)} and magnesium ${figureText(mg)} mg/L, ${percentText(ca / aims[0]!)} and ${percentText(mg / aims[1]!)} of what ${crop.name} wants: count them in`
    const over = (['Ca', 'Mg'] as const).flatMap((name) => {
      const band = crop.bands[ELEMENT_INDEX[name]]!
      const present = water.mmolPerL[ELEMENT_INDEX[name]]!
      if (present <= band.high) return []
      return [shareToReach(present, band.aim, reverseOsmosis.mmolPerL[ELEMENT_INDEX[name]]!) ?? 1]
    })
    const told = [food, ...disagreement(water, hardness)].join('. ')
    if (over.length === 0) return { level: 'good', meaning: told, remedies: [] }
    const reverseOsmosisShare = Math.max(...over)
    const remedies = [`${percentText(reverseOsmosisShare)} of reverse-osmosis water brings it to the aim.`]
    return { level: 'treat', meaning: told, remedies, reverseOsmosisShare }
  })
}

/** Gypsum water is hard and needs little acid, softened water is soft and needs much: alkalinity decides. */
function disagreement(water: WaterQuestion['water'], hardness: number): string[] {
  if (water.alkalinity === undefined) return []
  const { meqPerL } = water.alkalinity
  const hardnessMeq = hardness / alkalinityFromMeqPerL(1, 'mg/L CaCO3')
  const sulfateMeq = 2 * water.mmolPerL[ELEMENT_INDEX.S]!
  const sodiumMeq = water.mmolPerL[ELEMENT_INDEX.Na]!
  if (hardnessMeq - meqPerL > GYPSUM_MEQ_PER_L && sulfateMeq > hardnessMeq / 3) {
    return [
      `Hard by its sulfate (gypsum), which takes no acid: dose for ${figureText(meqPerL)} meq/L of alkalinity, not for ${figureText(hardnessMeq)} of hardness`,
    ]
  }
  if (meqPerL - hardnessMeq > GYPSUM_MEQ_PER_L && sodiumMeq > (meqPerL - hardnessMeq) / 2) {
    return [
      `Soft, yet its alkalinity of ${figureText(meqPerL)} meq/L takes acid like hard water: sodium stands where calcium was, as a softener leaves it. Take the water before the softener`,
    ]
  }
  return []
}

function judgePh(question: WaterQuestion): Criterion {
  return criterion(question, ['pH', ''], question.water.ph, (ph) => ({
    level: ph >= 4.5 && ph <= 9.5 ? 'good' : 'watch',
    meaning: 'says little by itself: the same pH may take no acid or much; alkalinity decides',
    remedies: ph >= 4.5 && ph <= 9.5 ? [] : ['Measure it again: natural waters stand between 5 and 9.'],
  }))
}
