/** A recipe as a grower uses it: what to weigh for the volume, and every element with where it comes from. */

import { ELEMENTS, type ElementName } from '../../chemistry/element.ts'
import { toMgPerL } from '../../chemistry/molar-mass.ts'
import type { Acidified } from './acidified.ts'
import type { RecipeBand } from './recipe.ts'
import { roundToScale } from './rounding.ts'
import type { Unmet } from './unmet.ts'

export interface SaltLine {
  readonly name: string
  readonly gPerL: number
  /** for the whole volume */
  readonly g: number
  readonly isPinned: boolean
  /** what the scale can weigh; absent where no scale was named */
  readonly weighedG?: number
  /** the scale is off by more than 5 % of it */
  readonly isTooCoarse?: boolean
}

export interface ElementLine {
  readonly element: ElementName
  readonly waterMgPerL: number
  readonly fromSalts: readonly { readonly name: string; readonly mgPerL: number }[]
  readonly totalMgPerL: number
  readonly totalMmolPerL: number
  readonly lowMgPerL: number
  readonly aimMgPerL: number
  readonly highMgPerL: number
  readonly place: 'low' | 'in-band' | 'high'
  /** the total with what the scale can weigh */
  readonly weighedMgPerL?: number
}

export interface AcidLine {
  readonly name: string
  readonly mlPerL: number
  readonly ml: number
  /** what the aerated solution needs; absent where the amount was pinned or none is needed */
  readonly needMeqPerL?: number
  readonly firstHourMl?: number
  readonly firstHourPh?: number
}

export interface RecipeSheet {
  readonly volumeL: number
  readonly salts: readonly SaltLine[]
  readonly acid?: AcidLine
  readonly elements: readonly ElementLine[]
  readonly unmet: readonly Unmet[]
  readonly settled: Acidified['settled']
  readonly saltG: number
  readonly isLeastSalt: boolean
}

export interface SheetWish {
  readonly volumeL: number
  readonly bands: readonly RecipeBand[]
  readonly presentMmolPerL: Float64Array
  /** smallest step of the scale, g */
  readonly scaleG?: number
}

/** Salts of which nothing is taken are left out, elements never. */
export function sheetOf(acidified: Acidified, wish: SheetWish): RecipeSheet {
  const { recipe, acid } = acidified
  const count = acid !== undefined && acid.mlPerL > 0 ? acidified.salts.length - 1 : acidified.salts.length
  const salts = acidified.salts.slice(0, count)
  const exactG = salts.map((_, s) => recipe.gPerL[s]! * wish.volumeL)
  const weighed = wish.scaleG === undefined ? undefined : roundToScale(exactG, wish.scaleG)
  const lines = salts.map((salt, s): SaltLine => {
    const of = weighed === undefined ? {} : { weighedG: weighed[s]!.weighedG, isTooCoarse: weighed[s]!.isTooCoarse }
    const isPinned = salt.pinnedGPerL !== undefined
    return { name: salt.name, gPerL: recipe.gPerL[s]!, g: exactG[s]!, isPinned, ...of }
  })
  return {
    volumeL: wish.volumeL,
    salts: lines.filter(({ gPerL }) => gPerL > 0),
    ...(acid === undefined ? {} : { acid: acidLine(acid, wish.volumeL) }),
    elements: ELEMENTS.map((_, e) => elementLine(acidified, wish, e, weighed?.map(gramsOff))),
    unmet: recipe.unmet,
    settled: acidified.settled,
    saltG: exactG.reduce((sum, g) => sum + g, 0),
    isLeastSalt: recipe.isLeastSalt,
  }
}

function gramsOff({ exactG, weighedG }: { exactG: number; weighedG: number }): number {
  return weighedG - exactG
}

function elementLine(
  { recipe, salts }: Acidified,
  { bands, presentMmolPerL, volumeL }: SheetWish,
  e: number,
  gramsOff: readonly number[] | undefined,
): ElementLine {
  const element = ELEMENTS[e]!
  const mg = (mmolPerL: number) => toMgPerL(element, mmolPerL)
  const { low, aim, high } = bands[e]!
  const total = recipe.totalMmolPerL[e]!
  const fromSalts = salts
    .map(({ name }, s) => ({ name, mgPerL: mg(recipe.broughtMmolPerL[s]![e]!) }))
    .filter(({ mgPerL }) => mgPerL > 0)
    .sort((a, b) => b.mgPerL - a.mgPerL)
  const off = gramsOff?.reduce((sum, g, s) => sum + (g * salts[s]!.mmolPerG[e]!) / volumeL, 0)
  const kind = recipe.unmet.find((one) => one.element === element)?.kind
  return {
    ...{ element, waterMgPerL: mg(presentMmolPerL[e]!), fromSalts, totalMgPerL: mg(total), totalMmolPerL: total },
    ...{ lowMgPerL: mg(low), aimMgPerL: mg(aim), highMgPerL: mg(high), place: kind ?? 'in-band' },
    ...(off === undefined ? {} : { weighedMgPerL: mg(total + off) }),
  }
}

function acidLine({ name, mlPerL, plan }: NonNullable<Acidified['acid']>, volumeL: number): AcidLine {
  const amounts = { name, mlPerL, ml: mlPerL * volumeL }
  if (plan?.kind !== 'acid') return amounts
  const { meqPerL, firstHourMlPerL, firstHourPh } = plan
  return { ...amounts, needMeqPerL: meqPerL, firstHourMl: firstHourMlPerL * volumeL, firstHourPh }
}
