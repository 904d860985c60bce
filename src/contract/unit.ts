/** Units a node may send, as UCUM codes, and what each is in the unit used inside. */

/** Quantities a probe can measure. */
export const QUANTITIES = ['conductivity', 'ph', 'temperature', 'level', 'volume', 'flow', 'switch'] as const
export type Quantity = (typeof QUANTITIES)[number]

interface UnitMeaning {
  readonly quantity: Quantity
  /** inside = value × factor + offset */
  readonly factor: number
  readonly offset: number
}

/**
 * Inside units: dS/m, pH, °C, L (level is a volume of water), L (volume), L/min, and 0 or 1 for a switch.
 * US gallon 3.785411784 L and Fahrenheit are exact by definition.
 */
const MEANINGS = {
  'mS/cm': { quantity: 'conductivity', factor: 1, offset: 0 },
  'uS/cm': { quantity: 'conductivity', factor: 0.001, offset: 0 },
  'dS/m': { quantity: 'conductivity', factor: 1, offset: 0 },
  '[pH]': { quantity: 'ph', factor: 1, offset: 0 },
  Cel: { quantity: 'temperature', factor: 1, offset: 0 },
  '[degF]': { quantity: 'temperature', factor: 5 / 9, offset: -160 / 9 },
  L: { quantity: 'volume', factor: 1, offset: 0 },
  mL: { quantity: 'volume', factor: 0.001, offset: 0 },
  '[gal_us]': { quantity: 'volume', factor: 3.785411784, offset: 0 },
  'L/min': { quantity: 'flow', factor: 1, offset: 0 },
  'L/h': { quantity: 'flow', factor: 1 / 60, offset: 0 },
  '1': { quantity: 'switch', factor: 1, offset: 0 },
} as const satisfies Record<string, UnitMeaning>

export type UnitCode = keyof typeof MEANINGS
export const UNIT_CODES = Object.keys(MEANINGS) as [UnitCode, ...UnitCode[]]

/** Whether a unit can state a quantity; a level is stated as a volume of water. */
export function unitFits(unit: UnitCode, quantity: Quantity): boolean {
  const measured = MEANINGS[unit].quantity
  return measured === quantity || (quantity === 'level' && measured === 'volume')
}

/** A value in the unit used inside (dS/m, pH, °C, L, L/min). */
export function toInsideUnit(value: number, unit: UnitCode): number {
  const { factor, offset } = MEANINGS[unit]
  return value * factor + offset
}
