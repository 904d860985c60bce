// pH from alkalinity and back, and how much acid or base moves a water to a pH.

import { alkalinityMeqPerL } from './alkalinity.ts'
import type { Carbon } from './carbon.ts'
import { type Composition, ELEMENT_COUNT, toVector } from './element.ts'
import { type FormulaProblem, formulaElements, readFormula } from './molar-mass.ts'
import { rootBetween } from './root.ts'
import { blankSpeciation, speciate } from './speciation.ts'

const scratch = blankSpeciation()

/** The scale searched. At its ends half a mole of strong acid or base per litre stands, so no reservoir lies beyond. */
const PH_LOW = 0
const PH_HIGH = 14
const PH_TOLERANCE = 1e-9
/** Nutrient solutions stand near 6: looking there first saves half the work. */
const PH_FIRST = 6
const PH_STRIDE = 1.5

/**
 * Alkalinity (strong cations minus strong anions) that the elements must have for the solution to stand at this pH,
 * meq/L, 25 °C.
 *
 * @param totals mmol/L in the order of ELEMENTS
 */
export function alkalinityFromPh(totals: Float64Array, ph: number, carbon: Carbon): number {
  return speciate(totals, ph, carbon, scratch).acidBaseMeqPerL
}

/**
 * pH of a solution with this alkalinity, 25 °C, to 1e-9.
 *
 * Alkalinity rises with pH at fixed totals and fixed CO2 (open) or fixed inorganic carbon (closed), so there is one
 * answer. At 15 to 30 °C the true pH lies within 0.1 of it.
 *
 * @param alkalinityMeqPerL usually alkalinityMeqPerL(totals, untracked)
 * @throws when no pH from 0 to 14 fits: some hundred meq/L of strong acid or base, or a number that is not finite
 */
export function phFromAlkalinity(totals: Float64Array, alkalinityMeqPerL: number, carbon: Carbon): number {
  const gap = (ph: number) => alkalinityFromPh(totals, ph, carbon) - alkalinityMeqPerL
  let low = PH_FIRST
  let high = PH_FIRST
  const sign = Math.sign(gap(PH_FIRST))
  if (sign === 0) return PH_FIRST
  while (sign > 0 && low > PH_LOW && gap(low) > 0) [low, high] = [Math.max(PH_LOW, low - PH_STRIDE), low]
  while (sign < 0 && high < PH_HIGH && gap(high) < 0) [low, high] = [high, Math.min(PH_HIGH, high + PH_STRIDE)]
  return rootBetween(gap, low, high, PH_TOLERANCE)
}

/** How much alkalinity one unit of pH is worth here, meq/L per unit; what resists acid and base. */
export function bufferIntensityMeqPerLPerPh(totals: Float64Array, ph: number, carbon: Carbon): number {
  const step = 1e-4
  const rise = alkalinityFromPh(totals, ph + step, carbon) - alkalinityFromPh(totals, ph - step, carbon)
  return rise / (2 * step)
}

/**
 * Total inorganic carbon that a closed water holds, mmol/L, from its pH and alkalinity, 25 °C.
 * It is 0 when the alkalinity is less than the water holds without carbon.
 *
 * @param ph 3 to 10.5
 */
export function inorganicCarbonMmolPerL(totals: Float64Array, ph: number, alkalinityMeqPerL: number): number {
  const gap = (carbon: number) => alkalinityFromPh(totals, ph, carbon) - alkalinityMeqPerL
  const none = gap(0)
  if (none >= 0) return 0
  // At low pH most carbon is free CO2 and brings nothing, so the bracket may have to grow far.
  let high = -none
  while (gap(high) < 0) high *= 2
  return rootBetween(gap, 0, high, 1e-10)
}

/** What one mmol of an acid or base adds to the water. */
export type Neutralizer = {
  readonly mmolPerMmol: Composition
  /** Strong cations minus strong anions: -1 for HNO3 and H3PO4, -2 for H2SO4, +1 for KOH, +2 for K2CO3. */
  readonly alkalinityMeqPerMmol: number
  readonly carbonateMmolPerMmol: number
}

/** The usual ones, by formula; any other by neutralizerOf. */
export const NEUTRALIZERS = {
  HNO3: { mmolPerMmol: { 'NO3-N': 1 }, alkalinityMeqPerMmol: -1, carbonateMmolPerMmol: 0 },
  H3PO4: { mmolPerMmol: { P: 1 }, alkalinityMeqPerMmol: -1, carbonateMmolPerMmol: 0 },
  H2SO4: { mmolPerMmol: { S: 1 }, alkalinityMeqPerMmol: -2, carbonateMmolPerMmol: 0 },
  KOH: { mmolPerMmol: { K: 1 }, alkalinityMeqPerMmol: 1, carbonateMmolPerMmol: 0 },
  KHCO3: { mmolPerMmol: { K: 1 }, alkalinityMeqPerMmol: 1, carbonateMmolPerMmol: 1 },
  K2CO3: { mmolPerMmol: { K: 2 }, alkalinityMeqPerMmol: 2, carbonateMmolPerMmol: 1 },
} as const satisfies Record<string, Neutralizer>

/** What one mmol of any acid or base adds, by its formula, or why the formula cannot be used. */
export function neutralizerOf(formula: string): Neutralizer | FormulaProblem {
  const read = readFormula(formula)
  const elements = formulaElements(formula)
  if (read.kind !== 'formula') return read
  if (elements.kind !== 'elements') return elements
  return {
    mmolPerMmol: elements.molPerMol,
    alkalinityMeqPerMmol: alkalinityMeqPerL(toVector(elements.molPerMol)),
    carbonateMmolPerMmol: read.groups.CO3,
  }
}

export type WaterState = {
  /** mmol/L in the order of ELEMENTS. */
  readonly totals: Float64Array
  readonly alkalinityMeqPerL: number
  readonly carbon: Carbon
}

export type NeutralizerNeed =
  | { readonly kind: 'dose'; readonly mmolPerL: number; readonly meqPerL: number }
  | { readonly kind: 'wrong-way'; readonly ph: number; readonly needs: 'acid' | 'base' }
  | { readonly kind: 'out-of-reach'; readonly triedMmolPerL: number }

/**
 * How much of an acid or base brings a water to a pH, 25 °C, reckoned without dilution.
 *
 * The phosphate, sulfate or carbonate that comes with the dose takes part in the chemistry. Closed carbon tells what
 * is seen in the first hour; open carbon what an aerated, recirculating water needs in the end, half as much again
 * for a bicarbonate water.
 *
 * @returns { kind: 'dose', mmolPerL, meqPerL }, meqPerL being the strong charge brought, positive for acid and base
 *   alike; 'wrong-way' when the water needs the opposite kind; 'out-of-reach' when 1000 mmol/L does not do
 */
export function neutralizerNeed(water: WaterState, targetPh: number, by: Neutralizer): NeutralizerNeed {
  const added = toVector(by.mmolPerMmol)
  const mixed = new Float64Array(ELEMENT_COUNT)
  const excess = (mmolPerL: number) => {
    for (let at = 0; at < ELEMENT_COUNT; at++) mixed[at] = water.totals[at]! + mmolPerL * added[at]!
    const carbon = water.carbon < 0 ? water.carbon : water.carbon + mmolPerL * by.carbonateMmolPerMmol
    const alkalinity = water.alkalinityMeqPerL + mmolPerL * by.alkalinityMeqPerMmol
    return alkalinity - alkalinityFromPh(mixed, targetPh, carbon)
  }
  const start = excess(0)
  if (start === 0) return { kind: 'dose', mmolPerL: 0, meqPerL: 0 }
  const needs = start > 0 ? 'acid' : 'base'
  if (needs !== (by.alkalinityMeqPerMmol < 0 ? 'acid' : 'base')) {
    return { kind: 'wrong-way', ph: phFromAlkalinity(water.totals, water.alkalinityMeqPerL, water.carbon), needs }
  }
  let high = Math.abs(start / by.alkalinityMeqPerMmol)
  while (excess(high) * start > 0 && high < DOSE_MAX_MMOL_PER_L) high *= 2
  if (excess(high) * start > 0) return { kind: 'out-of-reach', triedMmolPerL: high }
  const mmolPerL = rootBetween(excess, 0, high, 1e-10)
  return { kind: 'dose', mmolPerL, meqPerL: mmolPerL * Math.abs(by.alkalinityMeqPerMmol) }
}

/** Far beyond any water: beyond it the target is held to be out of reach. */
const DOSE_MAX_MMOL_PER_L = 1000
