/** One grid step: mass balance, then everything that was measured in it, then laboratory values of bottles filled in it. */

import type { CohortSettings, CoreSettings } from '../settings.ts'
import { bottleAfter, bottleMeasurement } from './bottle.ts'
import { excessAtPh, heldCo2MmolPerL } from './carbon-dioxide.ts'
import type { FilterState } from './filter-state.ts'
import { foldLaboratory } from './fold-laboratory.ts'
import type { GridStep, StepAct } from './grid-step.ts'
import { hasLevel } from './make-up.ts'
import { conductivityMeasurement, levelMeasurement, phMeasurement, trueReadingPh } from './measure.ts'
import {
  afterCalibration,
  type FilterMemory,
  NO_STRAIN,
  type Strain,
  walkedAfter,
  withoutAppetite,
  withWalked,
} from './memory.ts'
import { NOISE } from './noise.ts'
import { holdWithinEnds } from './physical-ends.ts'
import { predict } from './predict.ts'
import {
  type Evidence,
  type Gave,
  giveWayToConductivity,
  giveWayToLevel,
  giveWayToPh,
  strained,
  strainedProbe,
} from './reopen.ts'
import { judgeSpot, rememberSpot, type SpottedBelief, type StepSpot } from './spot.ts'
import { type Unmixed, type UnmixedInStep, unmixedIn } from './unmixed.ts'
import { type Belief, type ScalarMeasurement, updateOwned } from './update.ts'

/**
 * How well a float valve that has just run holds the nominal volume, share of it. Wide, since it stands for one error of
 * the nominal volume behind many bursts. A judgement.
 */
const VALVE_RELATIVE = 0.02
/** A reading further off than this never moves the estimate. */
const GATE_SIGMAS = 5

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
  readonly of: 'level' | 'ph' | 'conductivity' | 'laboratory' | 'spot' | 'bottle'
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
  const unmixed = unmixedIn(settings, before, step)
  const known = { ...before, memory: step.acts.reduce(calibrated, before.memory) }
  const seen = foldProbes(settings, belief, { before: known, step, ...inMiddle(before, belief, unmixed) }, surprises)
  let memory = bookBottles(settings, belief, seen.memory, step, surprises)
  for (const laboratory of step.laboratory) memory = foldLaboratory(settings, belief, memory, laboratory, surprises)
  const now = { ...belief, ph: seen.ph, carbonExcessMmolPerL: excessAtPh(belief, seen.ph) }
  for (const spot of step.spots ?? []) memory = foldSpot(now, memory, spot, surprises)
  holdWithinEnds(settings, belief)
  return { filter: { ...now, unmixed: unmixed.end, memory }, surprises }
}

/** What the probes do not see yet, and what the air has yet to take, where the median of a step’s readings stands. */
function inMiddle(before: FilterState, after: FilterState, { middle }: UnmixedInStep): Omit<Moment, 'before' | 'step'> {
  const carbonExcessMmolPerL = 0.5 * (before.carbonExcessMmolPerL + after.carbonExcessMmolPerL)
  return { unmixed: middle, heldCo2MmolPerL: heldCo2MmolPerL({ ...after, carbonExcessMmolPerL }) }
}

function calibrated(memory: FilterMemory, act: StepAct): FilterMemory {
  if (act.act === 'learning-reset') return withoutAppetite(memory)
  return act.act === 'calibrated' ? afterCalibration(memory, act.role) : memory
}

type ProbeName = keyof Strain

interface Moment {
  readonly before: FilterState
  readonly step: GridStep
  readonly unmixed: Unmixed
  readonly heldCo2MmolPerL: number
}

/** Level, pH and conductivity in this order, and what gives way where one has disagreed for long. */
function foldProbes(
  settings: CoreSettings,
  belief: Belief,
  moment: Moment,
  surprises: Surprise[],
): { readonly ph: number; readonly memory: FilterMemory } {
  const { before, step } = moment
  const { memory } = before
  const strain: Record<ProbeName, number> = { ...memory.strain }
  const fold = (of: ProbeName, measurement: ScalarMeasurement | undefined): void => {
    if (measurement === undefined) return
    const { isTaken, sigmas, logVariance } = updateOwned(belief, measurement, GATE_SIGMAS)
    surprises.push({ of, sigmas, logVariance })
    // How much of the film really drained back is a guess: with the flow stopped no level proves that solution is gone.
    if (of === 'level' && step.flowing === false) return
    strain[of] = strained(strain[of], isTaken, measurement.innovation)
  }
  if (!hasLevel(settings)) holdByValve(settings, belief, step)
  fold('level', levelOf(settings, belief.mean, step, memory.levelShiftL))
  fold('ph', phOf(settings, belief.mean, moment))
  const ph = step.ph === undefined ? before.ph : trueReadingPh(belief.mean, step.ph)
  fold('conductivity', conductivityOf(settings, belief.mean, moment, ph))
  const worn = strainedProbe(strain)
  if (!worn) return { ph, memory: { ...memory, strain: sameStrain(memory.strain, strain) } }
  const gave = giveWay(settings, belief, moment, worn)
  const reopened = { atMs: step.endMs, cause: gave.cause, amount: gave.amount }
  const levelShiftL = memory.levelShiftL + (gave.shiftL ?? 0)
  const walked = walkedAfter(memory.walked, reopened)
  return { ph, memory: withWalked({ ...memory, strain: NO_STRAIN, levelShiftL, reopened }, walked) }
}

/** A meter without a level: the valve has filled up, so what was metered since it last did is what was drawn. */
function holdByValve({ reservoir }: CoreSettings, belief: Belief, { topUpL = 0 }: GridStep): void {
  if (!(topUpL > 0)) return
  const full = levelMeasurement(belief.mean, reservoir.volumeL, VALVE_RELATIVE * reservoir.volumeL)
  updateOwned(belief, full, GATE_SIGMAS)
}

/** The very same object while nothing changed: beliefs are kept by the hundred. */
function sameStrain(kept: Strain, now: Strain): Strain {
  return kept.level === now.level && kept.ph === now.ph && kept.conductivity === now.conductivity ? kept : now
}

function giveWay(settings: CoreSettings, belief: Belief, moment: Moment, worn: ProbeName): Gave {
  const { before, step } = moment
  const { ph } = before
  const evidence: Evidence = {
    settings,
    shiftL: before.memory.levelShiftL,
    ph,
    topUpL: step.topUpL ?? 0,
    phOf: (mean) => phOf(settings, mean, moment),
    conductivityOf: (mean) => conductivityOf(settings, mean, moment, ph),
  }
  if (worn === 'level') {
    const level = levelOf(settings, belief.mean, step, before.memory.levelShiftL)
    return giveWayToLevel(belief, level?.innovation ?? 0, evidence)
  }
  if (worn === 'conductivity') {
    const reading = step.conductivityDsPerM ?? 0
    const expected = reading - (conductivityOf(settings, belief.mean, moment, ph)?.innovation ?? 0)
    return giveWayToConductivity(belief, reading / expected, evidence)
  }
  return giveWayToPh(belief, phOf(settings, belief.mean, moment)?.innovation ?? 0)
}

function levelOf(
  settings: CoreSettings,
  mean: Float64Array,
  step: GridStep,
  shiftL: number,
): ScalarMeasurement | undefined {
  if (step.levelL === undefined || !isFlowKnown(settings, step)) return undefined
  const volumeL = step.levelL - shiftL + (step.flowing === false ? 0 : settings.reservoir.filmL)
  return levelMeasurement(mean, volumeL, levelNoiseL(settings, volumeL))
}

function phOf(settings: CoreSettings, mean: Float64Array, moment: Moment): ScalarMeasurement | undefined {
  const { before, step, unmixed, heldCo2MmolPerL } = moment
  if (step.ph === undefined) return undefined
  const noise = { ph: fusedNoise(settings, 'ph'), unmixedMeqPerL: unmixed.meqPerL, lastPh: before.ph, heldCo2MmolPerL }
  return phMeasurement(mean, step.ph, noise)
}

function conductivityOf(
  settings: CoreSettings,
  mean: Float64Array,
  { step, unmixed, heldCo2MmolPerL }: Moment,
  ph: number,
): ScalarMeasurement | undefined {
  if (step.conductivityDsPerM === undefined) return undefined
  const noise = { relative: fusedNoise(settings, 'conductivity'), unmixedDsPerM: unmixed.dsPerM, heldCo2MmolPerL }
  return conductivityMeasurement(mean, ph, step.conductivityDsPerM, noise)
}

/** What left the bottles by the book, and what a scale says of it. */
function bookBottles(
  settings: CoreSettings,
  belief: Belief,
  before: FilterMemory,
  step: GridStep,
  surprises: Surprise[],
): FilterMemory {
  let memory = before
  for (const { stockIndex, lowMl, highMl } of step.doses)
    memory = bottleAfter(memory, stockIndex, { givenMl: 0.5 * (lowMl + highMl) })
  for (const act of step.acts) {
    if (act.act === 'stock-refilled') memory = bottleAfter(memory, act.stockIndex, { massG: null })
    if (act.act !== 'bottle-weighed') continue
    const measurement = bottleMeasurement(settings.stocks[act.stockIndex]!, belief.mean, memory, act)
    if (measurement) {
      const { sigmas, logVariance } = updateOwned(belief, measurement, GATE_SIGMAS)
      surprises.push({ of: 'bottle', sigmas, logVariance })
    }
    memory = bottleAfter(memory, act.stockIndex, { massG: act.massG })
  }
  return memory
}

function foldSpot(belief: SpottedBelief, memory: FilterMemory, spot: StepSpot, surprises: Surprise[]): FilterMemory {
  const verdict = judgeSpot(belief, memory, spot)
  if (verdict.kind !== 'wild') {
    const { sigmas, logVariance } = updateOwned(belief, verdict.measurement, GATE_SIGMAS)
    surprises.push({ of: 'spot', sigmas, logVariance })
  }
  return rememberSpot(memory, spot, verdict)
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
