/**
 * What a site has taught: how its crop grows and eats against the priors it started from, how its EC probe reads, how
 * strong its bottles are. Each accepted report leaves a mark, so that people see it settle, and can start it afresh.
 */

import { ELEMENT_COUNT, ELEMENTS } from '../../chemistry/element.ts'
import { appetiteLogScale } from '../estimate/appetite-doubt.ts'
import { type FilterState, initialFilterState } from '../estimate/filter-state.ts'
import {
  CONDUCTIVITY_GAIN,
  DELIVERY_FACTOR,
  GROWTH,
  PH_OFFSET,
  UPTAKE_FACTOR,
  WATER_LASTING,
} from '../estimate/layout.ts'
import type { CoreSettings } from '../settings.ts'

/** One report’s end: where every factor stood once it was taken in. */
export interface LearnedMark {
  readonly reportId: string
  readonly sampledAtMs: number
  /** means and standard deviations in the order of `factorPlaces` */
  readonly means: readonly number[]
  readonly sds: readonly number[]
}

export interface LearnedFactor {
  readonly id: string
  readonly kind: 'growth' | 'uptake' | 'probe' | 'delivery' | 'water' | 'doubt'
  /** against what was configured, 1 is as configured; for the pH probe an offset in pH */
  readonly value: number
  readonly low90: number
  readonly high90: number
  readonly priorLow90: number
  readonly priorHigh90: number
  /** known clearly better than at the start */
  readonly isLearned: boolean
}

/** Marks kept; two years of fortnightly reports. */
const MARKS_MAX = 60
/** 90 % of a normal distribution lies within this many standard deviations. */
const SDS_90 = 1.645
/** Narrower than this share of the prior’s spread counts as learned. A judgement. */
const LEARNED_SHARE = 0.7

interface FactorPlace {
  readonly id: string
  readonly kind: LearnedFactor['kind']
  readonly of: (filter: FilterState) => MeanAndSd
}

interface MeanAndSd {
  readonly mean: number
  readonly sd: number
}

/** One of the filter’s unknowns. */
function unknownAt(place: number): FactorPlace['of'] {
  return (filter) => ({ mean: filter.mean[place]!, sd: sdOf(filter, place) })
}

/** Which unknowns are factors that last. */
function factorPlaces(settings: CoreSettings): readonly FactorPlace[] {
  return [
    { id: 'growth', kind: 'growth', of: unknownAt(GROWTH) },
    ...Array.from({ length: ELEMENT_COUNT }, (_unused, at): FactorPlace => {
      return { id: `uptake ${ELEMENTS[at]!}`, kind: 'uptake', of: unknownAt(UPTAKE_FACTOR + at) }
    }),
    { id: 'ec-gain', kind: 'probe', of: unknownAt(CONDUCTIVITY_GAIN) },
    { id: 'ph-offset', kind: 'probe', of: unknownAt(PH_OFFSET) },
    ...settings.stocks.map((stock, at): FactorPlace => {
      return { id: `delivery ${stock.id}`, kind: 'delivery', of: unknownAt(DELIVERY_FACTOR + at) }
    }),
    // last, since marks that were kept before know all the others by where they stand
    { id: 'water drawn', kind: 'water', of: unknownAt(WATER_LASTING) },
    { id: 'doubt of uptake', kind: 'doubt', of: ({ memory }) => appetiteLogScale(memory) },
  ]
}

/** Where every factor stands now that a report has been taken in. */
export function learnedMark(
  settings: CoreSettings,
  filter: FilterState,
  report: { readonly id: string; readonly sampledAtMs: number },
): LearnedMark {
  const stand = factorPlaces(settings).map(({ of }) => of(filter))
  return {
    reportId: report.id,
    sampledAtMs: report.sampledAtMs,
    means: stand.map(({ mean }) => mean),
    sds: stand.map(({ sd }) => sd),
  }
}

/** The marks with one more at their end; a report corrected later replaces its own, the oldest are forgotten. */
export function withMark(marks: readonly LearnedMark[], mark: LearnedMark): readonly LearnedMark[] {
  return [...marks.filter(({ reportId }) => reportId !== mark.reportId), mark].slice(-MARKS_MAX)
}

/** Every lasting factor as believed now, beside the prior it started from. */
export function learnedFactors(settings: CoreSettings, filter: FilterState): readonly LearnedFactor[] {
  const prior = initialFilterState(settings, filter.atMs)
  return factorPlaces(settings).map(({ id, kind, of }) => {
    const tell = tellerOf(id)
    const { mean, sd } = of(filter)
    const { mean: priorMean, sd: priorSd } = of(prior)
    return {
      ...{ id, kind, value: tell(mean), low90: tell(mean - SDS_90 * sd), high90: tell(mean + SDS_90 * sd) },
      priorLow90: tell(priorMean - SDS_90 * priorSd),
      priorHigh90: tell(priorMean + SDS_90 * priorSd),
      isLearned: sd < LEARNED_SHARE * priorSd,
    }
  })
}

/** One factor through the reports, oldest first; empty for an id that there is not. */
export function factorHistory(
  settings: CoreSettings,
  marks: readonly LearnedMark[],
  id: string,
): readonly {
  readonly sampledAtMs: number
  readonly value: number
  readonly low90: number
  readonly high90: number
}[] {
  const at = factorPlaces(settings).findIndex((factor) => factor.id === id)
  if (at < 0) return []
  const tell = tellerOf(id)
  return marks.flatMap(({ sampledAtMs, means, sds }) => {
    const mean = means[at]
    const sd = sds[at]
    if (mean === undefined || sd === undefined) return []
    return [{ sampledAtMs, value: tell(mean), low90: tell(mean - SDS_90 * sd), high90: tell(mean + SDS_90 * sd) }]
  })
}

/** One sentence: where what is believed of crop and site comes from. */
export function learnedText(factors: readonly LearnedFactor[], marks: readonly LearnedMark[]): string {
  if (marks.length === 0)
    return 'No report yet: growth and uptake began as in the crops file, and only EC, pH and water have spoken since; the first report will correct them.'
  const learned = factors.filter((factor) => factor.isLearned).map(({ id }) => id)
  const from = `${marks.length} ${marks.length === 1 ? 'report' : 'reports'}`
  return learned.length === 0
    ? `${from} so far; nothing is known clearly better than the priors yet.`
    : `Learned from ${from} and the days between: ${learned.join(', ')}. All else still stands near its prior.`
}

/** Most factors are kept as natural logarithms; the pH offset as it is. */
function tellerOf(id: string): (value: number) => number {
  return id === 'ph-offset' ? (value) => value : Math.exp
}

function sdOf({ covariance, mean }: FilterState, place: number): number {
  return Math.sqrt(Math.max(0, covariance[place * mean.length + place]!))
}
