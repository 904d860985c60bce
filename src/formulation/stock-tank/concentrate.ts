// What stands in one stock tank, as chemistry.

import { phFromAlkalinity } from '../../chemistry/acidity.ts'
import { OPEN_AIR } from '../../chemistry/carbon.ts'
import { conductivity25DsPerM } from '../../chemistry/conductivity.ts'
import { type Composition, toVector } from '../../chemistry/element.ts'
import { type Saturation, saturation } from '../../chemistry/saturation.ts'
import { mixedAlkalinityMeqPerL, mixedMmolPerL, type TankSalt } from './tank-salt.ts'

/** The water a tank is filled with; empty and 0 for reverse-osmosis water. */
export interface TankWater {
  readonly mmolPerL: Composition
  readonly alkalinityMeqPerL: number
}

export const PURE_WATER: TankWater = { mmolPerL: {}, alkalinityMeqPerL: 0 }

export interface Concentrate {
  readonly mmolPerL: Composition
  readonly alkalinityMeqPerL: number
  /** in open air, 25 °C; a model figure, in a concentrate good to half a unit at best */
  readonly ph: number
  readonly saturation: Saturation
}

/** Salts at `factor` times their working strength, in this water. */
export function concentrateOf(salts: readonly TankSalt[], factor: number, water: TankWater = PURE_WATER): Concentrate {
  const totals = toVector(mixedMmolPerL(salts, factor))
  toVector(water.mmolPerL).forEach((amount, at) => {
    totals[at]! += amount
  })
  const alkalinityMeqPerL = mixedAlkalinityMeqPerL(salts, factor) + water.alkalinityMeqPerL
  const ph = phFromAlkalinity(totals, alkalinityMeqPerL, OPEN_AIR)
  const mmolPerL = mixedMmolPerL(salts, factor)
  return { mmolPerL, alkalinityMeqPerL, ph, saturation: saturation(totals, ph, OPEN_AIR) }
}

/** What one part of concentrate in a hundred parts of pure water shows, dS/m at 25 °C, in open air. */
export function dilutedDsPerM(concentrate: Pick<Concentrate, 'mmolPerL' | 'alkalinityMeqPerL'>): number {
  const totals = toVector(concentrate.mmolPerL).map((amount) => amount / CHECK_DILUTION)
  const ph = phFromAlkalinity(totals, concentrate.alkalinityMeqPerL / CHECK_DILUTION, OPEN_AIR)
  return conductivity25DsPerM(totals, ph, OPEN_AIR)
}

/** 10 mL made up to 1 L: easy to do with a jug, and near working strength, where the model of conductivity is good. */
export const CHECK_DILUTION = 100
