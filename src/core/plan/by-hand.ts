// What a person may weigh in where no stock serves: the salt that does most for the element and least to the others.

import { ELEMENT_COUNT, ELEMENTS } from '../../chemistry/element.ts'
import type { HandSalt } from '../settings.ts'
import type { LevelPath } from './level-path.ts'
import { figure, listed, milligrams, spoken } from './wording.ts'

export interface ByHand {
  readonly text: string
  readonly figures: { readonly handG: number; readonly handToMmolPerL: number }
}

interface Weighed {
  readonly salt: HandSalt
  readonly grams: number
  /** level that it brings the element to, mmol/L */
  readonly toMmolPerL: number
  /** what it pushes the other elements past their aims, in widths from aim to high edge, squared and summed */
  readonly harm: number
}

/** Less than this no common scale shows, and nothing comes of it (a choice of ours). */
const LEAST_G = 0.01
/** A side of a salt that moves its element by less than this part of its band goes unnamed. */
const NAMED_SHARE = 0.02

/**
 * Grams of one salt that bring the element to its aim, or as near as the high edges of what comes along allow. Of salts
 * that come equally near, the one that pushes least past its aim.
 *
 * @param at the element, its place in ELEMENTS
 * @returns what to weigh, or undefined where no salt would bring it even to its low edge, or the element is known too
 *   little to be weighed by its estimate
 */
export function weighByHand(
  salts: readonly HandSalt[],
  paths: readonly LevelPath[],
  at: number,
  volumeL: number,
): ByHand | undefined {
  const { band, presentMmolPerL, isLost } = paths[at]!
  if (isLost) return undefined
  const serve = salts
    .flatMap((salt) => weighed(salt, paths, at, volumeL))
    .filter(({ toMmolPerL, grams }) => toMmolPerL >= Math.max(band.low, presentMmolPerL) && grams >= LEAST_G)
    .sort((a, b) => reach(b, band.aim) - reach(a, band.aim) || a.harm - b.harm || a.grams - b.grams)
  const [best] = serve
  return best && told(best, paths, at, volumeL)
}

/** Nine tenths of the way and the whole way are equally near: what comes along then decides. */
function reach({ toMmolPerL }: Weighed, aimMmolPerL: number): number {
  return Math.min(0.9, toMmolPerL / aimMmolPerL)
}

function weighed(salt: HandSalt, paths: readonly LevelPath[], at: number, volumeL: number): Weighed[] {
  const perG = salt.mmolPerG.map((mmol) => mmol / volumeL)
  if (!(perG[at]! > 0)) return []
  let grams = Math.max(0, (paths[at]!.band.aim - paths[at]!.presentMmolPerL) / perG[at]!)
  for (let e = 0; e < ELEMENT_COUNT; e++) {
    if (e === at || !(perG[e]! > 0)) continue
    grams = Math.min(grams, Math.max(0, paths[e]!.band.high - paths[e]!.presentMmolPerL) / perG[e]!)
  }
  const harm = paths.reduce((sum, { band, presentMmolPerL }, e) => {
    if (e === at || !(perG[e]! > 0)) return sum
    const past = Math.max(0, presentMmolPerL + grams * perG[e]! - Math.max(band.aim, presentMmolPerL))
    return sum + (past / Math.max(band.high - band.aim, 1e-9)) ** 2
  }, 0)
  return [{ salt, grams, toMmolPerL: paths[at]!.presentMmolPerL + grams * perG[at]!, harm }]
}

function told({ salt, grams, toMmolPerL }: Weighed, paths: readonly LevelPath[], at: number, volumeL: number): ByHand {
  const { element } = paths[at]!
  const along = ELEMENTS.flatMap((name, e) => {
    const rise = (grams * salt.mmolPerG[e]!) / volumeL
    return e === at || !(rise > NAMED_SHARE * paths[e]!.band.high)
      ? []
      : [`${spoken(name)} by ${milligrams(name, rise, 2)}`]
  })
  const others = along.length === 0 ? '' : `, and raises ${listed(along)} mg/L`
  const text = `By hand, ${figure(grams, 2)} g of ${salt.name} dissolved in a bucket of the solution brings it to ${milligrams(element, toMmolPerL)} mg/L${others}; log what was added.`
  return { text, figures: { handG: grams, handToMmolPerL: toMmolPerL } }
}
