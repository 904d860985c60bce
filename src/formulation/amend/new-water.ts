// The water that replaces what is let go, with the acid it needs.

import { NEUTRALIZERS, neutralizerNeed } from '../../chemistry/acidity.ts'
import { OPEN_AIR } from '../../chemistry/carbon.ts'
import { toVector } from '../../chemistry/element.ts'

export const NEW_WATER_ACIDS = { nitric: 'HNO3', phosphoric: 'H3PO4', sulfuric: 'H2SO4' } as const
export type NewWaterAcid = keyof typeof NEW_WATER_ACIDS

export interface NewWater {
  /** with what the acid brings, mmol/L in the order of ELEMENTS */
  readonly mmolPerL: Float64Array
  /** what a litre of it needs in open air to stand at the pH asked for; 0 where it needs none */
  readonly acidMeqPerL: number
}

/**
 * Raw water with the acid that brings it to a pH once it has aerated: a hard water brings as much nitrate by its acid
 * as a handful of salt would.
 */
export function newWater(
  raw: { readonly mmolPerL: Float64Array; readonly alkalinityMeqPerL: number },
  phAim: number,
  acid: NewWaterAcid,
): NewWater {
  const by = NEUTRALIZERS[NEW_WATER_ACIDS[acid]]
  const water = { totals: raw.mmolPerL, alkalinityMeqPerL: raw.alkalinityMeqPerL, carbon: OPEN_AIR }
  const need = neutralizerNeed(water, phAim, by)
  if (need.kind !== 'dose') return { mmolPerL: raw.mmolPerL, acidMeqPerL: 0 }
  const brought = toVector(by.mmolPerMmol)
  return { mmolPerL: raw.mmolPerL.map((mmol, at) => mmol + brought[at]! * need.mmolPerL), acidMeqPerL: need.meqPerL }
}
