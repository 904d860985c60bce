/**
 * Quantities typed with a unit: '58 gal' where litres are wanted. The unit library costs half a second and 60 MB, so
 * it is loaded only when such a text is met.
 */

/** Units a key can be in, each with the units a person may type instead. */
const FITTING = {
  L: ['L', 'mL', 'gal', 'qt', 'm^3'],
  mL: ['mL', 'L', 'floz', 'gal'],
  'L/min': ['L/min', 'L/h', 'gal/min', 'gal/h'],
  'mL/min': ['mL/min', 'mL/s', 'L/h', 'gal/h'],
  'g/L': ['g/L', 'mg/L', 'kg/m^3', 'lb/gal', 'oz/gal'],
  'mg/L': ['mg/L', 'ug/L', 'g/L', 'ppm'],
  s: ['s', 'min', 'h'],
  min: ['min', 's', 'h', 'day'],
  h: ['h', 'min', 'day'],
  day: ['day', 'h', 'week'],
  degC: ['degC', 'degF'],
  'dS/m': ['dS/m', 'mS/cm', 'uS/cm'],
} as const

export type QuantityUnit = keyof typeof FITTING

/** How people write what the library spells otherwise. Gallons and fluid ounces are US ones throughout. */
const SPELLINGS: Readonly<Record<string, string>> = {
  '°C': 'degC',
  C: 'degC',
  Cel: 'degC',
  '°F': 'degF',
  F: 'degF',
  ppm: 'mg/L',
  'fl oz': 'floz',
  d: 'day',
}

export type UnitTextReading =
  | { readonly kind: 'value'; readonly value: number }
  | { readonly kind: 'unfit'; readonly fitting: readonly string[] }

/**
 * What a text such as '58 gal' or '77 °F' is in `unit`.
 *
 * @returns { kind: 'value' }, or { kind: 'unfit', fitting } where the text is not a number followed by a unit of the
 *   same kind. A number without a unit is unfit too: written as text, nobody can tell what was meant.
 */
export async function readUnitText(text: string, unit: QuantityUnit): Promise<UnitTextReading> {
  const unfit: UnitTextReading = { kind: 'unfit', fitting: FITTING[unit] }
  const match = /^\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d+)?)\s*([A-Za-z°µμ].*?)\s*$/i.exec(text)
  if (match === null) return unfit
  const spelled = match[2]!.replaceAll(/[µμ]/g, 'u')
  const { unit: makeUnit } = await import('mathjs')
  try {
    // ppm stands for mg/L only where a concentration is wanted
    const given = spelled === 'ppm' && unit !== 'mg/L' ? spelled : (SPELLINGS[spelled] ?? spelled)
    const value = makeUnit(Number(match[1]), given).toNumber(unit)
    return Number.isFinite(value) ? { kind: 'value', value } : unfit
  } catch {
    return unfit
  }
}
