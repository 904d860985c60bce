/** Values of one bottle, folded into a belief that is being made. */

import { CHARGE_PER_MMOL } from '../../chemistry/alkalinity.ts'
import type { CoreSettings } from '../settings.ts'
import type { Surprise } from './advance.ts'
import { appetiteVariance, NO_SURPRISES, scaleAppetites, surprisedBy } from './appetite-doubt.ts'
import type { StepLaboratory, StepLaboratoryValue } from './grid-step.ts'
import { UNTRACKED, VOLUME } from './layout.ts'
import { elementMeasurement } from './measure.ts'
import type { FilterMemory } from './memory.ts'
import { type Belief, innovationVariance, type ScalarMeasurement, updateOwned } from './update.ts'

/** A laboratory value further off reopens the element: the bottle is the better witness once the report was accepted. */
const REOPEN_SIGMAS = 3.5

/**
 * Folds the values of one bottle. One that surprises beyond REOPEN_SIGMAS widens what was believed of that element
 * first: a gate here would let a wrong crop prior win over the laboratory for weeks.
 *
 * What one report may change is bounded: a value that would move its element further is given only the weight that
 * moves it so far, and the element stays as doubtful as the rest of the way is long, until a second report agrees.
 *
 * @param surprises told of every value
 * @returns the memory after it; the belief is written
 */
export function foldLaboratory(
  settings: CoreSettings,
  belief: Belief,
  memory: FilterMemory,
  laboratory: StepLaboratory,
  surprises: Surprise[],
): FilterMemory {
  const sampledMs = memory.sampledMs.slice()
  const waiting = memory.waiting.slice()
  const known = memory.appetite ?? NO_SURPRISES
  let appetite = known
  for (const value of laboratory.values) {
    const { elementIndex, mmolPerL, sdMmolPerL } = value
    const measured = (): ScalarMeasurement => elementMeasurement(belief.mean, elementIndex, mmolPerL, sdMmolPerL)
    const first = measured()
    if (!Number.isFinite(first.innovation)) continue
    const variance = innovationVariance(belief, first)
    const sigmas = Math.abs(first.innovation) / Math.sqrt(variance)
    surprises.push({ of: 'laboratory', sigmas, logVariance: Math.log(variance) })
    appetite = surprisedBy(appetite, { elementIndex, sigmas, believedShare: 1 - first.noiseVariance / variance })
    if (sigmas > REOPEN_SIGMAS) reopen(belief, elementIndex, first.innovation)
    const isSeconded = waiting[elementIndex]! * first.innovation > 0
    const given = isSeconded ? first : bounded(settings, belief, first, value)
    updateOwned(belief, given, Number.POSITIVE_INFINITY)
    waiting[elementIndex] = given === first ? 0 : measured().innovation
    sampledMs[elementIndex] = Math.max(sampledMs[elementIndex]!, laboratory.sampledAtMs)
  }
  scaleAppetites(belief, appetiteVariance({ appetite }) / appetiteVariance({ appetite: known }))
  return { ...memory, sampledMs, waiting, appetite: { ...appetite, bottles: known.bottles + 1 } }
}

/** The same measurement with so much noise that it moves the element no further than one report may. */
function bounded(
  settings: CoreSettings,
  belief: Belief,
  measurement: ScalarMeasurement,
  { elementIndex }: StepLaboratoryValue,
): ScalarMeasurement {
  const level = belief.mean[elementIndex]! / belief.mean[VOLUME]!
  const aim = settings.crops.reduce((most, crop) => Math.max(most, crop.bands[elementIndex]?.aim ?? 0), 0)
  const mostMmolPerL = settings.reportChangeMaxShare[elementIndex]! * Math.max(level, aim)
  const variance = innovationVariance(belief, measurement)
  const believed = variance - measurement.noiseVariance
  const move = (believed / variance) * Math.abs(measurement.innovation)
  if (!(mostMmolPerL > 0) || !(move > mostMmolPerL)) return measurement
  return { ...measurement, noiseVariance: believed * (Math.abs(measurement.innovation) / mostMmolPerL - 1) }
}

/**
 * Doubt about an element as wide as its surprise, at the same charge: pH has told all along what the charges sum to, so
 * whatever this element was wrong by, something else carried. Without that the next pH reading would take the surprise
 * back, and more, through slopes that no longer hold there.
 */
function reopen({ mean, covariance }: Belief, elementIndex: number, innovationMmolPerL: number): void {
  const n = mean.length
  const mmol = innovationMmolPerL * mean[VOLUME]!
  const meq = -CHARGE_PER_MMOL[elementIndex]! * mmol
  covariance[elementIndex * n + elementIndex]! += mmol * mmol
  covariance[UNTRACKED * n + UNTRACKED]! += meq * meq
  covariance[elementIndex * n + UNTRACKED]! += mmol * meq
  covariance[UNTRACKED * n + elementIndex]! += mmol * meq
}
