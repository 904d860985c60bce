/** One grid step: mass balance, then everything that was measured in it, then laboratory values of bottles filled in it. */

import type { CohortSettings, CoreSettings } from '../settings.ts'
import type { FilterState } from './filter-state.ts'
import type { GridStep, StepLaboratory } from './grid-step.ts'
import { VOLUME } from './layout.ts'
import {
  conductivityMeasurement,
  elementMeasurement,
  levelMeasurement,
  phMeasurement,
  trueReadingPh,
} from './measure.ts'
import { NOISE } from './noise.ts'
import { predict } from './predict.ts'
import { unmixedIn } from './unmixed.ts'
import { type Belief, type ScalarMeasurement, updateOwned } from './update.ts'

/** A reading further off than this never moves the estimate. */
const GATE_SIGMAS = 5
/** A laboratory value further off reopens the element: the bottle is the better witness once the report was accepted. */
const REOPEN_SIGMAS = 3.5

/**
 * The belief at the end of a step.
 *
 * Depends on its arguments alone, so running the same steps again from the same belief gives the same bits: that is
 * what makes a late laboratory result worth exactly what an on-time one would have been.
 *
 * @param before the belief at the end of the step before
 */
export function advance(
  settings: CoreSettings,
  cohorts: readonly CohortSettings[],
  before: FilterState,
  step: GridStep,
): FilterState {
  return advanceTelling(settings, cohorts, before, step).filter
}

/** How far one measurement was from what was expected of it, in standard deviations of that difference. */
export interface Surprise {
  readonly of: 'level' | 'ph' | 'conductivity' | 'laboratory'
  readonly sigmas: number
  /** natural logarithm of the variance that the sigmas are counted in; two beliefs are compared by both */
  readonly logVariance: number
}

/** The same, with every surprise on the way: what a diagnosis compares its explanations by. */
export function advanceTelling(
  settings: CoreSettings,
  cohorts: readonly CohortSettings[],
  before: FilterState,
  step: GridStep,
): { readonly filter: FilterState; readonly surprises: readonly Surprise[] } {
  const surprises: Surprise[] = []
  // The prediction’s arrays are this step’s own; what is measured is written into them until the step is returned.
  const belief = predict(settings, cohorts, before, step)
  const fold = (of: Surprise['of'], measurement: ScalarMeasurement | undefined): void => {
    if (measurement === undefined) return
    const { sigmas, logVariance } = updateOwned(belief, measurement, GATE_SIGMAS)
    surprises.push({ of, sigmas, logVariance })
  }
  const unmixed = unmixedIn(settings, before, step)
  let ph = before.ph
  if (step.levelL !== undefined && isFlowKnown(settings, step)) {
    const volumeL = step.levelL + (step.flowing === false ? 0 : settings.reservoir.filmL)
    fold('level', levelMeasurement(belief.mean, volumeL, levelNoiseL(settings, volumeL)))
  }
  if (step.ph !== undefined) {
    const noise = {
      ph: fusedNoise(settings, 'ph'),
      unmixedMeqPerL: unmixed.middle.meqPerL,
      lastPh: before.ph,
    }
    fold('ph', phMeasurement(belief.mean, step.ph, noise))
    ph = trueReadingPh(belief.mean, step.ph)
  }
  if (step.conductivityDsPerM !== undefined) {
    const noise = { relative: fusedNoise(settings, 'conductivity'), unmixedDsPerM: unmixed.middle.dsPerM }
    fold('conductivity', conductivityMeasurement(belief.mean, ph, step.conductivityDsPerM, noise))
  }
  for (const laboratory of step.laboratory) foldLaboratory(belief, laboratory, surprises)
  const { mean, covariance } = belief
  return { filter: { atMs: step.endMs, mean, covariance, unmixed: unmixed.end, ph }, surprises }
}

/** A level tells the volume only where it is known whether the film hangs in the channels or lies in the tank. */
function isFlowKnown(settings: CoreSettings, step: GridStep): boolean {
  return step.flowing !== undefined || !settings.probes.some((probe) => probe.role === 'flow')
}

function levelNoiseL(settings: CoreSettings, volumeL: number): number {
  const probe = settings.probes.find((candidate) => candidate.role === 'level')
  // The still surface is never read to better than a few millimetres, however many readings are fused.
  return Math.max(probe?.noiseSd ?? 0, 0.003 * volumeL)
}

function fusedNoise(settings: CoreSettings, role: 'ph' | 'conductivity'): number {
  const probe = settings.probes.find((candidate) => candidate.role === role)
  return (probe?.noiseSd ?? (role === 'ph' ? 0.03 : 0.01)) * NOISE.fusedNoiseShare
}

/**
 * Values of one bottle. One that surprises beyond REOPEN_SIGMAS widens what was believed of that element first: a
 * gate here would let a wrong crop prior win over the laboratory for weeks.
 */
function foldLaboratory(belief: Belief, laboratory: StepLaboratory, surprises: Surprise[]): void {
  for (const { elementIndex, mmolPerL, sdMmolPerL } of laboratory.values) {
    const measured = (): ScalarMeasurement => elementMeasurement(belief.mean, elementIndex, mmolPerL, sdMmolPerL)
    const first = measured()
    const { isTaken, sigmas, logVariance } = updateOwned(belief, first, REOPEN_SIGMAS)
    surprises.push({ of: 'laboratory', sigmas, logVariance })
    if (isTaken || !Number.isFinite(first.innovation)) continue
    reopen(belief, elementIndex, first.innovation)
    updateOwned(belief, measured(), REOPEN_SIGMAS)
  }
}

function reopen({ mean, covariance }: Belief, elementIndex: number, innovationMmolPerL: number): void {
  covariance[elementIndex * mean.length + elementIndex]! += (innovationMmolPerL * mean[VOLUME]!) ** 2
}
