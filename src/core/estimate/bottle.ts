/**
 * A stock bottle on a scale: what left it against what the book says was given tells how much the pump delivers. It says
 * nothing of how strong the stock is, which is the other half of the delivery factor.
 */

import type { StockSettings } from '../settings.ts'
import { DELIVERY_FACTOR } from './layout.ts'
import type { FilterMemory } from './memory.ts'
import type { ScalarMeasurement } from './update.ts'

/** A kitchen scale and the drop at the spout, g, at each of two weighings. Judgement. */
const WEIGHING_SD_G = 3
/** Density of the concentrate is reckoned, not measured. Judgement. */
const DENSITY_SD = 0.01
/** The strength of a batch stays as doubtful as it was: this part of the factor no scale can see. Judgement. */
const STRENGTH_SD = 0.02
/** Less than this given tells nothing that the scale could see, mL. */
const GIVEN_LEAST_ML = 20
/** Dissolved salts take about 0.4 mL a gram, so a litre with 100 g weighs 1.06 kg. From memory of density tables. */
const DENSITY_PER_SALT = 0.6

/**
 * The weighing as a measurement of the stock’s delivery factor; undefined for the first weighing of a bottle, after too
 * little was given, or where the bottle has gained mass: somebody filled it up and wrote nothing down.
 */
export function bottleMeasurement(
  stock: StockSettings,
  mean: Float64Array,
  memory: FilterMemory,
  weighed: { readonly stockIndex: number; readonly massG: number },
): ScalarMeasurement | undefined {
  const before = memory.bottles[weighed.stockIndex]
  if (!before || before.givenMl < GIVEN_LEAST_ML) return undefined
  const leftMl = (before.massG - weighed.massG) / (1 + DENSITY_PER_SALT * stock.saltGPerMl)
  if (!(leftMl > 0)) return undefined
  const factor = Math.exp(mean[DELIVERY_FACTOR + weighed.stockIndex]!)
  const ratio = leftMl / before.givenMl
  const scale = (WEIGHING_SD_G * Math.SQRT2) / before.givenMl
  return {
    innovation: ratio - factor,
    noiseVariance: scale * scale + (DENSITY_SD * ratio) ** 2 + (STRENGTH_SD * ratio) ** 2,
    places: [DELIVERY_FACTOR + weighed.stockIndex],
    slopes: [factor],
  }
}

/** The bottles once a step’s doses were given, its stocks refilled and its bottles weighed. */
export function bottleAfter(
  memory: FilterMemory,
  stockIndex: number,
  change: { givenMl: number } | { massG: number | null },
): FilterMemory {
  const before = memory.bottles[stockIndex]
  if ('givenMl' in change && !before) return memory
  const after =
    'givenMl' in change
      ? { massG: before!.massG, givenMl: before!.givenMl + change.givenMl }
      : change.massG === null
        ? null
        : { massG: change.massG, givenMl: 0 }
  return { ...memory, bottles: memory.bottles.map((kept, at) => (at === stockIndex ? after : kept)) }
}
