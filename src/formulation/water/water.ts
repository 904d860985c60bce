/** A source water as the desk knows it: what was measured, and what was not. */

import { CHARGE } from '../../chemistry/alkalinity.ts'
import { ELEMENTS, type ElementName, toVector } from '../../chemistry/element.ts'
import { ELEMENT_MOLAR_MASS, toMmolPerL } from '../../chemistry/molar-mass.ts'
import type { LaboratorySample } from '../laboratory/report.ts'

export interface Water {
  readonly name: string
  /** in the order of ELEMENTS; what was not measured stands as 0 and is not in `measured` */
  readonly mmolPerL: Float64Array
  readonly measured: ReadonlySet<ElementName>
  /** absent where it was neither measured nor follows from the ions */
  readonly alkalinity?: { readonly meqPerL: number; readonly isFromIons: boolean }
  readonly ph?: number
  readonly conductivityDsPerM?: number
  readonly fluorideMgPerL?: number
  /** free chlorine, as Cl2 */
  readonly chlorineMgPerL?: number
  /** as Cl2 */
  readonly chloramineMgPerL?: number
}

/** Figures that a laboratory report does not carry here, as typed beside it. */
export type WaterExtras = Pick<Water, 'fluorideMgPerL' | 'chlorineMgPerL' | 'chloramineMgPerL' | 'conductivityDsPerM'>

/** Without these the ions do not tell the alkalinity. */
const NEEDED_FOR_ALKALINITY: readonly ElementName[] = ['Ca', 'Mg', 'Na', 'Cl', 'S', 'NO3-N']

/**
 * A water from its report. A value below a limit counts as half the limit. Where the alkalinity was not measured it is
 * taken as strong cations less strong anions if calcium, magnesium, sodium, chloride, sulfate and nitrate were.
 */
export function waterOfSample(sample: LaboratorySample, extras: WaterExtras = {}): Water {
  const mgPerL = sample.values.map((value) => [value.element, 'mgPerL' in value ? value.mgPerL : value.belowMgPerL / 2])
  const { alkalinityMeqPerL, ph, conductivityDsPerM } = sample
  return waterOf({
    name: sample.label,
    mgPerL: Object.fromEntries(mgPerL),
    ...(alkalinityMeqPerL === undefined ? {} : { alkalinityMeqPerL }),
    ...(ph === undefined ? {} : { ph }),
    ...(conductivityDsPerM === undefined ? {} : { conductivityDsPerM }),
    ...extras,
  })
}

export interface WaterFigures extends WaterExtras {
  readonly name: string
  readonly mgPerL: Readonly<Partial<Record<ElementName, number>>>
  readonly alkalinityMeqPerL?: number
  readonly ph?: number
}

/**
 * A water from its figures in mg/L of the element. An alkalinity nobody measured follows from the charges where every
 * ion that counts was measured, and never below 0; else there is none.
 */
export function waterOf({ name, mgPerL, alkalinityMeqPerL, ...rest }: WaterFigures): Water {
  const mmol = Object.entries(mgPerL).map(([element, value]) => [element, toMmolPerL(element as ElementName, value)])
  const mmolPerL = toVector(Object.fromEntries(mmol))
  const measured = new Set(Object.keys(mgPerL) as ElementName[])
  const alkalinity = alkalinityOf(mmolPerL, measured, alkalinityMeqPerL)
  return { name, mmolPerL, measured, ...(alkalinity === undefined ? {} : { alkalinity }), ...rest }
}

function alkalinityOf(mmolPerL: Float64Array, measured: ReadonlySet<ElementName>, stated: number | undefined) {
  if (stated !== undefined) return { meqPerL: stated, isFromIons: false }
  if (!NEEDED_FOR_ALKALINITY.every((name) => measured.has(name))) return undefined
  const meqPerL = ELEMENTS.reduce((sum, name, e) => sum + CHARGE[name] * mmolPerL[e]!, 0)
  return { meqPerL: Math.max(0, meqPerL), isFromIons: true }
}

/** mg/L of an element. */
export function mgPerLOf({ mmolPerL }: Water, name: ElementName): number {
  return mmolPerL[ELEMENTS.indexOf(name)]! * ELEMENT_MOLAR_MASS[name]
}

/** A water with this share of another in it; what either does not tell is not told of the mixture. */
export function mixWaters(water: Water, other: Water, otherShare: number): Water {
  const mixed = (a: number, b: number) => a * (1 - otherShare) + b * otherShare
  const mmolPerL = water.mmolPerL.map((mmol, e) => mixed(mmol, other.mmolPerL[e]!))
  const [a, b] = [water.alkalinity, other.alkalinity]
  return {
    name: `${water.name} with ${Math.round(100 * otherShare)} % ${other.name}`,
    mmolPerL,
    measured: new Set([...water.measured].filter((name) => other.measured.has(name))),
    ...(a && b
      ? { alkalinity: { meqPerL: mixed(a.meqPerL, b.meqPerL), isFromIons: a.isFromIons || b.isFromIons } }
      : {}),
  }
}
