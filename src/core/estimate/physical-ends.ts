/**
 * Where an unknown ends because no reservoir, crop or probe is beyond it. Two probes leave whole directions unseen: more
 * salt behind a gain that fell as far reads the same. What drifts along such a direction for years must end somewhere,
 * or it ends where numbers do.
 */

import { ELEMENT_COUNT } from '../../chemistry/element.ts'
import type { CoreSettings } from '../settings.ts'
import {
  CONDUCTIVITY_GAIN,
  CONDUCTIVITY_SHAPE,
  DELIVERY_FACTOR,
  GROWTH,
  GROWTH_TODAY,
  LOG_PCO2,
  PH_OFFSET,
  SOURCE_FACTOR,
  stateSize,
  UNTRACKED,
  UPTAKE_FACTOR,
  VOLUME,
  WATER_DRAWN,
  WATER_LASTING,
} from './layout.ts'
import type { Belief } from './update.ts'

/** Less than this share of the nominal volume is no reservoir: pump and pipes hold it, and no concentration is defined at 0 L. */
export const VOLUME_LEAST_SHARE = 0.02
/** A tank that runs over holds no more; twice its greatest volume leaves room for a wrong figure in the configuration. */
const VOLUME_MOST_TIMES = 2

/** Ten times the strongest feed, mmol/L of one element. Judgement. */
const AMOUNT_MOST_MMOL_PER_L = 200
/** Acid or base by the cupful that nobody wrote down, meq/L. Judgement. */
const UNTRACKED_MOST_MEQ_PER_L = 20

interface Ends {
  readonly least: number
  readonly most: number
}

const within = (most: number): Ends => ({ least: -most, most })

/** Factors as natural logarithms. All are judgements, far beyond what a healthy site shows. */
const FACTOR_ENDS: readonly (readonly [place: number, ends: Ends])[] = [
  [GROWTH, within(Math.log(5))],
  [GROWTH_TODAY, within(Math.log(3))],
  [WATER_LASTING, within(Math.log(5))],
  [WATER_DRAWN, { least: -1, most: 19 }],
  // A probe that shows half or double has failed; it is not bent further.
  [CONDUCTIVITY_GAIN, within(Math.log(2))],
  [CONDUCTIVITY_SHAPE, within(0.1)],
  [PH_OFFSET, within(2)],
  // From scrubbed air to a tenth of an atmosphere, as over fermenting peat.
  [LOG_PCO2, { least: -5, most: -1 }],
  [SOURCE_FACTOR, within(Math.log(10))],
]
const UPTAKE_ENDS = within(Math.log(10))
/** Five times weaker or stronger is what a batch may be logged as. */
const DELIVERY_ENDS = within(Math.log(8))

/** The ends of one unknown at a volume, in its own unit. */
function endsOf(settings: CoreSettings, at: number, volumeL: number): Ends {
  if (at < ELEMENT_COUNT) return { least: -AMOUNT_MOST_MMOL_PER_L * volumeL, most: AMOUNT_MOST_MMOL_PER_L * volumeL }
  if (at === VOLUME) {
    const { volumeL: nominalL, volumeMaxL } = settings.reservoir
    return { least: VOLUME_LEAST_SHARE * nominalL, most: VOLUME_MOST_TIMES * Math.max(nominalL, volumeMaxL) }
  }
  if (at === UNTRACKED) return within(UNTRACKED_MOST_MEQ_PER_L * volumeL)
  if (at >= DELIVERY_FACTOR && at < stateSize(settings.stocks.length)) return DELIVERY_ENDS
  if (at >= UPTAKE_FACTOR && at < UPTAKE_FACTOR + ELEMENT_COUNT) return UPTAKE_ENDS
  const known = FACTOR_ENDS.find(([place]) => place === at)
  if (!known) throw new Error(`unknown ${at} has no ends`)
  return known[1]
}

/**
 * Holds a belief inside the ends, in place: the mean at the nearer end, and no doubt wider than the ends are apart. A
 * doubt is narrowed by scaling its row and column alike, which keeps the covariance symmetric and positive.
 */
export function holdWithinEnds(settings: CoreSettings, { mean, covariance }: Belief): void {
  const n = mean.length
  mean[VOLUME] = clamped(mean[VOLUME]!, endsOf(settings, VOLUME, 0))
  for (let at = 0; at < n; at++) {
    const ends = endsOf(settings, at, mean[VOLUME]!)
    mean[at] = clamped(mean[at]!, ends)
    const sd = Math.sqrt(covariance[at * n + at]!)
    const most = 0.5 * (ends.most - ends.least)
    if (sd > most) narrow(covariance, n, at, most / sd)
  }
}

function clamped(value: number, { least, most }: Ends): number {
  return value < least ? least : value > most ? most : value
}

function narrow(covariance: Float64Array, n: number, at: number, factor: number): void {
  for (let other = 0; other < n; other++) {
    const value = covariance[at * n + other]! * factor * (other === at ? factor : 1)
    covariance[at * n + other] = value
    covariance[other * n + at] = value
  }
}
