// Another salt than those on the shelf, where that is the better answer.

import { ELEMENT_INDEX, type ElementName } from '../../chemistry/element.ts'
import { type Recipe, type RecipeSalt, solveRecipe } from '../recipe/recipe.ts'
import { type AmendQuestion, questionOf } from './amend-question.ts'

export interface BetterSalt {
  readonly name: string
  readonly grams: number
  /** elements that it brings into band and the shelf alone does not */
  readonly cures: readonly ElementName[]
  /** of the weighted miss of the bands that is left with the shelf alone */
  readonly violationShare: number
}

/** Worth a sentence: it cures an element, or takes away half of the miss. */
const WORTH_SHARE = 0.5
const NAMED_MAX = 3

/**
 * Each salt of the catalogue added to the shelf by itself; those that serve clearly better, best first. Where the
 * shelf leaves no miss that a salt could mend there are none.
 */
export function findBetterSalts(question: AmendQuestion, withShelf: Recipe): readonly BetterSalt[] {
  if (withShelf.unmet.length === 0) return []
  const mendable = new Set(withShelf.unmet.filter(isMendable(question)).map(({ element }) => element))
  if (mendable.size === 0) return []
  const onShelf = new Set(question.shelf.map(({ name }) => name))
  return question.catalogue
    .filter(({ name }) => !onShelf.has(name))
    .flatMap((salt) => tried(question, salt, withShelf))
    .sort((a, b) => b.cures.length - a.cures.length || a.violationShare - b.violationShare || a.grams - b.grams)
    .slice(0, NAMED_MAX)
}

/** What was over before anything was added, no salt lowers. */
function isMendable({ used, bands }: AmendQuestion) {
  return ({ element, kind }: Recipe['unmet'][number]): boolean =>
    kind === 'low' || used.mmolPerL[ELEMENT_INDEX[element]]! <= bands[ELEMENT_INDEX[element]]!.high
}

function tried(question: AmendQuestion, salt: RecipeSalt, withShelf: Recipe): BetterSalt[] {
  const shelf = [...question.shelf, salt]
  const recipe = solveRecipe(questionOf({ ...question, shelf }, 0))
  if (recipe.kind === 'no-answer') return []
  const still = new Set(recipe.unmet.map(({ element }) => element))
  const cures = withShelf.unmet.map(({ element }) => element).filter((element) => !still.has(element))
  const grams = recipe.gPerL.at(-1)! * question.volumeL
  const violationShare = withShelf.violation > 0 ? recipe.violation / withShelf.violation : 1
  const isWorth = grams > 0 && (cures.length > 0 || violationShare < WORTH_SHARE)
  return isWorth ? [{ name: salt.name, grams, cures, violationShare }] : []
}
