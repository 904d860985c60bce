/** Which salts, and how much of each: the question of recipe and amendment, answered all at once. */

import { ELEMENT_COUNT, ELEMENTS } from '../../chemistry/element.ts'
import { ONLY_BOUNDED, OVER_PRICE, WITHOUT_LOW_EDGE } from './element-rule.ts'
import { type Setting, settingOf } from './recipe-setting.ts'
import { leastSalt, leastViolation, nearestToAim } from './recipe-stage.ts'
import { explainUnmet, type Unmet } from './unmet.ts'

/** Where an element should end, mmol/L. */
export interface RecipeBand {
  readonly low: number
  readonly aim: number
  readonly high: number
  /** how much a miss counts, as a share of the aim, beside the others; 0: never sought, its bounds hold all the same */
  readonly weight: number
}

export interface RecipeSalt {
  readonly name: string
  /** in the order of ELEMENTS; of an acid or base, per gram of the liquid */
  readonly mmolPerG: Float64Array
  /** alkalinity per gram where it is not what the elements say (a label’s remainder); it is carried, not steered */
  readonly untrackedMeqPerG?: number
  /** set by hand: taken as it is, the others are solved around it */
  readonly pinnedGPerL?: number
  readonly maxGPerL?: number
}

export interface RecipeQuestion {
  /** what is in the water or the used reservoir already, mmol/L in the order of ELEMENTS */
  readonly presentMmolPerL: Float64Array
  /** in the order of ELEMENTS */
  readonly bands: readonly RecipeBand[]
  readonly salts: readonly RecipeSalt[]
  /** the part of the nitrogen brought by salts that may be ammonium, 0 to 1 */
  readonly ammoniumShareMax: number
}

export type RecipeAnswer = Recipe | { readonly kind: 'no-answer'; readonly explanation: string }

export interface Recipe {
  readonly kind: 'recipe'
  /** grams per litre, one per salt of the question; 0 or more */
  readonly gPerL: Float64Array
  /** with what was present, mmol/L in the order of ELEMENTS */
  readonly totalMmolPerL: Float64Array
  /** what each salt brings, mmol/L in the order of ELEMENTS */
  readonly broughtMmolPerL: readonly Float64Array[]
  /** no salt that was free carries an element beyond this, mmol/L in the order of ELEMENTS */
  readonly ceilingMmolPerL: Float64Array
  /** elements outside their bands, each with its reason; in the order of ELEMENTS */
  readonly unmet: readonly Unmet[]
  /** weighted squares of what is missing from the bands, each as a share of its aim */
  readonly violation: number
  /** weighted squares of the distances from the aims, each as a share of its aim */
  readonly distance: number
  /** all salts together, g/L */
  readonly saltGPerL: number
  /** false where the third stage had no verified answer: the amounts serve as well, and may weigh a little more */
  readonly isLeastSalt: boolean
}

/**
 * Amounts of all salts at once, in three stages: the least weighted miss of the bands; then nearest to the aims; then
 * the least salt. Every stage is a convex program whose conditions of optimality were recomputed.
 *
 * Na, Cl, B, Mn, Zn, Cu and NH4-N are never raised beyond their high edge, nor at all when over it; the others may
 * pass it at a price, up to 1.5 times. Ammonium has no lower band and keeps to its share of the nitrogen brought. A
 * pinned salt is taken as it is, even where it breaks these rules; the free ones then make nothing worse.
 *
 * @returns the recipe, or { kind: 'no-answer', explanation } where no verified answer was found
 * @throws when the shapes disagree, or a number is negative or not finite: that is a fault of the caller
 */
export function solveRecipe(question: RecipeQuestion): RecipeAnswer {
  requireSound(question)
  const setting = settingOf(question)
  if (setting.free.length === 0) return recipeOf(question, setting, new Float64Array(0), true)
  const violation = leastViolation(setting)
  if (violation.kind === 'no-answer') return violation
  const near = nearestToAim(setting, violation)
  if (near.kind === 'no-answer') return near
  const least = leastSalt(setting, near)
  const amounts = least.kind === 'no-answer' ? near : least
  return recipeOf(question, setting, amounts.gPerL, least.kind !== 'no-answer')
}

function recipeOf(question: RecipeQuestion, setting: Setting, freeGPerL: Float64Array, isLeastSalt: boolean): Recipe {
  const { salts } = question
  const gPerL = Float64Array.from(salts, ({ pinnedGPerL }) => pinnedGPerL ?? 0)
  for (const [column, at] of setting.free.entries()) gPerL[at] = freeGPerL[column]!
  const broughtMmolPerL = salts.map(({ mmolPerG }, s) => mmolPerG.map((mmol) => mmol * gPerL[s]!))
  const totalMmolPerL = question.presentMmolPerL.map((present, e) =>
    broughtMmolPerL.reduce((sum, brought) => sum + brought[e]!, present),
  )
  const amounts = { gPerL, totalMmolPerL, broughtMmolPerL, ceilingMmolPerL: setting.ceilingMmolPerL }
  return {
    kind: 'recipe',
    ...amounts,
    unmet: explainUnmet(question, setting, amounts),
    ...misses(question, totalMmolPerL),
    saltGPerL: gPerL.reduce((sum, g) => sum + g, 0),
    isLeastSalt,
  }
}

/** How far totals are from their bands and aims, as weighted squares of shares of the aim. */
export function misses(
  { bands }: Pick<RecipeQuestion, 'bands'>,
  totalMmolPerL: Float64Array,
): { violation: number; distance: number } {
  let [violation, distance] = [0, 0]
  for (const [e, name] of ELEMENTS.entries()) {
    const { low, aim, high, weight } = bands[e]!
    const unit = aim > 0 ? aim : high
    if (unit === 0 || weight === 0 || ONLY_BOUNDED.has(name)) continue
    const total = totalMmolPerL[e]!
    const short = WITHOUT_LOW_EDGE.has(name) ? 0 : Math.max(0, low - total) / unit
    const over = Math.max(0, total - high) / unit
    violation += (weight * (short ** 2 + OVER_PRICE * over ** 2)) / 2
    distance += (weight * ((total - aim) / unit) ** 2) / 2
  }
  return { violation, distance }
}

function requireSound({ presentMmolPerL, bands, salts, ammoniumShareMax }: RecipeQuestion): void {
  const wrong = (what: string) => new Error(`recipe: ${what}`)
  const sound = (values: Float64Array) => values.length === ELEMENT_COUNT && values.every(isAmount)
  if (!sound(presentMmolPerL)) throw wrong('what is present must be 15 amounts of 0 or more')
  if (bands.length !== ELEMENT_COUNT) throw wrong(`${bands.length} bands, not 15`)
  for (const [e, { low, aim, high, weight }] of bands.entries()) {
    if (![low, aim, high, weight].every(isAmount) || !(low <= aim && aim <= high)) {
      throw wrong(`the band of ${ELEMENTS[e]} is ${low}, ${aim}, ${high}, weight ${weight}`)
    }
  }
  for (const { name, mmolPerG, pinnedGPerL = 0, maxGPerL = 0 } of salts) {
    if (!sound(mmolPerG) || ![pinnedGPerL, maxGPerL].every(isAmount)) throw wrong(`${name} has an amount below 0`)
  }
  if (!(ammoniumShareMax >= 0 && ammoniumShareMax <= 1)) throw wrong(`an ammonium share of ${ammoniumShareMax}`)
}

function isAmount(value: number): boolean {
  return value >= 0 && value < Infinity
}
