// The reference solutions, read from the fixtures: USGS PHREEQC 3.8.9, phreeqc.dat / July 2021 phreeqc.dat.

import { readFileSync } from 'node:fs'
import type { NEUTRALIZERS } from '../../../src/chemistry/acidity.ts'
import type { Composition } from '../../../src/chemistry/element.ts'

export type ReferenceSolution = {
  readonly id: string
  readonly group: 'single salt' | 'nutrient solution' | 'aged reservoir' | 'raw water' | 'saturation'
  readonly temperatureC: number
  readonly mmolPerL: Composition
  readonly inorganicCarbonMmolPerL: number
  readonly ph: number
  readonly phAt25C: number
  readonly alkalinityMeqPerL: number
  readonly ionicStrengthMolPerKg: number
  readonly conductivity25UsPerCm: { readonly phreeqc389: number; readonly july2021: number }
  readonly saturationIndex?: { readonly gypsum: number; readonly brushite?: number }
}

export type ReferenceTitration = {
  readonly id: string
  readonly acid: keyof typeof NEUTRALIZERS
  readonly mmolPerL: Composition
  readonly alkalinityMeqPerL: number
  readonly co2: 'open' | 'closed'
  readonly startPh?: number
  readonly inorganicCarbonMmolPerL?: number
  readonly log10Pco2Atm?: number
  readonly points: readonly (readonly [acidMmolPerL: number, ph: number])[]
  readonly acidMmolPerLToReachPh: Readonly<Record<string, number>>
}

export const SOLUTIONS: readonly ReferenceSolution[] = fixture('phreeqc-solutions').solutions
export const TITRATIONS: readonly ReferenceTitration[] = fixture('phreeqc-titrations').titrations

function fixture(name: string) {
  return JSON.parse(readFileSync(new URL(`../../fixtures/chemistry/${name}.json`, import.meta.url), 'utf8'))
}
