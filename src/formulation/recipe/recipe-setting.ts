// The question without its pinned salts: what is there before the free ones, and how far these may go.

import { ELEMENT_COUNT, ELEMENTS } from '../../chemistry/element.ts'
import { AMMONIUM, NEVER_RAISED, NITRATE, ONLY_BOUNDED, PRICED_CEILING } from './element-rule.ts'
import type { RecipeQuestion } from './recipe.ts'

export interface Setting {
  /** places of the salts that are not pinned and bring something */
  readonly free: readonly number[]
  /** of the free salts, in the order of `free` */
  readonly mmolPerG: readonly Float64Array[]
  readonly maxGPerL: readonly number[]
  /** g/L of each free salt that does the whole of what one element needs: the measure in which it is solved */
  readonly unitGPerL: readonly number[]
  /** with the pinned salts, mmol/L */
  readonly startMmolPerL: Float64Array
  readonly ceilingMmolPerL: Float64Array
  readonly bands: RecipeQuestion['bands']
  /** of a squared miss as a share of `shareOf`; 0 where the element is not sought */
  readonly weight: Float64Array
  /** what a miss is a share of, mmol/L: the aim, or the high edge where the aim is 0 */
  readonly shareOf: Float64Array
  readonly ammoniumShareMax: number
  /** how much more ammonium the nitrogen of the pinned salts allows, mmol/L; 0 where they are over already */
  readonly ammoniumRoomMmolPerL: number
}

/** The question in mmol/L and g/L with its pinned salts counted as present; its arrays are its own. */
export function settingOf(question: RecipeQuestion): Setting {
  const { presentMmolPerL, bands, salts, ammoniumShareMax } = question
  const pinned = new Float64Array(ELEMENT_COUNT)
  for (const { mmolPerG, pinnedGPerL = 0 } of salts) {
    for (let e = 0; e < ELEMENT_COUNT; e++) pinned[e]! += mmolPerG[e]! * pinnedGPerL
  }
  const startMmolPerL = presentMmolPerL.map((present, e) => present + pinned[e]!)
  const ceilingMmolPerL = Float64Array.from(ELEMENTS, (name, e) =>
    Math.max(startMmolPerL[e]!, bands[e]!.high * (NEVER_RAISED.has(name) ? 1 : PRICED_CEILING)),
  )
  const shareOf = Float64Array.from(bands, ({ aim, high }) => (aim > 0 ? aim : high))
  const weight = Float64Array.from(ELEMENTS, (name, e) =>
    ONLY_BOUNDED.has(name) || shareOf[e] === 0 ? 0 : bands[e]!.weight,
  )
  const free = [...salts.keys()].filter((s) => {
    const { mmolPerG, pinnedGPerL, maxGPerL = Infinity } = salts[s]!
    if (pinnedGPerL !== undefined || !(maxGPerL > 0) || !mmolPerG.some((mmol) => mmol > 0)) return false
    return mmolPerG.every((mmol, e) => mmol === 0 || hasRoom(ceilingMmolPerL[e]!, startMmolPerL[e]!))
  })
  const mmolPerG = free.map((s) => salts[s]!.mmolPerG)
  const room = ammoniumShareMax * (pinned[AMMONIUM]! + pinned[NITRATE]!) - pinned[AMMONIUM]!
  return {
    ...{ free, mmolPerG, startMmolPerL, ceilingMmolPerL, bands, weight, shareOf, ammoniumShareMax },
    maxGPerL: free.map((s) => salts[s]!.maxGPerL ?? Infinity),
    unitGPerL: mmolPerG.map((mmol) => unitOf(mmol, ceilingMmolPerL)),
    ammoniumRoomMmolPerL: Math.max(0, room),
  }
}

/** An element at its ceiling shuts out every salt that carries it, and the programs stay plain. */
function hasRoom(ceiling: number, start: number): boolean {
  return ceiling - start > 1e-9 * ceiling
}

function unitOf(mmolPerG: Float64Array, ceilingMmolPerL: Float64Array): number {
  return mmolPerG.reduce((least, mmol, e) => (mmol > 0 ? Math.min(least, ceilingMmolPerL[e]! / mmol) : least), Infinity)
}
