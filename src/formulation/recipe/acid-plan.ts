/** How much of an acid a water needs for a pH, and what comes with it. Acid follows alkalinity, never hardness. */

import { inorganicCarbonMmolPerL, neutralizerNeed, neutralizerOf, phFromAlkalinity } from '../../chemistry/acidity.ts'
import { type Carbon, closedCarbon, OPEN_AIR } from '../../chemistry/carbon.ts'
import { toVector } from '../../chemistry/element.ts'
import { type Reagent, readReagent } from '../../chemistry/salt.ts'
import type { RecipeSalt } from './recipe.ts'

export interface Acid extends Reagent {
  /** as it is sold: nitric acid 60 % */
  readonly name: string
}

export interface AcidQuestion {
  /** what the water holds, with what other salts bring to it: mmol/L in the order of ELEMENTS */
  readonly totalMmolPerL: Float64Array
  readonly alkalinityMeqPerL: number
  /** as it was measured; tells how much carbon dioxide the water holds before it is aerated. Absent: as in open air */
  readonly ph?: number
  readonly targetPh: number
  readonly acid: Acid
}

export type AcidPlan =
  | {
      readonly kind: 'acid'
      readonly mlPerL: number
      readonly meqPerL: number
      /** what has to be added until the pH of the closed water is right: what is seen in the first hour */
      readonly firstHourMeqPerL: number
      readonly firstHourMlPerL: number
      /** pH right after all of it is in, before any carbon dioxide has left */
      readonly firstHourPh: number
      readonly broughtMmolPerL: Float64Array
      /** alkalinity that is left once all of it is in, phosphoric acid counted once per mole */
      readonly leftMeqPerL: number
    }
  /** the aerated water stands at or below the target already */
  | { readonly kind: 'no-need'; readonly openPh: number }
  | { readonly kind: 'cannot'; readonly why: string }

/**
 * The need of a water that is aerated, as recirculating water always is, and what is seen before its carbon dioxide
 * has left. Dosing to the first reading leaves a third of the need undone: the pH comes back within hours.
 *
 * 25 °C; the volume of the acid itself is left out, a few hundredths of a percent.
 */
export function planAcid(question: AcidQuestion): AcidPlan {
  const { totalMmolPerL, alkalinityMeqPerL, targetPh, acid } = question
  const content = readReagent(acid)
  const by = neutralizerOf(acid.formula)
  if (content.kind === 'bad-reagent') return { kind: 'cannot', why: `${acid.name}: ${content.problem}` }
  if ('problem' in by) return { kind: 'cannot', why: `${acid.name}: ${by.problem}` }
  if (!(by.alkalinityMeqPerMmol < 0)) return { kind: 'cannot', why: `${acid.name} is no acid` }
  const open = neutralizerNeed({ totals: totalMmolPerL, alkalinityMeqPerL, carbon: OPEN_AIR }, targetPh, by)
  if (open.kind === 'wrong-way') return { kind: 'no-need', openPh: open.ph }
  if (open.kind === 'out-of-reach') return { kind: 'cannot', why: `no amount of ${acid.name} brings pH ${targetPh}` }
  const carbon = carbonAtFirst(question)
  const closed = neutralizerNeed({ totals: totalMmolPerL, alkalinityMeqPerL, carbon }, targetPh, by)
  const closedMeq = closed.kind === 'dose' ? Math.min(closed.meqPerL, open.meqPerL) : 0
  const brought = toVector(by.mmolPerMmol).map((mmol) => mmol * open.mmolPerL)
  const mixed = totalMmolPerL.map((mmol, e) => mmol + brought[e]!)
  const mlPerMeq = 1 / -content.alkalinityMeqPerMl
  return {
    kind: 'acid',
    mlPerL: open.meqPerL * mlPerMeq,
    meqPerL: open.meqPerL,
    firstHourMeqPerL: closedMeq,
    firstHourMlPerL: closedMeq * mlPerMeq,
    firstHourPh: phFromAlkalinity(mixed, alkalinityMeqPerL - open.meqPerL, carbon),
    broughtMmolPerL: brought,
    leftMeqPerL: alkalinityMeqPerL - open.meqPerL,
  }
}

/** Without a measured pH the water is taken to stand in balance with the air when it comes. */
function carbonAtFirst({ totalMmolPerL, alkalinityMeqPerL, ph: measured }: AcidQuestion): Carbon {
  const ph = measured ?? phFromAlkalinity(totalMmolPerL, alkalinityMeqPerL, OPEN_AIR)
  const withinModel = Math.min(10.5, Math.max(3, ph))
  return closedCarbon(inorganicCarbonMmolPerL(totalMmolPerL, withinModel, alkalinityMeqPerL))
}

/** An acid as one more salt of a recipe, fixed at what its plan says; its grams are grams of the liquid. */
export function acidAsSalt(acid: Acid, mlPerL: number): RecipeSalt {
  const content = readReagent(acid)
  if (content.kind === 'bad-reagent') throw new Error(`${acid.name}: ${content.problem}`)
  const mmolPerG = toVector(content.mmolPerMl).map((mmol) => mmol / acid.densityKgPerL)
  return { name: acid.name, mmolPerG, pinnedGPerL: mlPerL * acid.densityKgPerL }
}
