// Names and figures as a grower reads them. No locale: the same plan reads the same everywhere.

import type { ElementName } from '../../chemistry/element.ts'
import { toMgPerL } from '../../chemistry/molar-mass.ts'

/** Nitrogen is never named without its form. */
const SPOKEN: Readonly<Record<ElementName, string>> = {
  'NO3-N': 'NO3-N',
  'NH4-N': 'NH4-N',
  P: 'phosphorus',
  K: 'potassium',
  Ca: 'calcium',
  Mg: 'magnesium',
  S: 'sulfur',
  Na: 'sodium',
  Cl: 'chloride',
  Fe: 'iron',
  Mn: 'manganese',
  Zn: 'zinc',
  B: 'boron',
  Cu: 'copper',
  Mo: 'molybdenum',
}

/** An element’s name as a grower says it. */
export function spoken(element: ElementName): string {
  return SPOKEN[element]
}

/** A number with as many digits as it deserves: 172, 14.2, 0.9; nothing tiny is written with an exponent. */
export function figure(value: number, digits = 3): string {
  if (!Number.isFinite(value)) return 'unknown'
  const whole = Math.abs(value) >= 10 ** digits ? Math.round(value) : Number(value.toPrecision(digits))
  return Math.abs(whole) < 1e-6 ? '0' : String(whole)
}

/** Milligrams per litre of the element, without the unit. */
export function milligrams(element: ElementName, mmolPerL: number, digits = 3): string {
  return figure(toMgPerL(element, mmolPerL), digits)
}

const PARTS = [
  'the whole',
  'half',
  'a third',
  'a quarter',
  'a fifth',
  'a sixth',
  'a seventh',
  'an eighth',
  'a ninth',
  'a tenth',
]

/** A share between 0 and 1 in words: `a sixth`, below a tenth `6 %`. */
export function shareInWords(share: number): string {
  if (share > 0.58 && share < 0.72) return 'two thirds'
  if (share >= 0.72 && share < 0.88) return 'four fifths'
  const part = Math.round(1 / share)
  return part >= 1 && part <= 10 ? PARTS[part - 1]! : `${figure(100 * share, 1)} %`
}

/** Millilitres from microlitres, without the unit. */
export function millilitres(volumeUl: number): string {
  return figure(volumeUl / 1000)
}

/** A length of time in the unit a person would choose. */
export function duration(ms: number): string {
  const hours = ms / 3_600_000
  if (hours < 1) return `${figure(hours * 60, 2)} minutes`
  return hours < 48 ? `${figure(hours, 2)} hours` : `${figure(hours / 24, 2)} days`
}

/** `a`, `a and b`, `a, b and c`. */
export function listed(words: readonly string[]): string {
  return words.length < 2 ? words.join('') : `${words.slice(0, -1).join(', ')} and ${words.at(-1)}`
}
