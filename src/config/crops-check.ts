/** Crops: bands in order, and a plant that grows. */

import type { ConfigurationError } from './configuration-error.ts'
import { itemsAt, type Looks, outOfOrder } from './look.ts'

/** Faults of every crop; none where all is in order. */
export function checkCrops({ crops }: Looks): ConfigurationError[] {
  return itemsAt(crops, 'crops').flatMap(({ path }) => [
    ...itemsAt(crops, ...path, 'bands').flatMap((band) => [
      ...outOfOrder(crops, [...band.path, 'lowMgPerL'], [...band.path, 'aimMgPerL']),
      ...outOfOrder(crops, [...band.path, 'aimMgPerL'], [...band.path, 'highMgPerL']),
    ]),
    ...outOfOrder(crops, [...path, 'ph', 'low'], [...path, 'ph', 'aim']),
    ...outOfOrder(crops, [...path, 'ph', 'aim'], [...path, 'ph', 'high']),
    ...outOfOrder(crops, [...path, 'water', 'startLPerDay'], [...path, 'water', 'fullLPerDay']),
  ])
}
