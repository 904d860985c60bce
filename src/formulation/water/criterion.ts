/** One line of a verdict on a water. */

import type { ElementName } from '../../chemistry/element.ts'
import type { RecipeBand } from '../recipe/recipe.ts'
import { type CriterionName, classesOf, type GuideClass, type Guides } from './guide.ts'
import type { Water } from './water.ts'

/** From use as it is to refuse; unknown where it was not measured. */
export type Level = 'good' | 'watch' | 'treat' | 'refuse' | 'unknown'

export interface Criterion {
  readonly name: CriterionName
  /** in `unit`; absent where it was not measured */
  readonly figure?: number
  readonly unit: string
  readonly level: Level
  readonly classes: readonly GuideClass[]
  /** what the figure means for this crop */
  readonly meaning: string
  readonly remedies: readonly string[]
  /** the share of reverse-osmosis water that would make it good, 0 to 1; absent where that is no remedy */
  readonly reverseOsmosisShare?: number
  /** the figures behind the sentences, units in their names */
  readonly figures: Readonly<Record<string, number>>
}

/** What the verdict has to know of the crop. */
export interface WaterCrop {
  readonly name: string
  /** mmol/L in the order of ELEMENTS */
  readonly bands: readonly RecipeBand[]
  readonly phAim: number
  /** sodium and chloride taken up over what is in the solution */
  readonly ratio: Readonly<Record<'Na' | 'Cl', number>>
}

export interface WaterQuestion {
  readonly water: Water
  readonly crop: WaterCrop
  readonly guides: Guides
  readonly reverseOsmosis: Water
}

type Judged = Omit<Criterion, 'name' | 'unit' | 'classes' | 'figure' | 'figures'> & Partial<Pick<Criterion, 'figures'>>

/** A criterion with its guide classes; one that was not measured says so and nothing else. */
export function criterion(
  { guides }: Pick<WaterQuestion, 'guides'>,
  [name, unit]: readonly [CriterionName, string],
  figure: number | undefined,
  judge: (figure: number) => Judged,
): Criterion {
  if (figure === undefined) {
    const meaning = 'not measured; ask the laboratory for it'
    return { name, unit, level: 'unknown', classes: [], meaning, remedies: [], figures: {} }
  }
  return { name, figure, unit, classes: classesOf(guides, name, figure), figures: {}, ...judge(figure) }
}

/** The share of reverse-osmosis water that brings a figure down to what is wanted; undefined where none does. */
export function shareToReach(figure: number, wanted: number, reverseOsmosis: number): number | undefined {
  if (figure <= wanted) return 0
  return wanted >= reverseOsmosis && figure > reverseOsmosis ? (figure - wanted) / (figure - reverseOsmosis) : undefined
}

/** Only what was measured may be judged. */
export function isMeasured({ measured }: Water, ...names: readonly ElementName[]): boolean {
  return names.every((name) => measured.has(name))
}

/** A figure with as many digits as it deserves. */
export function figureText(value: number, digits = 3): string {
  if (Math.abs(value) >= 10 ** (digits - 1)) return String(Math.round(value))
  return String(Number(value.toPrecision(digits)))
}

/** A share as a percentage of two figures. */
export function percentText(share: number): string {
  return `${figureText(100 * share, 2)} %`
}
