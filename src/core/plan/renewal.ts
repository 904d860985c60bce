// When part of the solution must go: an ion builds up that no dose lowers and the crop does not take, or the solution
// has grown old. The smallest slice that serves is asked for, and it goes before the next doses.

import { ELEMENT_COUNT, type ElementName } from '../../chemistry/element.ts'
import type { LevelPath } from './level-path.ts'
import type { PlanForecast, PlanInput } from './plan-input.ts'
import { duration, figure, milligrams, spoken } from './wording.ts'

/** No more than this part of the solution goes at once: roots and the estimate both need time to follow. */
export const SLICE_SHARE_MAX = 0.1
/** Less is not worth a person’s walk, or a valve’s run. A judgement. */
const SLICE_SHARE_MIN = 0.02
/** What uptake brings down within this time is left to it. A judgement: a week outside costs less than the salts. */
const WAIT_MS = 7 * 86_400_000
/** A task once set stands until the level is this part below what called for it, so that it does not come and go. */
const RELEASE_SHARE = 0.97
/** However doubtful a level is, nothing goes while it is believed in the lower half between aim and high edge. */
const DOUBT_ROOM_SHARE = 0.5
const DAY_MS = 86_400_000

/** One slice of solution to let go and replace by source water. */
export interface Renewal {
  readonly cause: 'build-up' | 'hygiene'
  readonly element?: ElementName
  /** L to let go now, and as many to fill up */
  readonly volumeL: number
  /** how many such slices in all, a day or more apart */
  readonly slices: number
  /** why, in a sentence for a person */
  readonly why: string
}

export interface RenewalFacts {
  readonly input: PlanInput
  readonly paths: readonly LevelPath[]
  /** expectation of a whole day: an hour of the night says little of it */
  readonly day: PlanForecast
  /** mean age of the solution; a slice let go takes its part of the age along */
  readonly ageMs: number
  /** a task for this cause stands already */
  readonly isSet: boolean
}

/** The largest of the renewals that something calls for, or none. One slice serves every cause at once. */
export function findRenewal(facts: RenewalFacts): Renewal | undefined {
  let largest = byAge(facts)
  for (let at = 0; at < ELEMENT_COUNT; at++) {
    const renewal = byElement(facts, at)
    if (renewal && sizeOf(renewal) > (largest ? sizeOf(largest) : 0)) largest = renewal
  }
  return largest
}

function sizeOf({ volumeL, slices }: Renewal): number {
  return volumeL * slices
}

/** The level from which an element calls for renewal: its high edge, less what the doubt about it may hide. */
export function renewalLevel(path: LevelPath, marginSds: number): number {
  const { aim, high } = path.band
  return Math.max(aim + DOUBT_ROOM_SHARE * (high - aim), high - marginSds * path.sdMmolPerL)
}

function byElement({ input, paths, day, isSet }: RenewalFacts, at: number): Renewal | undefined {
  const path = paths[at]!
  const { element, presentMmolPerL: present, band } = path
  // Ammonium is gone within a day or two by itself.
  if (band.high === 0 || element === 'NH4-N') return undefined
  const source = input.settings.source.mmolPerL[at]!
  const level = renewalLevel(path, input.settings.planning.marginSds) * (isSet ? RELEASE_SHARE : 1)
  if (!(present > level && source < level)) return undefined
  const risePerMs = (day.makeUpMmol[at]! - day.uptakeMmol[at]!) / input.estimate.volumeL / day.intervalMs
  if (risePerMs < 0 && (present - level) / -risePerMs <= WAIT_MS) return undefined
  const served = level - Math.max(0, risePerMs) * input.settings.renewal.serveMs
  const target = Math.max(served, Math.min(band.aim, level), source + 0.01 * (present - source))
  const share = Math.min(0.9, Math.max(SLICE_SHARE_MIN, (present - target) / (present - source)))
  return {
    cause: 'build-up',
    element,
    ...inSlices(share, input.estimate.volumeL),
    why: buildUp(path, risePerMs, source),
  }
}

function byAge({ input, ageMs }: RenewalFacts): Renewal | undefined {
  const { hygieneMs, serveMs } = input.settings.renewal
  if (hygieneMs === undefined || !(ageMs >= hygieneMs)) return undefined
  const share = Math.max(SLICE_SHARE_MIN, Math.min(0.9, 1 - (hygieneMs - serveMs) / ageMs))
  const why = `the solution is ${duration(ageMs)} old on average and ${duration(hygieneMs)} are allowed: what roots give off and what makes them ill shows in no ion`
  return { cause: 'hygiene', ...inSlices(share, input.estimate.volumeL), why }
}

/** A share of the solution in as few equal slices as may be. */
export function inSlices(share: number, volumeL: number): { readonly volumeL: number; readonly slices: number } {
  const kept = 1 - share
  const slices = Math.max(1, Math.ceil(Math.log(kept) / Math.log(1 - SLICE_SHARE_MAX) - 1e-9))
  return { volumeL: (1 - kept ** (1 / slices)) * volumeL, slices }
}

function buildUp(path: LevelPath, risePerMs: number, source: number): string {
  const { element, presentMmolPerL, sdMmolPerL, band } = path
  const mg = (mmolPerL: number, digits = 3) => milligrams(element, mmolPerL, digits)
  const level = `${spoken(element)} is about ${mg(presentMmolPerL)} ± ${mg(sdMmolPerL, 2)} mg/L, its high edge is ${mg(band.high)}`
  const trend =
    risePerMs > 0
      ? `the water brings ${mg(source)} mg/L of it and the crop takes less, so it rises by ${mg(risePerMs * DAY_MS, 2)} mg/L a day`
      : 'uptake alone would need more than a week to bring it down'
  return `${level}; ${trend}, and no dose lowers it`
}

/** What a person is asked to do. */
export function renewalTask(renewal: Renewal, isMetered: boolean): string {
  const litres = figure(renewal.volumeL, 2)
  const rest = renewal.slices > 1 ? `, the first of ${renewal.slices} such slices a day or more apart` : ''
  const log = isMetered
    ? `log ${litres} L drained (the meter counts what comes in)`
    : `log ${litres} L drained and as many topped up`
  return `Let ${litres} L of solution go and fill up with as much source water before the next doses${rest}: ${renewal.why}. Then ${log}. Spread what you let go where nutrients do no harm, by the rules of the place.`
}
