// Where each element stands, where it would be at the end of the interval without doses, and where it should be.

import { ELEMENTS, type ElementName } from '../../chemistry/element.ts'
import type { BandSettings } from '../settings.ts'
import type { PlanInput } from './plan-input.ts'

export interface LevelPath {
  readonly element: ElementName
  readonly band: BandSettings
  readonly presentMmolPerL: number
  readonly sdMmolPerL: number
  /** at the end of the interval if nothing is dosed */
  readonly undosedMmolPerL: number
  /** wanted at the end of the interval; absent where an element is only bounded, never sought */
  readonly targetMmolPerL: number | undefined
  /** low edge with its margin, never above the aim: being short of this costs more */
  readonly protectedMmolPerL: number
  /** doses may not carry it beyond this */
  readonly ceilingMmolPerL: number
  /** the high edge, where the element is over it already: every bit more has its price */
  readonly pricedAboveMmolPerL: number | undefined
  /** of a squared difference in mmol/L; 0 where the element does not count */
  readonly weight: number
  /** part of the gap to the aim closed in this interval */
  readonly share: number
  /** 1 when the estimate is certain, falling to 0 with doubt */
  readonly confidence: number
  /** so doubtful that it is no longer dosed by its estimate */
  readonly isLost: boolean
}

export const DAY_MS = 86_400_000

/** Never sought by a dose: useless or short-lived, only bounded. Ammonium is nitrified within hours to a day. */
const BOUNDED_ONLY: ReadonlySet<ElementName> = new Set(['Na', 'Cl', 'NH4-N'])
/** Never raised further when over the high edge, at no price: toxic in excess, or nothing but renewal lowers them. */
const NEVER_RAISED: ReadonlySet<ElementName> = new Set(['Na', 'Cl', 'B', 'Mn', 'Zn', 'Cu', 'NH4-N'])
/** Micronutrients ride in stocks made for something else; all of them together must not outweigh one macronutrient. */
const MICRO: ReadonlySet<ElementName> = new Set(['Fe', 'Mn', 'Zn', 'B', 'Cu', 'Mo'])
const MICRO_WEIGHT = 0.2
/** Doubt of this part of the way from aim to low halves the share (a choice of ours). */
const DOUBT_SHARE = 0.25
/** A band narrower than this part of its aim is judged as this wide, or no estimate would ever be good enough. */
const BAND_MIN_SHARE = 0.05
/** A stock’s traces may add this part of the high edge a day even when over it; blocking the stock would harm more. */
const TRACE_SHARE_PER_DAY = 0.005
/** Elements that may be raised at a price are not raised beyond this multiple of the high edge (a choice of ours). */
const PRICED_CEILING = 1.5

/** The path of every element, in the order of ELEMENTS. */
export function tracePaths(input: PlanInput): LevelPath[] {
  return ELEMENTS.map((element, at) => tracePath(input, element, at))
}

/** Whether it is one of those that ride in stocks made for something else. */
export function isMicro({ element }: LevelPath): boolean {
  return MICRO.has(element)
}

/** Whether it is never raised further when over its high edge. */
export function isNeverRaised({ element }: LevelPath): boolean {
  return NEVER_RAISED.has(element)
}

/** How far a macronutrient may be carried along for a micronutrient’s sake: half way from aim to high edge. */
export function comfortMmolPerL({ band }: LevelPath): number {
  return (band.aim + band.high) / 2
}

/** The same path when something decided beforehand (an acid) brings this much, mmol/L. */
export function raised(path: LevelPath, byMmolPerL: number): LevelPath {
  return { ...path, undosedMmolPerL: path.undosedMmolPerL + byMmolPerL }
}

/**
 * The same path with its high edge passable at a price, up to a ceiling; as it was where no price allows that.
 * For when keeping under the edge would let another element fall below its band: a little too much magnesium harms
 * less than no phosphorus.
 */
export function yielding(path: LevelPath): LevelPath {
  if (NEVER_RAISED.has(path.element)) return path
  return { ...path, ...pricedBounds(path.band, Math.max(path.presentMmolPerL, path.undosedMmolPerL)) }
}

function tracePath(input: PlanInput, element: ElementName, at: number): LevelPath {
  const { estimate, forecast, settings } = input
  const band = input.bands[at]!
  const present = estimate.mmolPerL[at]!
  const sd = estimate.sdMmolPerL[at]!
  const undosed = present + (forecast.makeUpMmol[at]! - forecast.uptakeMmol[at]!) / estimate.volumeL
  const confidence = confidenceIn(sd, band)
  const share = confidence * gapShare(settings.planning.gapSharePerDay, forecast.intervalMs)
  const protectedLevel = Math.min(band.aim, band.low + settings.planning.marginSds * sd)
  const isLost = sd > settings.planning.sdMaxShare * band.aim
  const sought = !BOUNDED_ONLY.has(element) && band.aim > 0 && band.weight > 0
  const micro = MICRO.has(element) ? MICRO_WEIGHT : 1
  return {
    element,
    band,
    presentMmolPerL: present,
    sdMmolPerL: sd,
    undosedMmolPerL: undosed,
    targetMmolPerL: sought
      ? isLost
        ? fed(present, undosed)
        : Math.max(present + share * (band.aim - present), protectedLevel)
      : undefined,
    protectedMmolPerL: sought && !isLost ? protectedLevel : 0,
    ...upperBounds(element, band, Math.max(present, undosed), forecast.intervalMs),
    weight:
      band.weight === 0 || band.high === 0 ? 0 : (micro * band.weight) / (band.aim > 0 ? band.aim : band.high) ** 2,
    share,
    confidence,
    isLost,
  }
}

/** Of an element nobody knows any more, this part of what the crop is expected to take is given: rather less than too much. */
export const FED_SHARE = 0.9

function fed(present: number, undosed: number): number {
  return undosed + FED_SHARE * Math.max(0, present - undosed)
}

/** Half the share when the standard deviation is a quarter of the way from aim to low. */
function confidenceIn(sd: number, band: BandSettings): number {
  const width = DOUBT_SHARE * Math.max(band.aim - band.low, BAND_MIN_SHARE * band.aim)
  return width > 0 ? 1 / (1 + (sd / width) ** 2) : 1
}

/** The share of a day, compounded: many short intervals close what one long one would. */
function gapShare(sharePerDay: number, intervalMs: number): number {
  return 1 - (1 - Math.min(Math.max(sharePerDay, 0), 1)) ** (intervalMs / DAY_MS)
}

function upperBounds(element: ElementName, band: BandSettings, reached: number, intervalMs: number) {
  if (reached <= band.high) return { ceilingMmolPerL: band.high, pricedAboveMmolPerL: undefined }
  if (NEVER_RAISED.has(element)) {
    const trace = band.high * TRACE_SHARE_PER_DAY * (intervalMs / DAY_MS)
    return { ceilingMmolPerL: reached + trace, pricedAboveMmolPerL: undefined }
  }
  return pricedBounds(band, reached)
}

function pricedBounds(band: BandSettings, reached: number) {
  return { ceilingMmolPerL: Math.max(reached, PRICED_CEILING * band.high), pricedAboveMmolPerL: band.high }
}
