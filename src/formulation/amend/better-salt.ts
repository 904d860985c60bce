// Another salt than those on the shelf, where that is the better answer.

import { ELEMENT_INDEX, type ElementName } from '../../chemistry/element.ts'
import { type Recipe, type RecipeSalt, solveRecipe } from '../recipe/recipe.ts'
import { type AmendQuestion, questionOf } from './amend-question.ts'
import { quickLook } from './quick-look.ts'

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
    .filter(({ name, mmolPerG }) => !onShelf.has(name) && mayHelp(withShelf, mendable, mmolPerG))
    .flatMap((salt) => tried(question, salt, withShelf))
    .sort((a, b) => b.cures.length - a.cures.length || a.violationShare - b.violationShare || a.grams - b.grams)
    .slice(0, NAMED_MAX)
}

/** What was over before anything was added, no salt lowers. */
function isMendable({ used, bands }: AmendQuestion) {
  return ({ element, kind }: Recipe['unmet'][number]): boolean =>
    kind === 'low' || used.mmolPerL[ELEMENT_INDEX[element]]! <= bands[ELEMENT_INDEX[element]]!.high
}

/** A salt that carries what is low; what was raised too high may be spared by any salt that carries something else. */
function mayHelp({ unmet }: Recipe, mendable: ReadonlySet<ElementName>, mmolPerG: Float64Array): boolean {
  return unmet.some(
    ({ element, kind }) => mendable.has(element) && mmolPerG[ELEMENT_INDEX[element]]! > 0 === (kind === 'low'),
  )
}

function tried(question: AmendQuestion, salt: RecipeSalt, withShelf: Recipe): BetterSalt[] {
  const asked = questionOf({ ...question, shelf: [...question.shelf, salt] }, 0)
  const look = quickLook(asked)
  if (look === undefined) return []
  const cures = withShelf.unmet.map(({ element }) => element).filter((element) => !look.outOfBand.includes(element))
  const violationShare = withShelf.violation > 0 ? look.violation / withShelf.violation : 1
  if (cures.length === 0 && !(violationShare < WORTH_SHARE)) return []
  const recipe = solveRecipe(asked)
  const gPerL = recipe.kind === 'recipe' ? recipe.gPerL.at(-1)! : 0
  return gPerL > 0 ? [{ name: salt.name, grams: gPerL * question.volumeL, cures, violationShare }] : []
}
