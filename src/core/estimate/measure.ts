/** What each probe says about the unknowns, linear about the present mean. */

import { alkalinityFromPh, phFromAlkalinity } from '../../chemistry/acidity.ts'
import { alkalinityMeqPerL, CHARGE_PER_MMOL } from '../../chemistry/alkalinity.ts'
import { conductivityGradient, GRADIENT_LENGTH, GRADIENT_PH_INDEX } from '../../chemistry/conductivity.ts'
import { ELEMENT_COUNT, ELEMENT_INDEX } from '../../chemistry/element.ts'
import { blankSpeciation, speciate, speciateNear } from '../../chemistry/speciation.ts'
import { logPco2At } from './carbon-dioxide.ts'
import { CONDUCTIVITY_GAIN, CONDUCTIVITY_SHAPE, LOG_PCO2, PH_OFFSET, UNTRACKED, VOLUME } from './layout.ts'
import { NOISE } from './noise.ts'
import type { ScalarMeasurement } from './update.ts'

/** How wrong the share still unmixed may be: mixing is never quite first order. A judgement. */
const MIXING_DOUBT = 0.4

const gradient = new Float64Array(GRADIENT_LENGTH)
const origin = blankSpeciation()
const nearby = blankSpeciation()

/** Concentrations of a mean, mmol/L, into `into`. */
export function concentrations(mean: Float64Array, into: Float64Array): Float64Array {
  const perLitre = 1 / mean[VOLUME]!
  for (let at = 0; at < ELEMENT_COUNT; at++) into[at] = Math.max(0, mean[at]! * perLitre)
  return into
}

const levels = new Float64Array(ELEMENT_COUNT)

/** Solution’s own pH from a reading, as far as the offset is known. */
export function trueReadingPh(mean: Float64Array, readPh: number): number {
  return Math.min(10, Math.max(3, readPh - mean[PH_OFFSET]!))
}

/** Conductivity that the mean would show on the probe, dS/m. */
export function predictedConductivityDsPerM(mean: Float64Array, ph: number): number {
  const model = conductivityGradient(concentrations(mean, levels), ph, mean[LOG_PCO2]!, gradient)
  return model * Math.exp(mean[CONDUCTIVITY_GAIN]! + mean[CONDUCTIVITY_SHAPE]!)
}

/**
 * An EC reading: gain × conductivity of the composition at the solution’s own pH.
 *
 * @param readDsPerM at 25 °C
 * @param noiseRelative standard deviation of the fused reading as a share of it
 * @param noise.unmixedDsPerM what doses will still add; it is not expected of the reading and widens the noise
 * @param noise.heldCo2MmolPerL CO2 that the air has yet to take
 */
export function conductivityMeasurement(
  mean: Float64Array,
  ph: number,
  readDsPerM: number,
  noise: { relative: number; unmixedDsPerM: number; heldCo2MmolPerL?: number },
): ScalarMeasurement {
  const carbon = logPco2At(mean, noise.heldCo2MmolPerL ?? 0)
  const model = conductivityGradient(concentrations(mean, levels), ph, carbon, gradient)
  const gain = Math.exp(mean[CONDUCTIVITY_GAIN]! + mean[CONDUCTIVITY_SHAPE]!)
  const expected = gain * model
  const perLitre = 1 / mean[VOLUME]!
  const places: number[] = []
  const slopes: number[] = []
  let byVolume = 0
  for (let at = 0; at < ELEMENT_COUNT; at++) {
    const slope = gradient[at]!
    if (slope === 0) continue
    places.push(at)
    slopes.push(gain * slope * perLitre)
    byVolume -= slope * levels[at]! * perLitre
  }
  places.push(VOLUME, CONDUCTIVITY_GAIN, CONDUCTIVITY_SHAPE, PH_OFFSET)
  slopes.push(gain * byVolume, expected, expected, -gain * gradient[GRADIENT_PH_INDEX]!)
  return {
    innovation: readDsPerM - (expected - gain * noise.unmixedDsPerM),
    noiseVariance: (noise.relative * readDsPerM) ** 2 + (MIXING_DOUBT * gain * noise.unmixedDsPerM) ** 2,
    places,
    slopes,
  }
}

const { P, Ca: CA, Mg: MG, S } = ELEMENT_INDEX
const NH4 = ELEMENT_INDEX['NH4-N']
const NUDGE_MMOL_PER_L = 1e-3
const NUDGE_PH = 1e-3
/** What a pH probe can show at all. */
const PH_LEAST = 1
const PH_MOST = 13

/**
 * A pH reading as a measurement of charge: strong cations minus strong anions must equal the charge that the weak acids
 * carry at this pH.
 *
 * The slopes are taken at the pH that the mean itself would have, never at the reading: a slope that rises with the
 * reading’s own noise would push offset and delivery factors upward day after day.
 *
 * @param noise standard deviation of the fused reading, what acid or base is still mixing in, the solution’s pH as
 *   last believed, where the search for the new one begins, and CO2 that the air has yet to take
 * @returns innovation in pH; undefined where the mean itself has a charge that no water has, so that a reading of it
 *   says nothing: a slip of the pen in what was logged by hand, for a laboratory value to put right
 */
export function phMeasurement(
  mean: Float64Array,
  readPh: number,
  noise: {
    readonly ph: number
    readonly unmixedMeqPerL: number
    readonly lastPh: number
    readonly heldCo2MmolPerL?: number
  },
): ScalarMeasurement | undefined {
  concentrations(mean, levels)
  const carbon = logPco2At(mean, noise.heldCo2MmolPerL ?? 0)
  // Of what the water holds, the air answers for its own part alone.
  const airShare = 10 ** (mean[LOG_PCO2]! - carbon)
  const perLitre = 1 / mean[VOLUME]!
  const strong = alkalinityMeqPerL(levels, mean[UNTRACKED]! * perLitre) - noise.unmixedMeqPerL
  const ph = phOfMean(strong, noise.lastPh, carbon)
  if (ph === undefined) return undefined
  const weak = weakChargeMeqPerL(ph, carbon)
  const perPh = (weakChargeNear(ph + NUDGE_PH, carbon) - weakChargeNear(ph - NUDGE_PH, carbon)) / (2 * NUDGE_PH)
  const perCarbon = (weakChargeNear(ph, carbon + NUDGE_PH) - weak) / NUDGE_PH
  const places: number[] = []
  const slopes: number[] = []
  let byVolume = -strong * perLitre
  for (let at = 0; at < ELEMENT_COUNT; at++) {
    const level = levels[at]!
    let slope = CHARGE_PER_MMOL[at]!
    if (isBuffering(at)) {
      levels[at] = level + NUDGE_MMOL_PER_L
      const weakSlope = (weakChargeNear(ph, carbon) - weak) / NUDGE_MMOL_PER_L
      levels[at] = level
      slope -= weakSlope
      byVolume += weakSlope * level * perLitre
    }
    places.push(at)
    slopes.push((slope * perLitre) / perPh)
  }
  places.push(VOLUME, UNTRACKED, PH_OFFSET, LOG_PCO2)
  slopes.push(byVolume / perPh, perLitre / perPh, 1, (-perCarbon * airShare) / perPh)
  return {
    innovation: readPh - mean[PH_OFFSET]! - ph,
    noiseVariance: noise.ph ** 2 + (modelVariance(weak) + (MIXING_DOUBT * noise.unmixedMeqPerL) ** 2) / perPh ** 2,
    places,
    slopes,
  }
}

/**
 * What the acid-base model is wrong by: little where phosphate alone buffers, a share of it where bicarbonate does, since
 * the air over a reservoir is never quite in equilibrium with it and scale takes some away.
 */
function modelVariance(weakMeqPerL: number): number {
  return NOISE.alkalinityModelSdMeqPerL ** 2 + (NOISE.alkalinityModelRelative * weakMeqPerL) ** 2
}

function isBuffering(at: number): boolean {
  return at === P || at === CA || at === MG || at === NH4 || at === S
}

/** Weak charge of `levels`, and from now on what weakChargeNear sets out from. */
function weakChargeMeqPerL(ph: number, carbon: number): number {
  return speciate(levels, ph, carbon, origin).acidBaseMeqPerL
}

/** The same for a solution close to the last one asked about; it saves half the rounds. */
function weakChargeNear(ph: number, carbon: number): number {
  return speciateNear(origin, levels, ph, carbon, nearby).acidBaseMeqPerL
}

const PH_TOLERANCE = 1e-9
const CHORDS_MAX = 12
/** Beyond this step the chord has lost its way; the bracketing search takes over. */
const CHORD_PH_MAX = 0.5

/**
 * pH at which the weak charge of `levels` equals the strong charge.
 *
 * From one grid step to the next pH moves by hundredths, so a few chords from where it was find it; where they do not,
 * the search over the whole scale does. Both depend on the arguments alone.
 */
function phOfMean(strongMeqPerL: number, lastPh: number, carbon: number): number | undefined {
  const from = weakChargeMeqPerL(lastPh, carbon)
  const perPh = (weakChargeNear(lastPh + NUDGE_PH, carbon) - from) / NUDGE_PH
  let ph = lastPh - (from - strongMeqPerL) / perPh
  for (let chord = 0; chord < CHORDS_MAX && Math.abs(ph - lastPh) < CHORD_PH_MAX; chord++) {
    const step = (weakChargeNear(ph, carbon) - strongMeqPerL) / perPh
    ph -= step
    if (Math.abs(step) < PH_TOLERANCE) return ph
  }
  return phInRange(strongMeqPerL, carbon)
}

function phInRange(strongMeqPerL: number, carbon: number): number | undefined {
  const isWater =
    strongMeqPerL > alkalinityFromPh(levels, PH_LEAST, carbon) &&
    strongMeqPerL < alkalinityFromPh(levels, PH_MOST, carbon)
  return isWater ? phFromAlkalinity(levels, strongMeqPerL, carbon) : undefined
}

/** The tank’s level as a volume of all solution, L. */
export function levelMeasurement(mean: Float64Array, volumeL: number, noiseL: number): ScalarMeasurement {
  return { innovation: volumeL - mean[VOLUME]!, noiseVariance: noiseL * noiseL, places: [VOLUME], slopes: [1] }
}

/** A laboratory value of one element. */
export function elementMeasurement(
  mean: Float64Array,
  elementIndex: number,
  mmolPerL: number,
  sdMmolPerL: number,
): ScalarMeasurement {
  const volumeL = mean[VOLUME]!
  const level = mean[elementIndex]! / volumeL
  return {
    innovation: mmolPerL - level,
    noiseVariance: sdMmolPerL * sdMmolPerL,
    places: [elementIndex, VOLUME],
    slopes: [1 / volumeL, -level / volumeL],
  }
}
