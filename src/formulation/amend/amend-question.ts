// The question of an amendment, and one way to answer it.

import type { ElementName } from '../../chemistry/element.ts'
import type { Recipe, RecipeBand, RecipeQuestion, RecipeSalt } from '../recipe/recipe.ts'
import { type Renewal, renewed } from './renewal.ts'
import type { UsedReservoir } from './used-reservoir.ts'

export interface AmendQuestion {
  readonly used: UsedReservoir
  readonly volumeL: number
  /** in the order of ELEMENTS, mmol/L */
  readonly bands: readonly RecipeBand[]
  /** what there is to add: of a salt per gram; of a stock per millilitre, with mL in place of every g below */
  readonly shelf: readonly RecipeSalt[]
  /** salts that could be bought, to name one where it would serve better; names on the shelf are passed over */
  readonly catalogue: readonly RecipeSalt[]
  /** the water that replaces what is let go, with its acid; mmol/L in the order of ELEMENTS */
  readonly newWaterMmolPerL: Float64Array
  /** the part of the nitrogen brought that may be ammonium */
  readonly ammoniumShareMax: number
}

export interface AmendOption {
  readonly kind: 'amend-only' | 'renew-and-amend' | 'start-afresh'
  readonly renewal: Renewal
  /** grams (or mL of stock), one per item of the shelf */
  readonly amounts: Float64Array
  readonly addedG: number
  readonly waterL: number
  readonly dischargeL: number
  /** mmol/L before anything is added, in the order of ELEMENTS */
  readonly beforeMmolPerL: Float64Array
  readonly recipe: Recipe
  readonly outOfBand: readonly ElementName[]
}

/** The program of one way, as the solver gets it; exported for the check against a second solver. */
export function questionOf(question: Omit<AmendQuestion, 'catalogue' | 'volumeL'>, share: number): RecipeQuestion {
  const { used, newWaterMmolPerL, bands, shelf, ammoniumShareMax } = question
  return { presentMmolPerL: renewed(used.mmolPerL, newWaterMmolPerL, share), bands, salts: shelf, ammoniumShareMax }
}
