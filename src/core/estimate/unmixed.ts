/**
 * Doses on their way from the injection point to the probes. A belief counts a dose the moment it is settled, the
 * probes meet it as it mixes; without this the difference would be taken for a fault of pump, probe or crop.
 */

import { conductivityGradient, GRADIENT_LENGTH } from '../../chemistry/conductivity.ts'
import { ELEMENT_COUNT } from '../../chemistry/element.ts'
import type { CoreSettings } from '../settings.ts'
import type { GridStep } from './grid-step.ts'
import { LOG_PCO2, VOLUME } from './layout.ts'
import { concentrations } from './measure.ts'

/** With its sign: what the probes will still see coming. */
export interface Unmixed {
  readonly dsPerM: number
  /** alkalinity, negative for acid */
  readonly meqPerL: number
}

export const NOTHING_UNMIXED: Unmixed = { dsPerM: 0, meqPerL: 0 }

export interface UnmixedInStep {
  /** in the middle of the step, where the median of its readings stands */
  readonly middle: Unmixed
  readonly end: Unmixed
}

const gradient = new Float64Array(GRADIENT_LENGTH)
const levels = new Float64Array(ELEMENT_COUNT)

/**
 * What is unmixed in a step, from what was before it and the doses settled in it. Mixing is first order and 95 % done
 * after the mixing time.
 */
export function unmixedIn(
  settings: CoreSettings,
  before: { readonly atMs: number; readonly mean: Float64Array; readonly ph: number; readonly unmixed: Unmixed },
  step: GridStep,
): UnmixedInStep {
  const middleMs = (before.atMs + step.endMs) / 2
  const left = (fromMs: number, untilMs: number): number =>
    untilMs <= fromMs ? 1 : Math.exp((-3 * (untilMs - fromMs)) / settings.reservoir.mixingMs)
  const middle = scaled(before.unmixed, left(before.atMs, middleMs))
  const end = scaled(before.unmixed, left(before.atMs, step.endMs))
  if (step.doses.length === 0) return { middle, end }
  conductivityGradient(concentrations(before.mean, levels), before.ph, before.mean[LOG_PCO2]!, gradient)
  for (const dose of step.doses) {
    const brought = broughtBy(settings, dose, before.mean[VOLUME]!)
    add(middle, brought, left(dose.atMs, middleMs))
    add(end, brought, left(dose.atMs, step.endMs))
  }
  return { middle, end }
}

function broughtBy(settings: CoreSettings, dose: GridStep['doses'][number], volumeL: number): Unmixed {
  const stock = settings.stocks[dose.stockIndex]
  if (!stock) return NOTHING_UNMIXED
  const mlPerL = (0.5 * (dose.lowMl + dose.highMl)) / volumeL
  let dsPerM = 0
  for (let at = 0; at < ELEMENT_COUNT; at++) dsPerM += gradient[at]! * stock.mmolPerMl[at]! * mlPerL
  return { dsPerM, meqPerL: stock.alkalinityMeqPerMl * mlPerL }
}

function scaled(unmixed: Unmixed, share: number): { dsPerM: number; meqPerL: number } {
  return { dsPerM: unmixed.dsPerM * share, meqPerL: unmixed.meqPerL * share }
}

function add(into: { dsPerM: number; meqPerL: number }, brought: Unmixed, share: number): void {
  into.dsPerM += brought.dsPerM * share
  into.meqPerL += brought.meqPerL * share
}
