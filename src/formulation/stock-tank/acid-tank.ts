// A tank of diluted acid: how to get from the bottle to it, and how much of it a litre of make-up water needs.

import type { Composition } from '../../chemistry/element.ts'
import { type Reagent, readReagent } from '../../chemistry/salt.ts'
import { dilutedDsPerM } from './concentrate.ts'

/** Strength to plan for where nothing else is asked, and the most that is planned without an explicit wish, eq/L. */
export const ACID_STRENGTH_EQ_PER_L = 1
export const ACID_STRENGTH_MAX_EQ_PER_L = 2

export interface AcidWish {
  readonly name: string
  readonly bottle: Reagent
  /** what a litre of make-up water needs */
  readonly needMeqPerL: number
  readonly strengthEqPerL: number
  readonly tankL: number
  /** a person has asked for more than ACID_STRENGTH_MAX_EQ_PER_L */
  readonly mayBeStrong: boolean
  /** what the salts file says of it */
  readonly hazards?: string
}

export type AcidAnswer = AcidTank | { readonly kind: 'acid-refused'; readonly why: string }

export interface AcidTank {
  readonly kind: 'acid-tank'
  readonly name: string
  readonly strengthEqPerL: number
  readonly tankL: number
  readonly bottleEqPerL: number
  readonly bottleMl: number
  readonly mlPerLMakeUp: number
  readonly mmolPerL: Composition
  readonly dilutedDsPerM: number
  /** how much warmer the tank gets if it is mixed at once; absent where no figure is known */
  readonly warmingC?: number
  readonly steps: readonly string[]
  readonly cautions: readonly string[]
}

/**
 * The dilution of an acid, step by step.
 *
 * Phosphoric acid counts once, as everywhere in the book.
 *
 * @returns the tank; or { kind: 'acid-refused', why } for a strength above 2 eq/L that was not explicitly asked for, one
 *   that the bottle does not reach, a bottle that is no acid, or a number that is not above 0
 */
export function planAcidTank(wish: AcidWish): AcidAnswer {
  const { name, bottle, needMeqPerL, strengthEqPerL, tankL, mayBeStrong } = wish
  const read = readReagent(bottle)
  const refused = (why: string): AcidAnswer => ({ kind: 'acid-refused', why })
  if (read.kind === 'bad-reagent') return refused(`${name}: ${read.problem}`)
  const bottleEqPerL = -read.alkalinityMeqPerMl
  if (!(bottleEqPerL > 0)) return refused(`${name}: ${bottle.formula} is no acid`)
  if (!(strengthEqPerL > 0 && tankL > 0 && needMeqPerL >= 0)) {
    return refused(`${name}: strength, tank and need must be numbers above 0`)
  }
  if (strengthEqPerL > ACID_STRENGTH_MAX_EQ_PER_L * (1 + 1e-9) && !mayBeStrong) {
    return refused(
      `${name}: ${figure(strengthEqPerL)} eq/L asked; up to ${ACID_STRENGTH_MAX_EQ_PER_L} eq/L is planned, since one ` +
        'pump second of a stronger acid can ruin a small reservoir. Dilute it further, or say --strong-acid.',
    )
  }
  if (strengthEqPerL > bottleEqPerL) {
    return refused(`${name}: ${figure(strengthEqPerL)} eq/L asked, and the bottle holds ${figure(bottleEqPerL)} eq/L`)
  }
  const bottleMl = (1000 * tankL * strengthEqPerL) / bottleEqPerL
  const mmolPerL = Object.fromEntries(
    Object.entries(read.mmolPerMl).map(([element, mmolPerMl]) => [element, (mmolPerMl * bottleMl) / tankL]),
  )
  const warmingC = warming(bottle.formula, read.formulaMmolPerMl * bottleMl, tankL)
  return {
    kind: 'acid-tank',
    ...{ name, strengthEqPerL, tankL, bottleEqPerL, bottleMl, mmolPerL },
    mlPerLMakeUp: needMeqPerL / strengthEqPerL,
    dilutedDsPerM: dilutedDsPerM({ mmolPerL, alkalinityMeqPerL: -1000 * strengthEqPerL }),
    ...(warmingC === undefined ? {} : { warmingC }),
    steps: stepsFor(name, tankL, bottleMl, warmingC),
    cautions: cautionsFor(wish),
  }
}

/** Heat of dilution to infinity, kJ/mol: handbook, from memory. Phosphoric acid is mild and left out. */
const HEAT_KJ_PER_MOL: Readonly<Record<string, number>> = { HNO3: 33, H2SO4: 95 }
const WATER_KJ_PER_L_PER_C = 4.18

/** From the pure acid, so on the high side: a bottle has given off part of its heat already. */
function warming(formula: string, mmol: number, tankL: number): number | undefined {
  const heat = HEAT_KJ_PER_MOL[formula]
  return heat === undefined ? undefined : (heat * mmol) / 1000 / (tankL * WATER_KJ_PER_L_PER_C)
}

const FIRST_FILL_SHARE = 0.75
/** So many degrees at most from one portion, a judgement. */
const PORTION_C = 5

function stepsFor(name: string, tankL: number, bottleMl: number, warmingC: number | undefined): string[] {
  const portions = Math.max(2, Math.ceil((warmingC ?? 0) / PORTION_C))
  const waterL = Math.min(FIRST_FILL_SHARE * tankL, tankL - bottleMl / 1000)
  const warm =
    warmingC === undefined ? '' : ` It warms by up to ${figure(warmingC, 2)} °C in all; wait where it grows hot.`
  return [
    'Put on goggles, gloves and apron; have running water at hand; work where air moves.',
    `Put ${figure(waterL)} L of cold water into an empty, rinsed tank that is marked for acid.`,
    `Measure ${figure(bottleMl, 4)} mL of ${name} in a vessel kept for it.`,
    `Pour it slowly into the water, never water into acid, in ${portions} portions, stirring after each.${warm}`,
    `Fill up with water to ${figure(tankL)} L, stir, close, and mark with name, strength and date.`,
    'Rinse the measure with much water. Run the pump on plain water once before it draws acid.',
  ]
}

function cautionsFor({ name, strengthEqPerL, hazards }: AcidWish): string[] {
  const strong =
    strengthEqPerL > ACID_STRENGTH_MAX_EQ_PER_L * (1 + 1e-9)
      ? [
          `Warning: ${figure(strengthEqPerL)} eq/L is stronger than the ${ACID_STRENGTH_MAX_EQ_PER_L} eq/L planned by ` +
            'default. One pump second can ruin a small reservoir and burn whoever opens a line.',
        ]
      : []
  return [
    ...strong,
    ...(hazards === undefined ? [] : [`${name}: ${hazards}`]),
    'Never with hypochlorite, peroxide or peracid; never on one line with carbonate or base; never in a nutrient tank.',
    'The label, the safety data sheet, local codes and a licensed professional go before this sheet.',
  ]
}

function figure(value: number, digits = 3): string {
  return String(Number(value.toPrecision(digits)))
}
