/** Concentrations of elements in the unit a person reads them in; mg/L are always of the element, nitrogen as N. */

import { CHARGE } from '../../chemistry/alkalinity.ts'
import type { ElementName } from '../../chemistry/element.ts'
import { toMgPerL, toMmolPerL } from '../../chemistry/molar-mass.ts'

export const ELEMENT_UNITS = ['mg/L', 'mmol/L', 'meq/L'] as const
export type ElementUnit = (typeof ELEMENT_UNITS)[number]

/**
 * mmol/L of an element in another unit. Elements that carry no charge of their own (Fe in its chelate, B) have no
 * meq/L; these come back undefined.
 */
export function elementIn(unit: ElementUnit, name: ElementName, mmolPerL: number): number | undefined {
  if (unit === 'mg/L') return toMgPerL(name, mmolPerL)
  if (unit === 'mmol/L') return mmolPerL
  return CHARGE[name] === 0 ? undefined : mmolPerL * Math.abs(CHARGE[name])
}

/** A value in one of the units to mmol/L; undefined for meq/L of an element without charge. */
export function elementFrom(unit: ElementUnit, name: ElementName, value: number): number | undefined {
  if (unit === 'mg/L') return toMmolPerL(name, value)
  if (unit === 'mmol/L') return value
  return CHARGE[name] === 0 ? undefined : value / Math.abs(CHARGE[name])
}
