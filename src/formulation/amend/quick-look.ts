// What would stay out of band, by the first stage of the solver alone: a third of the work of a whole recipe, for the
// many shares and salts that are only tried.

import { ELEMENTS, type ElementName } from '../../chemistry/element.ts'
import { OVER_PRICE, WITHOUT_LOW_EDGE } from '../recipe/element-rule.ts'
import type { RecipeQuestion } from '../recipe/recipe.ts'
import { settingOf } from '../recipe/recipe-setting.ts'
import { leastViolation, type Violation } from '../recipe/recipe-stage.ts'

export interface QuickLook {
  readonly outOfBand: readonly ElementName[]
  /** weighted squares of what is missing from the bands, as solveRecipe counts it */
  readonly violation: number
}

/** Outside by more than this part of the edge, as in the recipe's own list of what is unmet. */
const NOTICED_SHARE = 1e-4

/** Undefined where the first stage has no verified answer. */
export function quickLook(question: RecipeQuestion): QuickLook | undefined {
  const setting = settingOf(question)
  const found = setting.free.length === 0 ? NO_SALT : leastViolation(setting)
  if (found.kind === 'no-answer') return undefined
  const outOfBand: ElementName[] = []
  let violation = 0
  for (const [at, name] of ELEMENTS.entries()) {
    const { low, high } = question.bands[at]!
    const start = setting.startMmolPerL[at]!
    const isCarried = setting.weight[at]! > 0 && setting.mmolPerG.some((mmol) => mmol[at]! > 0)
    const isShortable = !WITHOUT_LOW_EDGE.has(name)
    const short = isCarried ? found.shortMmolPerL[at]! : isShortable ? Math.max(0, low - start) : 0
    const over = Math.max(found.overMmolPerL[at]!, start - high, 0)
    if (short > NOTICED_SHARE * low || over > NOTICED_SHARE * high) outOfBand.push(name)
    const unit = setting.shareOf[at]!
    if (unit > 0) violation += (setting.weight[at]! * ((short / unit) ** 2 + OVER_PRICE * (over / unit) ** 2)) / 2
  }
  return { outOfBand, violation }
}

const NO_SALT: Violation = {
  kind: 'violation',
  shortMmolPerL: new Float64Array(ELEMENTS.length),
  overMmolPerL: new Float64Array(ELEMENTS.length),
}
