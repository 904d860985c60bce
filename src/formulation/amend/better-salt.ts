// Another salt than those on the shelf, where that is the better answer.

import { ELEMENT_INDEX, ELEMENTS, type ElementName } from '../../chemistry/element.ts'
import { toMgPerL } from '../../chemistry/molar-mass.ts'
import { WITHOUT_LOW_EDGE } from '../recipe/element-rule.ts'
import { type Recipe, type RecipeQuestion, type RecipeSalt, solveRecipe } from '../recipe/recipe.ts'
import { type AmendQuestion, questionOf } from './amend-question.ts'
import { quickLook } from './quick-look.ts'

export interface BetterSalt {
  readonly name: string
  readonly grams: number
  /** elements that it brings into band and the shelf alone does not */
  readonly cures: readonly ElementName[]
  /** elements that the shelf alone leaves at the very low edge of their band, with where they end with this salt */
  readonly lifts: readonly { readonly element: ElementName; readonly mgPerL: number }[]
  /** of what the shelf alone leaves missing: from the bands, or from the aims where nothing is out of band */
  readonly missShare: number
}

/** Sodium and chloride stay in the water: of salts that serve alike the one without them is named first. */
type Candidate = BetterSalt & { readonly ballastMmolPerG: number }

/** Worth a sentence: it cures an element, or takes away half of the miss; choices of ours. */
const WORTH_SHARE = 0.5
const NAMED_MAX = 3
/** Or it lifts an element that was held low by this part of the way to its aim. */
const LIFT_PART = 0.25
/** An element that ends within this part of the way from its low edge to its aim was held there by something. */
const HELD_PART = 0.1

/**
 * Each salt of the catalogue added to the shelf by itself; those that serve clearly better, best first. Where the
 * shelf leaves no miss that a salt could mend there are none.
 */
export function findBetterSalts(question: AmendQuestion, withShelf: Recipe): readonly BetterSalt[] {
  const low = lowElements(question, withShelf)
  const raised = withShelf.unmet.some(({ element, kind }) => kind === 'high' && !wasOver(question, element))
  if (low.length === 0 && !raised) return []
  const onShelf = new Set(question.shelf.map(({ name }) => name))
  return question.catalogue
    .filter(({ name, mmolPerG }) => !onShelf.has(name) && (raised || low.some((e) => mmolPerG[ELEMENT_INDEX[e]]! > 0)))
    .flatMap((salt) => tried(question, salt, withShelf, low))
    .sort(
      (a, b) =>
        b.cures.length - a.cures.length ||
        a.ballastMmolPerG - b.ballastMmolPerG ||
        a.missShare - b.missShare ||
        a.grams - b.grams,
    )
    .slice(0, NAMED_MAX)
    .map(({ ballastMmolPerG: _ballast, ...salt }) => salt)
}

/** Out of band and low, or held at the low edge though something was added. */
function lowElements({ bands }: AmendQuestion, { totalMmolPerL }: Recipe): ElementName[] {
  return ELEMENTS.filter((element, at) => {
    const { low, aim, weight } = bands[at]!
    return !WITHOUT_LOW_EDGE.has(element) && weight > 0 && totalMmolPerL[at]! < low + HELD_PART * (aim - low)
  })
}

function wasOver({ used, bands }: AmendQuestion, element: ElementName): boolean {
  const at = ELEMENT_INDEX[element]
  return used.mmolPerL[at]! > bands[at]!.high
}

function tried(question: AmendQuestion, salt: RecipeSalt, withShelf: Recipe, low: readonly ElementName[]): Candidate[] {
  const asked = questionOf({ ...question, shelf: [...question.shelf, salt] }, 0)
  if (withShelf.unmet.length > 0 && !mendsBands(asked, withShelf)) return []
  const recipe = solveRecipe(asked)
  const gPerL = recipe.kind === 'recipe' ? recipe.gPerL.at(-1)! : 0
  if (recipe.kind === 'no-answer' || !(gPerL > 0)) return []
  const still = recipe.unmet.map(({ element }) => element)
  const cures = withShelf.unmet.map(({ element }) => element).filter((element) => !still.includes(element))
  const miss = withShelf.unmet.length > 0 ? ('violation' as const) : ('distance' as const)
  const missShare = withShelf[miss] > 0 ? recipe[miss] / withShelf[miss] : 1
  const lifts = low
    .filter((element) => !cures.includes(element))
    .map((element) => ({ element, at: ELEMENT_INDEX[element] }))
    .filter(({ at }) => {
      const without = withShelf.totalMmolPerL[at]!
      return recipe.totalMmolPerL[at]! - without > LIFT_PART * (question.bands[at]!.aim - without)
    })
    .map(({ element, at }) => ({ element, mgPerL: toMgPerL(element, recipe.totalMmolPerL[at]!) }))
  if (cures.length === 0 && lifts.length === 0 && !(missShare < WORTH_SHARE)) return []
  const ballastMmolPerG = salt.mmolPerG[ELEMENT_INDEX.Na]! + salt.mmolPerG[ELEMENT_INDEX.Cl]!
  return [{ name: salt.name, grams: gPerL * question.volumeL, cures, lifts, missShare, ballastMmolPerG }]
}

/** By the first stage alone: most salts of a catalogue do not help, and a whole recipe costs three times as much. */
function mendsBands(asked: RecipeQuestion, withShelf: Recipe): boolean {
  const look = quickLook(asked)
  if (look === undefined) return false
  const isCured = withShelf.unmet.some(({ element }) => !look.outOfBand.includes(element))
  return isCured || look.violation < WORTH_SHARE * withShelf.violation
}
