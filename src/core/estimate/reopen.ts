/**
 * Readings that disagree with the estimate for an hour, all in one direction, are right about something: solution was
 * lost, water came in, or a probe moved. The estimate goes where the explanation lies that the other probes support, and
 * half the way of each where they cannot tell, with doubt along the line between the two. It must go there at once: one
 * large correction through slopes taken far away overshoots, and the next one swings back.
 */

import { ELEMENT_COUNT } from '../../chemistry/element.ts'
import type { CoreSettings, WaterSettings } from '../settings.ts'
import { CONDUCTIVITY_GAIN, PH_OFFSET, UNTRACKED, VOLUME } from './layout.ts'
import { predictedConductivityDsPerM } from './measure.ts'
import type { ReopenCause, Strain } from './memory.ts'
import { type Belief, innovationVariance, type ScalarMeasurement } from './update.ts'

/** Six steps of ten minutes: longer than a splash, a bubble or a person at the tank. Judgement. */
export const STRAIN_STEPS = 6
/** One explanation is preferred where it fits by so much more (two standard deviations). */
const DECIDES = 4
/** Part of a lost or added volume that stays doubtful, so that the readings that follow can correct it. Judgement. */
const VOLUME_DOUBT = 0.3
/** Half of the way to an overflow that took all it took at the start stays doubtful. Judgement. */
const OVERFLOW_DOUBT = 0.5
/** A reservoir holds more than it loses in an hour by so much. Judgement. */
const OVERFLOW_LEAST_TIMES = 1.5
/** A level probe may have moved by this share of the volume in all; then a person must set it right. Judgement. */
const SHIFT_MOST_SHARE = 0.15
/** A fall by more than so many times what was taken off is solution lost, whatever the probe did. Judgement. */
const RETURN_MOST_TIMES = 1.5
/** Charge that acid or base nobody wrote down may have brought, meq/L. Judgement. */
const UNTRACKED_DOUBT_MEQ_PER_L = 0.3

/** The run of rejected readings of one probe after one more of them; it begins anew when the direction changes. */
export function strained(steps: number, isTaken: boolean, innovation: number): number {
  if (isTaken || !Number.isFinite(innovation)) return 0
  const sign = Math.sign(innovation)
  return Math.sign(steps) === sign ? steps + sign : sign
}

/** Which probe has disagreed long enough, the level before the others, since a volume explains them too. */
export function strainedProbe(strain: Strain): keyof Strain | undefined {
  return (['level', 'conductivity', 'ph'] as const).find((probe) => Math.abs(strain[probe]) >= STRAIN_STEPS)
}

export interface Evidence {
  readonly settings: CoreSettings
  /** what is taken off the level already, L */
  readonly shiftL: number
  readonly ph: number
  /** water metered in this step, L */
  readonly topUpL: number
  /** how a belief stands to this step’s pH reading; undefined where there is none */
  readonly phOf: (mean: Float64Array) => ScalarMeasurement | undefined
  readonly conductivityOf: (mean: Float64Array) => ScalarMeasurement | undefined
}

export interface Gave {
  readonly cause: ReopenCause
  readonly amount: number
  /** litres to take off the level from now on */
  readonly shiftL?: number
}

/** The level disagrees by so many litres. Writes into the belief. */
export function giveWayToLevel(belief: Belief, litres: number, evidence: Evidence): Gave {
  const { mean } = belief
  if (litres < 0) {
    const { shiftL } = evidence
    // What was taken off the level is given back first: a probe that comes back must not count as solution lost, or its
    // ups and downs would ratchet the volume to nothing.
    if (shiftL > 0 && litres > -RETURN_MOST_TIMES * shiftL)
      return { cause: 'level-probe-returned', amount: -litres, shiftL: Math.max(litres, -shiftL) }
    const weaker = weakerByOverflow(mean[VOLUME]!, -litres, evidence.topUpL)
    // A drain takes all alike: no concentration becomes doubtful, whether the solution is gone or the probe sank.
    const lost = mixture(mean, (at) => (at <= UNTRACKED ? mean[at]! * (1 + litres / mean[VOLUME]!) : mean[at]!))
    moveTo(belief, lost)
    addDirection(
      belief,
      mixture(lost, (at) => (at <= UNTRACKED && at !== VOLUME ? lost[at]! * weaker : lost[at]!)),
      OVERFLOW_DOUBT,
    )
    return { cause: 'solution-lost', amount: -litres }
  }
  const wetter = mixture(mean, (at) => mean[at]! + broughtBy(evidence.settings.source, at, litres))
  const better = misfit(belief, mean, evidence) - misfit(belief, wetter, evidence)
  // A probe that sank further each time would let the believed volume dwindle: beyond this it is the level that is right.
  const shiftL = Math.abs(evidence.shiftL + litres)
  if (better > DECIDES || shiftL > SHIFT_MOST_SHARE * evidence.settings.reservoir.volumeL) {
    moveTo(belief, wetter)
    return { cause: 'water-added', amount: litres }
  }
  if (better < -DECIDES) return { cause: 'level-probe-moved', amount: litres, shiftL: litres }
  // Concentrations stay where they are, since a dose for water that never came would be one too many.
  addDirection(belief, wetter, VOLUME_DOUBT)
  return { cause: 'water-or-level-probe', amount: litres, shiftL: litres }
}

/**
 * What overflows while water still comes in is stronger than what stays. Salts left, over what an even drain would have
 * left, had all of it gone before the water of these steps came.
 */
function weakerByOverflow(volumeL: number, lostL: number, topUpL: number): number {
  const beforeL = Math.max(volumeL - STRAIN_STEPS * topUpL, OVERFLOW_LEAST_TIMES * lostL)
  return beforeL >= volumeL ? 1 : (1 - lostL / beforeL) / (1 - lostL / volumeL)
}

/** Conductivity disagrees by this factor (read over expected). Writes into the belief. */
export function giveWayToConductivity(belief: Belief, ratio: number, evidence: Evidence): Gave {
  const { mean } = belief
  const walked = mixture(mean, (at) => mean[at]! + (at === CONDUCTIVITY_GAIN ? Math.log(ratio) : 0))
  if (ratio > 1) {
    // No water raises conductivity: the probe walked, or somebody added salt.
    const saltier = mixture(mean, (at) => (at < ELEMENT_COUNT ? mean[at]! * ratio : mean[at]!))
    moveBetween(belief, walked, saltier)
    return { cause: 'salt-or-conductivity-probe', amount: ratio - 1 }
  }
  const share = dilutionOf(mean, ratio, evidence)
  const volumeL = mean[VOLUME]!
  const diluted = mixture(mean, (at) =>
    at === VOLUME || at > UNTRACKED
      ? mean[at]!
      : mean[at]! * (1 - share) + broughtBy(evidence.settings.source, at, share * volumeL),
  )
  const better = misfitOf(belief, evidence.phOf(mean)) - misfitOf(belief, evidence.phOf(diluted))
  if (better > DECIDES) {
    moveTo(belief, diluted)
    return { cause: 'diluted', amount: share }
  }
  if (better < -DECIDES) {
    moveTo(belief, walked)
    return { cause: 'conductivity-probe', amount: 1 - ratio }
  }
  moveBetween(belief, walked, diluted)
  return { cause: 'diluted-or-conductivity-probe', amount: share }
}

/** pH alone disagrees: the probe walked, or acid or base went in that nobody wrote down. Writes into the belief. */
export function giveWayToPh(belief: Belief, difference: number): Gave {
  const n = belief.mean.length
  moveTo(
    belief,
    mixture(belief.mean, (at) => belief.mean[at]! + (at === PH_OFFSET ? difference : 0)),
  )
  belief.covariance[UNTRACKED * n + UNTRACKED]! += (UNTRACKED_DOUBT_MEQ_PER_L * belief.mean[VOLUME]!) ** 2
  return { cause: 'ph-probe', amount: difference }
}

/** Share of the solution that water must have taken the place of, from conductivity alone. */
function dilutionOf(mean: Float64Array, ratio: number, { settings, ph }: Evidence): number {
  const water = mixture(mean, (at) => (at <= UNTRACKED ? broughtBy(settings.source, at, mean[VOLUME]!) : mean[at]!))
  const sourceRatio = predictedConductivityDsPerM(water, ph) / predictedConductivityDsPerM(mean, ph)
  return Math.min(0.95, Math.max(0, (1 - ratio) / Math.max(1 - sourceRatio, 0.05)))
}

function broughtBy(source: WaterSettings, at: number, litres: number): number {
  if (at === VOLUME) return litres
  if (at === UNTRACKED) return source.untrackedMeqPerL * litres
  return at < ELEMENT_COUNT ? source.mmolPerL[at]! * litres : 0
}

function mixture(mean: Float64Array, at: (place: number) => number): Float64Array {
  return mean.map((_value, place) => at(place))
}

/** The mean goes where the explanation says; part of the way stays doubtful. */
function moveTo(belief: Belief, mean: Float64Array): void {
  addDirection(belief, mean, VOLUME_DOUBT)
  belief.mean.set(mean)
}

/** The mean goes half of each way, and either end is one standard deviation off. */
function moveBetween(belief: Belief, one: Float64Array, other: Float64Array): void {
  const { mean } = belief
  const middle = mixture(mean, (at) => 0.5 * (one[at]! + other[at]!))
  mean.set(middle)
  addDirection(belief, one, 1)
}

/** Doubt along the whole way from the mean to another, as so many standard deviations. */
function addDirection({ mean, covariance }: Belief, toward: Float64Array, sds: number): void {
  const n = mean.length
  const way = toward.map((value, at) => sds * (value - mean[at]!))
  for (let row = 0; row < n; row++) {
    if (way[row] === 0) continue
    for (let column = 0; column < n; column++) covariance[row * n + column]! += way[row]! * way[column]!
  }
}

/** Squared deviations of pH and conductivity under a mean. */
function misfit(belief: Belief, mean: Float64Array, { phOf, conductivityOf }: Evidence): number {
  return misfitOf(belief, phOf(mean)) + misfitOf(belief, conductivityOf(mean))
}

function misfitOf(belief: Belief, measurement: ScalarMeasurement | undefined): number {
  return measurement ? measurement.innovation ** 2 / innovationVariance(belief, measurement) : 0
}
