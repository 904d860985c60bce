/** A crop as the desk asks for it. */

import { ELEMENTS } from '../chemistry/element.ts'
import { toMmolPerL } from '../chemistry/molar-mass.ts'
import type { RecipeBand } from '../formulation/recipe/recipe.ts'
import type { WaterCrop } from '../formulation/water/criterion.ts'
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

export function waterCrop(crop: CropEntry): WaterCrop {
  const ratio = (name: 'Na' | 'Cl') => {
    const taken = crop.uptake[name]
    return taken.driver === 'concentration' ? taken.ratio : 0
  }
  return { name: crop.name, bands: recipeBands(crop), phAim: crop.ph.aim, ratio: { Na: ratio('Na'), Cl: ratio('Cl') } }
}
