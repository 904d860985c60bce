/** A crop as the desk asks for it. */

import { ELEMENTS, isElementName } from '../chemistry/element.ts'
import { toMmolPerL } from '../chemistry/molar-mass.ts'
import type { RecipeBand } from '../formulation/recipe/recipe.ts'
import type { WaterCrop } from '../formulation/water/criterion.ts'
import { CommandFailure } from './command-failure.ts'
import type { CropEntry } from './recipe-files.ts'

/** An element that is watched and never steered by pumps (weight 0) is still weighed into a recipe, by this weight. */
const WATCHED_WEIGHT = 0.1

/** The crop’s bands in mmol/L, in the order of ELEMENTS; `strength` 0.5 halves all but sodium and chloride. */
export function recipeBands(crop: CropEntry, strength = 1): RecipeBand[] {
  return ELEMENTS.map((name) => {
    const { lowMgPerL, aimMgPerL, highMgPerL, weight } = crop.bands[name]
    const part = name === 'Na' || name === 'Cl' ? 1 : strength
    const mmol = (mgPerL: number) => toMmolPerL(name, mgPerL * part)
    return {
      ...{ low: mmol(lowMgPerL), aim: mmol(aimMgPerL), high: mmol(highMgPerL) },
      weight: weight === 0 ? WATCHED_WEIGHT : weight,
    }
  })
}

/** A crop as a water is judged for it: bands in mg/L, and how much sodium and chloride it takes of what is there. */
export function waterCrop(crop: CropEntry): WaterCrop {
  const ratio = (name: 'Na' | 'Cl') => {
    const taken = crop.uptake[name]
    return taken.driver === 'concentration' ? taken.ratio : 0
  }
  return { name: crop.name, bands: recipeBands(crop), phAim: crop.ph.aim, ratio: { Na: ratio('Na'), Cl: ratio('Cl') } }
}

/** Bands with those replaced that a person wants otherwise: 'Na=0..60', 'K=150..180..250' (low, aim, high; mg/L). */
export function withBandWishes(bands: readonly RecipeBand[], wishes: readonly string[]): RecipeBand[] {
  return wishes.reduce<RecipeBand[]>(
    (all, wish) => {
      const [name = '', text = ''] = wish.split('=').map((part) => part.trim())
      const edges = text.split('..').map(Number)
      const [low = Number.NaN, middle = Number.NaN, last] = edges
      const [aim, high] = last === undefined ? [Math.min(Math.max(low, middle / 2), middle), middle] : [middle, last]
      if (!isElementName(name) || edges.length > 3 || !(low >= 0 && low <= aim && aim <= high && high < 1e5)) {
        const allowed = `an element and its edges in mg/L, such as "Na=0..60" or "K=150..180..250"; elements are ${ELEMENTS.join(', ')}`
        throw new CommandFailure('usage', `--band: found "${wish}"; wanted is ${allowed}`)
      }
      const at = ELEMENTS.indexOf(name)
      const kept = last === undefined && all[at]!.aim >= toMmolPerL(name, low) && all[at]!.aim <= toMmolPerL(name, high)
      const mmol = (mgPerL: number) => toMmolPerL(name, mgPerL)
      const band = { low: mmol(low), aim: kept ? all[at]!.aim : mmol(aim), high: mmol(high) }
      return all.with(at, { ...all[at]!, ...band })
    },
    [...bands],
  )
}
