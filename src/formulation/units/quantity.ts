/** A number with its unit, as a person types it: '220 L', '0.9 g/L', '1.4 mS/cm', '700 ppm (500)'. */

import { type Dimension, readUnit, type Unit } from './unit.ts'

export type QuantityReading =
  | { readonly kind: 'quantity'; readonly value: number; readonly unit: Unit }
  | { readonly kind: 'unfit'; readonly problem: string }

/**
 * A text as a quantity of one of the kinds that fit.
 *
 * @returns `value` in the unit that the dimension is counted in (see unit.ts), or what is wrong and what is allowed
 */
export function readQuantity(text: string, fitting: readonly Dimension[]): QuantityReading {
  const match = /^\s*(\d+(?:\.\d+)?|\.\d+)\s*([^\d\s.].*)$/.exec(text)
  if (match === null) return { kind: 'unfit', problem: `'${text}': a number of 0 or more and its unit are needed` }
  const unit = readUnit(match[2]!)
  if (unit.kind === 'unfit') return unit
  if (fitting.includes(unit.dimension)) return { kind: 'quantity', value: Number(match[1]) * unit.factor, unit }
  if (fitting.includes('conductivity') && unit.text === 'ppm') {
    const problem = `'${text}': ppm of a conductivity meter says nothing without its scale; write ppm (500), ppm (640) or ppm (700), as the meter’s sheet says, or mS/cm`
    return { kind: 'unfit', problem }
  }
  return { kind: 'unfit', problem: `'${text}': ${unit.text} measures ${spoken(unit.dimension)}; ${wanted(fitting)}` }
}

/** A quantity counted as its dimension is, in another unit of the same dimension. */
export function inUnit(value: number, unit: Unit): number {
  return value / unit.factor
}

const SPOKEN: Readonly<Record<Dimension, readonly [what: string, example: string]>> = {
  mass: ['mass', '30 g'],
  volume: ['volume', '220 L'],
  'mass-per-volume': ['mass in a volume', '0.9 g/L'],
  'volume-per-volume': ['volume in a volume', '0.2 mL/L'],
  'amount-per-volume': ['amount in a volume', '5 mmol/L'],
  'charge-per-volume': ['charge in a volume', '3 meq/L'],
  conductivity: ['conductivity', '1.4 mS/cm'],
}

function spoken(dimension: Dimension): string {
  return SPOKEN[dimension][0]
}

function wanted(fitting: readonly Dimension[]): string {
  return `wanted is ${fitting.map((one) => `${SPOKEN[one][0]} (${SPOKEN[one][1]})`).join(' or ')}`
}
