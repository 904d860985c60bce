/** The belief as people and planners read it. */

import { alkalinityMeqPerL } from '../../chemistry/alkalinity.ts'
import { ELEMENT_COUNT, ELEMENT_INDEX, ELEMENTS, type ElementName } from '../../chemistry/element.ts'
import { ELEMENT_MOLAR_MASS } from '../../chemistry/molar-mass.ts'
import type { FilterState } from './filter-state.ts'
import { UNTRACKED, VOLUME } from './layout.ts'
import { predictedConductivityDsPerM } from './measure.ts'

export interface Levels {
  readonly atMs: number
  readonly volumeL: number
  readonly sdVolumeL: number
  /** mmol/L in the order of ELEMENTS */
  readonly mmolPerL: Float64Array
  readonly sdMmolPerL: Float64Array
  readonly alkalinityMeqPerL: number
}

/** Concentrations with their standard deviations; the covariance of amount and volume is taken along. */
export function levelsOf(filter: FilterState): Levels {
  const { mean, covariance } = filter
  const n = mean.length
  const volumeL = mean[VOLUME]!
  const volumeVariance = covariance[VOLUME * n + VOLUME]!
  const mmolPerL = new Float64Array(ELEMENT_COUNT)
  const sdMmolPerL = new Float64Array(ELEMENT_COUNT)
  for (let at = 0; at < ELEMENT_COUNT; at++) {
    // A reading may pull a nearly used-up element a hair below nothing; nobody can have less than none of it.
    const level = Math.max(0, mean[at]! / volumeL)
    const variance =
      covariance[at * n + at]! - 2 * level * covariance[at * n + VOLUME]! + level * level * volumeVariance
    mmolPerL[at] = level
    sdMmolPerL[at] = Math.sqrt(Math.max(0, variance)) / volumeL
  }
  return {
    atMs: filter.atMs,
    volumeL,
    sdVolumeL: Math.sqrt(volumeVariance),
    mmolPerL,
    sdMmolPerL,
    alkalinityMeqPerL: alkalinityMeqPerL(mmolPerL, mean[UNTRACKED]! / volumeL),
  }
}

export interface ElementEstimate {
  readonly mgPerL: number
  readonly sdMgPerL: number
}

/** What the reservoir is believed to hold. */
export interface Estimate {
  readonly atMs: number
  readonly volumeL: number
  readonly sdVolumeL: number
  readonly alkalinityMeqPerL: number
  /** what the probe should show of it, dS/m at 25 °C */
  readonly conductivityDsPerM: number
  readonly elements: Readonly<Record<ElementName, ElementEstimate>>
  /** nitrate and ammonium together, as N: what one has too much the other mostly lacks, so its doubt is no sum of theirs */
  readonly nitrogen: ElementEstimate
}

/** The belief in mg/L of the element (NO3-N and NH4-N as nitrogen). */
export function estimateOf(filter: FilterState): Estimate {
  const levels = levelsOf(filter)
  const entries = ELEMENTS.map((name, at): [ElementName, ElementEstimate] => {
    const molarMass = ELEMENT_MOLAR_MASS[name]
    return [name, { mgPerL: levels.mmolPerL[at]! * molarMass, sdMgPerL: levels.sdMmolPerL[at]! * molarMass }]
  })
  return {
    atMs: filter.atMs,
    volumeL: levels.volumeL,
    sdVolumeL: levels.sdVolumeL,
    alkalinityMeqPerL: levels.alkalinityMeqPerL,
    conductivityDsPerM: predictedConductivityDsPerM(filter.mean, filter.ph),
    elements: Object.fromEntries(entries) as Record<ElementName, ElementEstimate>,
    nitrogen: nitrogenOf(filter, levels),
  }
}

const NO3 = ELEMENT_INDEX['NO3-N']
const NH4 = ELEMENT_INDEX['NH4-N']

/** Variance of (a + b) / V from the covariance of all three. */
function nitrogenOf({ mean, covariance }: FilterState, { volumeL, mmolPerL }: Levels): ElementEstimate {
  const n = mean.length
  const level = mmolPerL[NO3]! + mmolPerL[NH4]!
  const between = (one: number, other: number): number => covariance[one * n + other]!
  const ofAmount = between(NO3, NO3) + between(NH4, NH4) + 2 * between(NO3, NH4)
  const withVolume = between(NO3, VOLUME) + between(NH4, VOLUME)
  const variance = ofAmount - 2 * level * withVolume + level * level * between(VOLUME, VOLUME)
  const molarMass = ELEMENT_MOLAR_MASS['NO3-N']
  return { mgPerL: level * molarMass, sdMgPerL: (Math.sqrt(Math.max(0, variance)) / volumeL) * molarMass }
}
