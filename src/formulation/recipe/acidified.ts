/** A recipe together with the acid that brings it to its pH: each depends on the other. */

import { phFromAlkalinity } from '../../chemistry/acidity.ts'
import { alkalinityMeqPerL } from '../../chemistry/alkalinity.ts'
import { OPEN_AIR } from '../../chemistry/carbon.ts'
import { conductivity25DsPerM } from '../../chemistry/conductivity.ts'
import { type Acid, type AcidPlan, acidAsSalt, planAcid } from './acid-plan.ts'
import { type Recipe, type RecipeQuestion, type RecipeSalt, solveRecipe } from './recipe.ts'

export interface AcidifiedQuestion extends RecipeQuestion {
  /** alkalinity of what is present */
  readonly presentMeqPerL: number
  /** pH of what is present as it was measured: tells how much carbon dioxide it holds */
  readonly presentPh?: number
  readonly targetPh: number
  /** absent: the solution keeps the pH it has */
  readonly acid?: Acid
  /** set by hand, mL per litre: then the pH is what it comes to */
  readonly pinnedAcidMlPerL?: number
}

export interface Acidified {
  readonly kind: 'acidified'
  readonly recipe: Recipe
  /** the salts of the recipe, in its order; the acid comes last where there is one */
  readonly salts: readonly RecipeSalt[]
  /** absent where no acid was given */
  readonly acid?: { readonly name: string; readonly mlPerL: number; readonly plan?: AcidPlan }
  /** once its carbon dioxide is in balance with the air, 25 °C */
  readonly settled: { readonly ph: number; readonly alkalinityMeqPerL: number; readonly conductivityDsPerM: number }
}

/** More rounds than are ever needed; two or three are usual. */
const ROUNDS_MAX = 12
/** Settled when the acid moves by less than this, mL/L: far below what a pump or cylinder measures. */
const SETTLED_ML_PER_L = 1e-5

/**
 * Acid and salts chosen in turn until neither moves: nitric acid brings nitrogen that salts then need not, and the
 * phosphate of the salts takes up a little of the acid.
 */
export function solveWithAcid(
  question: AcidifiedQuestion,
): Acidified | { readonly kind: 'no-answer'; readonly explanation: string } {
  const { acid, pinnedAcidMlPerL } = question
  if (acid === undefined) return settledOf(question, question.salts)
  let mlPerL = pinnedAcidMlPerL ?? 0
  for (let round = 1; ; round++) {
    const salts = mlPerL > 0 ? [...question.salts, acidAsSalt(acid, mlPerL)] : question.salts
    const answer = settledOf(question, salts)
    if (answer.kind === 'no-answer') return answer
    if (pinnedAcidMlPerL !== undefined) return { ...answer, acid: { name: acid.name, mlPerL } }
    const plan = planFor(question, acid, answer.recipe)
    if (plan.kind === 'cannot') return { kind: 'no-answer', explanation: plan.why }
    const wanted = plan.kind === 'acid' ? plan.mlPerL : 0
    const isSettled = Math.abs(wanted - mlPerL) <= SETTLED_ML_PER_L
    if (isSettled || round === ROUNDS_MAX) return { ...answer, acid: { name: acid.name, mlPerL, plan } }
    mlPerL = wanted
  }
}

/** The need of everything but the acid itself. */
function planFor(question: AcidifiedQuestion, acid: Acid, recipe: Recipe): AcidPlan {
  const { presentMmolPerL, presentPh, targetPh, salts } = question
  const totalMmolPerL = presentMmolPerL.map((present, e) =>
    salts.reduce((sum, _, s) => sum + recipe.broughtMmolPerL[s]![e]!, present),
  )
  return planAcid({
    ...{ totalMmolPerL, alkalinityMeqPerL: alkalinityOf(question, salts, recipe, totalMmolPerL), targetPh, acid },
    ...(presentPh === undefined ? {} : { ph: presentPh }),
  })
}

function settledOf(
  question: AcidifiedQuestion,
  salts: readonly RecipeSalt[],
): Acidified | { readonly kind: 'no-answer'; readonly explanation: string } {
  const recipe = solveRecipe({ ...question, salts })
  if (recipe.kind === 'no-answer') return recipe
  const totals = recipe.totalMmolPerL
  const alkalinity = alkalinityOf(question, salts, recipe, totals)
  const ph = phFromAlkalinity(totals, alkalinity, OPEN_AIR)
  const conductivityDsPerM = conductivity25DsPerM(totals, ph, OPEN_AIR)
  return { kind: 'acidified', recipe, salts, settled: { ph, alkalinityMeqPerL: alkalinity, conductivityDsPerM } }
}

/** Strong ions, with what the water’s own alkalinity and the labels say beyond them. */
function alkalinityOf(
  { presentMmolPerL, presentMeqPerL }: AcidifiedQuestion,
  salts: readonly RecipeSalt[],
  { gPerL }: Recipe,
  totalMmolPerL: Float64Array,
): number {
  const untracked = presentMeqPerL - alkalinityMeqPerL(presentMmolPerL)
  return salts.reduce(
    (sum, { untrackedMeqPerG = 0 }, s) => sum + untrackedMeqPerG * gPerL[s]!,
    alkalinityMeqPerL(totalMmolPerL, untracked),
  )
}
