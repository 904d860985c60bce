/** Units people weigh, measure and buy in: grams per litre, ounces per 100 gallons, mL per 1000 L, meq/L, mS/cm. */

/** What a unit measures; in brackets the unit everything of the kind is counted in. */
export type Dimension =
  | 'mass' // g
  | 'volume' // L
  | 'mass-per-volume' // g/L
  | 'volume-per-volume' // mL/L
  | 'amount-per-volume' // mmol/L
  | 'charge-per-volume' // meq/L
  | 'conductivity' // mS/cm = dS/m

export interface Unit {
  readonly kind: 'unit'
  /** as a person reads it */
  readonly text: string
  readonly dimension: Dimension
  /** one of this unit in the one its kind is counted in */
  readonly factor: number
}

export type UnitReading = Unit | { readonly kind: 'unfit'; readonly problem: string }

const LITRES_PER_GALLON = 3.785411784

/**
 * Masses in g, volumes in L. Household units are defined exactly in metric ones: avoirdupois pound 453.59237 g, US
 * gallon 231 cubic inches (NIST Handbook 44, appendix C, from memory). Gallons and fluid ounces are US ones throughout.
 */
const PLAIN: Readonly<Record<string, readonly ['mass' | 'volume', number]>> = {
  ...{ ug: ['mass', 1e-6], mg: ['mass', 0.001], g: ['mass', 1], kg: ['mass', 1000] },
  ...{ mL: ['volume', 0.001], ml: ['volume', 0.001], L: ['volume', 1], l: ['volume', 1], m3: ['volume', 1000] },
  ...{ oz: ['mass', 453.59237 / 16], lb: ['mass', 453.59237], lbs: ['mass', 453.59237] },
  ...{ gal: ['volume', LITRES_PER_GALLON], 'US gal': ['volume', LITRES_PER_GALLON] },
  ...{ gallon: ['volume', LITRES_PER_GALLON], gallons: ['volume', LITRES_PER_GALLON] },
  ...{ qt: ['volume', LITRES_PER_GALLON / 4], pt: ['volume', LITRES_PER_GALLON / 8] },
  ...{ floz: ['volume', LITRES_PER_GALLON / 128], 'fl oz': ['volume', LITRES_PER_GALLON / 128] },
}

const AMOUNTS: Readonly<Record<string, readonly [Dimension, number]>> = {
  ...{ 'mmol/L': ['amount-per-volume', 1], 'umol/L': ['amount-per-volume', 0.001], mM: ['amount-per-volume', 1] },
  ...{ 'meq/L': ['charge-per-volume', 1], 'me/L': ['charge-per-volume', 1], ppm: ['mass-per-volume', 0.001] },
  ...{ 'mS/cm': ['conductivity', 1], 'dS/m': ['conductivity', 1], 'uS/cm': ['conductivity', 0.001] },
}

/** For messages. */
export const UNITS_SHOWN =
  'g/L, mg/L, g/m3, g/gal, oz/gal, lb/gal, g/100gal, oz/100gal, lb/100gal, mL/L, mL/1000L, floz/100gal, mmol/L, meq/L, g, kg, oz, lb, mL, L, gal'

/**
 * What a unit such as 'oz/100gal' is.
 * 'ppm' is mg/L; of conductivity it means nothing until its scale is said: 'ppm (500)'.
 */
export function readUnit(text: string): UnitReading {
  const plain = text
    .trim()
    .replaceAll(/[µμ]/g, 'u')
    .replaceAll(/\s+/g, ' ')
    .replaceAll(/ ?\/ ?/g, '/')
  const known = Object.hasOwn(AMOUNTS, plain) ? AMOUNTS[plain] : undefined
  if (known !== undefined) return { kind: 'unit', text: plain, dimension: known[0], factor: known[1] }
  const scale = /^ppm ?(?:@|\( ?)(\d{3})(?: scale)?(?: ?\))?$/.exec(plain)
  if (scale !== null) return ppmOfConductivity(plain, Number(scale[1]))
  const [above = '', below, ...rest] = plain.split('/')
  if (rest.length > 0) return unfit(text)
  const top = readPlain(above)
  if (top === undefined) return unfit(text)
  if (below === undefined) return { kind: 'unit', text: plain, dimension: top.dimension, factor: top.factor }
  const [, count, name] = /^(\d*) ?(.+)$/.exec(below) as unknown as [string, string, string]
  const bottom = readPlain(name)
  if (bottom?.dimension !== 'volume' || Number(count === '' ? 1 : count) === 0) return unfit(text)
  const litres = bottom.factor * (count === '' ? 1 : Number(count))
  return top.dimension === 'mass'
    ? { kind: 'unit', text: plain, dimension: 'mass-per-volume', factor: top.factor / litres }
    : { kind: 'unit', text: plain, dimension: 'volume-per-volume', factor: (1000 * top.factor) / litres }
}

/** Meters that show ppm divide conductivity by 500, 640 or 700 ppm per mS/cm; nobody can tell which from the figure. */
function ppmOfConductivity(text: string, scale: number): UnitReading {
  if (scale >= 400 && scale <= 800) return { kind: 'unit', text, dimension: 'conductivity', factor: 1 / scale }
  return { kind: 'unfit', problem: `'${text}': the scale of a conductivity meter is 500, 640 or 700 ppm per mS/cm` }
}

function unfit(text: string): UnitReading {
  const imperial = /imp|uk/i.test(text) ? ' Gallons here are US gallons; give imperial ones in litres (4.546 L).' : ''
  return { kind: 'unfit', problem: `'${text.trim()}' is no unit known here; known are ${UNITS_SHOWN}.${imperial}` }
}

interface Plain {
  readonly dimension: 'mass' | 'volume'
  readonly factor: number
}

function readPlain(name: string): Plain | undefined {
  const known = Object.hasOwn(PLAIN, name) ? PLAIN[name] : undefined
  return known === undefined ? undefined : { dimension: known[0], factor: known[1] }
}
