// When the next bottle is needed: how the doubt about each element would grow from now on if no report came any more.

import { ELEMENT_COUNT, ELEMENTS, type ElementName, MACRONUTRIENTS } from '../../chemistry/element.ts'
import type { FilterState } from '../estimate/filter-state.ts'
import { VOLUME } from '../estimate/layout.ts'
import { conductivityMeasurement, levelMeasurement, predictedConductivityDsPerM } from '../estimate/measure.ts'
import { predict } from '../estimate/predict.ts'
import { levelsOf } from '../estimate/summary.ts'
import { type Belief, updateScalar } from '../estimate/update.ts'
import type { BandSettings, CohortSettings, CoreSettings } from '../settings.ts'
import { figure, spoken } from './wording.ts'

export interface ElementNeed {
  readonly element: ElementName
  /** when its standard deviation passes the largest allowed; absent where it does not within the time looked at */
  readonly byMs?: number
  /** standard deviation as a share of the aim: then, or at the end of the time looked at */
  readonly sdShare: number
}

export interface SampleNeed {
  /** when it was worked out, and from which newest bottle */
  readonly atMs: number
  readonly sampledAtMs: number | null
  /** the first macronutrient to become too doubtful decides; absent where none does */
  readonly first?: Required<ElementNeed>
  readonly elements: readonly ElementNeed[]
}

const DAY_MS = 86_400_000
/** Further ahead nobody plans a bottle, and the forecast says little. */
const DAYS_MAX = 60
/** A day’s readings of one probe share its bias, which is an unknown of its own; what is left of noise is small. */
const CONDUCTIVITY_NOISE = 0.005
const LEVEL_NOISE = 0.005
const MACRO: ReadonlySet<ElementName> = new Set(MACRONUTRIENTS)
/** Said this long before the day. */
const SAID_AHEAD_MS = 3 * DAY_MS

/**
 * The filter’s own prediction run forward in days, with a conductivity and a level reading a day that surprise nobody
 * and levels held where they are, as doses would hold them. Days are coarse and pH is left out, so the dates lie early
 * rather than late.
 */
export function sampleNeed(
  settings: CoreSettings,
  cohorts: readonly CohortSettings[],
  start: FilterState,
  bands: readonly BandSettings[],
  sampledAtMs: number | null,
): SampleNeed {
  const { sdMaxShare } = settings.planning
  const sought = [...Array(ELEMENT_COUNT).keys()].filter(
    (at) => bands[at]!.aim > 0 && bands[at]!.weight > 0 && ELEMENTS[at] !== 'NH4-N',
  )
  const found = new Map<number, ElementNeed>()
  let filter = start
  for (let day = 0; day <= DAYS_MAX && found.size < sought.length; day++) {
    if (day > 0) filter = dayLater(settings, cohorts, filter, start.mean)
    const { sdMmolPerL } = levelsOf(filter)
    for (const at of sought) {
      const sdShare = sdMmolPerL[at]! / bands[at]!.aim
      if (found.get(at)?.byMs !== undefined) continue
      const isOver = sdShare > sdMaxShare
      if (isOver || day === DAYS_MAX)
        found.set(at, { element: ELEMENTS[at]!, sdShare, ...(isOver ? { byMs: start.atMs + day * DAY_MS } : {}) })
    }
  }
  const elements = [...found.values()]
  const dated = elements.filter((need): need is Required<ElementNeed> => need.byMs !== undefined)
  const macros = dated.filter(({ element }) => MACRO.has(element)).toSorted((a, b) => a.byMs - b.byMs)
  const first = macros[0] === undefined ? {} : { first: macros[0] }
  return { atMs: start.atMs, sampledAtMs, ...first, elements }
}

function dayLater(
  settings: CoreSettings,
  cohorts: readonly CohortSettings[],
  before: FilterState,
  heldMean: Float64Array,
): FilterState {
  const { litFromMin, litUntilMin } = settings.photoperiod
  const litShare = (litUntilMin - litFromMin) / 1440
  const step = { endMs: before.atMs + DAY_MS, litShare, doses: [], acts: [], laboratory: [] }
  const after = predict(settings, cohorts, before, step)
  let belief: Belief = { mean: after.mean, covariance: after.covariance }
  const isFitted = (role: string) => settings.probes.some((probe) => probe.role === role)
  if (isFitted('conductivity')) {
    const read = predictedConductivityDsPerM(belief.mean, after.ph)
    const noise = { relative: CONDUCTIVITY_NOISE, unmixedDsPerM: 0 }
    belief = folded(belief, conductivityMeasurement(belief.mean, after.ph, read, noise))
  }
  if (isFitted('level')) {
    const volumeL = belief.mean[VOLUME]!
    belief = folded(belief, levelMeasurement(belief.mean, volumeL, LEVEL_NOISE * volumeL))
  }
  return { ...after, mean: heldMean, covariance: belief.covariance }
}

function folded(belief: Belief, measurement: Parameters<typeof updateScalar>[1]): Belief {
  const updated = updateScalar(belief, measurement, Number.POSITIVE_INFINITY)
  return updated.kind === 'updated' ? updated.belief : belief
}

/** What is known of an element then, as a person reads it. */
export function needText({ element, sdShare }: ElementNeed): string {
  return `${spoken(element)} would then be known only to ± ${figure(100 * sdShare, 2)} %`
}

/** The sentence of the days before, and of every day after; nothing while the day is far off. */
export function sampleNote(need: SampleNeed, atMs: number, sdMaxShare: number): string | undefined {
  const { first } = need
  if (first === undefined || first.byMs - atMs > SAID_AHEAD_MS) return undefined
  const percent = figure(100 * sdMaxShare, 2)
  const rule = `beyond ± ${percent} % of its aim an element is no longer dosed by its estimate, only fed what the crop is expected to take`
  const days = Math.ceil((first.byMs - atMs) / DAY_MS)
  const when = days <= 0 ? 'now' : `within ${days} ${days === 1 ? 'day' : 'days'}`
  return `A laboratory sample is needed ${when}: ${needText(first)}, and ${rule}.`
}
