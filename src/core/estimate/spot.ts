/**
 * A person’s handheld reading. Its own error shares one bias over all readings of that person and kind, so it is on
 * probation until it has agreed with an estimate that a laboratory confirmed: until then it says little, and a wild one
 * nothing.
 */

import { ELEMENT_INDEX, type ElementName } from '../../chemistry/element.ts'
import { type CarbonState, heldCo2MmolPerL } from './carbon-dioxide.ts'
import { CONDUCTIVITY_GAIN, CONDUCTIVITY_SHAPE, PH_OFFSET, VOLUME } from './layout.ts'
import { conductivityMeasurement, elementMeasurement, phMeasurement, trueReadingPh } from './measure.ts'
import type { FilterMemory, SpotTrust } from './memory.ts'
import { type Belief, innovationVariance, type ScalarMeasurement } from './update.ts'

export interface StepSpot {
  readonly by: string
  readonly quantity: ElementName | 'conductivity' | 'ph'
  /** mmol/L, dS/m at 25 °C or pH */
  readonly value: number
  /** its own standard deviation, in the same unit, without the bias of device and person */
  readonly sd: number
  readonly readAtMs: number
}

/** Bias that a handheld device in practised hands keeps once it has proved itself, and what it may have before. Judgement. */
const BIAS = {
  element: { trusted: 0.06, probation: 0.2 },
  conductivity: { trusted: 0.02, probation: 0.05 },
  ph: { trusted: 0.05, probation: 0.15 },
} as const
/** Agreements with a laboratory-confirmed estimate that end the probation. Judgement. */
export const PROBATION_READINGS = 3
/** An estimate counts as confirmed so long after a bottle of that element was filled. */
const CONFIRMED_MS = 3 * 86_400_000
const AGREES_SIGMAS = 2
const WILD_SIGMAS = 4
const DAY_MS = 86_400_000

export type SpotVerdict =
  | { readonly kind: 'trusted' | 'probation'; readonly sigmas: number; readonly measurement: ScalarMeasurement }
  | { readonly kind: 'wild'; readonly sigmas: number }

/** Readings of one person and one kind stand or fall together. */
export function spotSource(spot: Pick<StepSpot, 'by' | 'quantity'>): string {
  return `${spot.by}/${spot.quantity}`
}

/** What a reading is judged by: the belief, and the water it was taken from. */
export type SpottedBelief = Belief & CarbonState

/** How a reading stands to the belief, and the measurement it is worth. */
export function judgeSpot(belief: SpottedBelief, memory: FilterMemory, spot: StepSpot): SpotVerdict {
  const trust = memory.spots[spotSource(spot)]
  const isTrusted = (trust?.agreed ?? 0) >= PROBATION_READINGS
  // Readings of one day share the day’s bias: the second of them is half a witness, the third a third.
  const crowd = 1 + inDayOf(trust, spot.readAtMs)
  const sd = Math.hypot(spot.sd, biasOf(belief, spot, isTrusted)) * Math.sqrt(crowd)
  const measurement = measured(belief, spot, sd)
  if (!measurement) return { kind: 'wild', sigmas: Number.POSITIVE_INFINITY }
  const sigmas = Math.abs(measurement.innovation) / Math.sqrt(innovationVariance(belief, measurement))
  if (!(sigmas <= WILD_SIGMAS)) return { kind: 'wild', sigmas }
  return { kind: isTrusted ? 'trusted' : 'probation', sigmas, measurement }
}

/** The memory after a reading: one more of its day, and one more agreement where a laboratory stands behind it. */
export function rememberSpot(memory: FilterMemory, spot: StepSpot, verdict: SpotVerdict): FilterMemory {
  const source = spotSource(spot)
  const trust = memory.spots[source]
  const agreed = trust?.agreed ?? 0
  const isConfirmed = isLaboratoryBehind(memory, spot)
  const after: SpotTrust = {
    // A wild reading beside a fresh laboratory value puts its source back on probation.
    agreed:
      verdict.kind === 'wild'
        ? isConfirmed
          ? 0
          : agreed
        : agreed + (isConfirmed && verdict.sigmas <= AGREES_SIGMAS ? 1 : 0),
    inDay: inDayOf(trust, spot.readAtMs) + 1,
    lastMs: spot.readAtMs,
  }
  return { ...memory, spots: { ...memory.spots, [source]: after } }
}

function inDayOf(trust: SpotTrust | undefined, readAtMs: number): number {
  return trust && readAtMs - trust.lastMs < DAY_MS ? trust.inDay : 0
}

/** EC and pH are judged against all elements, so any fresh bottle stands behind them. */
function isLaboratoryBehind({ sampledMs }: FilterMemory, { quantity, readAtMs }: StepSpot): boolean {
  const newestMs =
    quantity === 'conductivity' || quantity === 'ph' ? Math.max(...sampledMs) : sampledMs[ELEMENT_INDEX[quantity]]!
  return newestMs > 0 && readAtMs - newestMs <= CONFIRMED_MS
}

function biasOf({ mean }: Belief, { quantity, value }: StepSpot, isTrusted: boolean): number {
  const kind = quantity === 'conductivity' || quantity === 'ph' ? quantity : 'element'
  const bias = BIAS[kind][isTrusted ? 'trusted' : 'probation']
  if (kind === 'ph') return bias
  // A share of the lesser of the two: a wild value must not excuse itself by its own size.
  if (quantity === 'ph' || quantity === 'conductivity') return bias * value
  return bias * Math.min(value, Math.max(mean[ELEMENT_INDEX[quantity]]! / mean[VOLUME]!, 0))
}

/** A device of its own: it has nothing of the gain and offset of the probes in the tank. */
function measured(belief: SpottedBelief, spot: StepSpot, sd: number): ScalarMeasurement | undefined {
  const { quantity, value } = spot
  const { ph } = belief
  if (quantity !== 'conductivity' && quantity !== 'ph')
    return elementMeasurement(belief.mean, ELEMENT_INDEX[quantity], value, sd)
  const bare = belief.mean.slice()
  for (const at of PROBE_BIASES) bare[at] = 0
  const water = { unmixedMeqPerL: 0, unmixedDsPerM: 0, heldCo2MmolPerL: heldCo2MmolPerL(belief) }
  const measurement =
    quantity === 'ph'
      ? phMeasurement(bare, value, { ...water, ph: sd, lastPh: ph })
      : conductivityMeasurement(bare, trueReadingPh(bare, ph), value, { ...water, relative: sd / value })
  return measurement && withoutPlaces(measurement, PROBE_BIASES)
}

const PROBE_BIASES: readonly number[] = [CONDUCTIVITY_GAIN, CONDUCTIVITY_SHAPE, PH_OFFSET]

function withoutPlaces(measurement: ScalarMeasurement, left: readonly number[]): ScalarMeasurement {
  const kept = measurement.places.flatMap((place, at) => (left.includes(place) ? [] : [at]))
  return {
    ...measurement,
    places: kept.map((at) => measurement.places[at]!),
    slopes: kept.map((at) => measurement.slopes[at]!),
  }
}
