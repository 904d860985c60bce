/** What an estimate is worth over many seeds, as the issue of the estimate asks for it. */

import { SCORED, type Scored } from '../../src/trial/bands.ts'
import { type Interval, meanInterval } from '../../src/trial/interval.ts'
import { poolTallies, quantile, scoreOf, type Tally } from '../../src/trial/tally.ts'

export type PerElement = Readonly<Record<Scored | 'overall', number | null>>

export interface EstimateScore {
  readonly medianError: number | null
  readonly p90Error: number | null
  readonly rmseMeqPerL: number | null
  /** share of hours within the 90 % interval, each cycle of each seed counting once */
  readonly coverage90: PerElement
  /** mean half-width of the 90 % interval as a share of the aim */
  readonly halfWidth90: PerElement
  readonly medianErrors: PerElement
  readonly p90Errors: PerElement
  /** where 95 % of such means over so many seeds lie */
  readonly overSeeds: { readonly medianError: Interval | null; readonly rmseMeqPerL: Interval | null }
}

/** @param tallies one of each seed */
export function estimateScore(tallies: readonly Tally[]): EstimateScore {
  const { elements, overall } = scoreOf(poolTallies(tallies))
  const seeds = tallies.map((tally) => scoreOf(tally).overall)
  const of = (pick: (score: (typeof elements)[Scored]) => number | null): PerElement => ({
    ...byElement((name) => pick(elements[name])),
    overall: pick(overall),
  })
  return {
    medianError: overall.medianError,
    p90Error: overall.p90Error,
    rmseMeqPerL: overall.rmseMeqPerL,
    coverage90: coverage(tallies),
    halfWidth90: of((score) => score.halfWidth90),
    medianErrors: of((score) => score.medianError),
    p90Errors: of((score) => score.p90Error),
    overSeeds: {
      medianError: intervalOf(seeds.map(({ medianError }) => medianError)),
      rmseMeqPerL: intervalOf(seeds.map(({ rmseMeqPerL }) => rmseMeqPerL)),
    },
  }
}

function intervalOf(values: readonly (number | null)[]): Interval | null {
  return values.length > 0 && values.every((value) => value !== null) ? meanInterval(values) : null
}

function byElement<T>(take: (name: Scored) => T): Record<Scored, T> {
  return Object.fromEntries(SCORED.map((name) => [name, take(name)])) as Record<Scored, T>
}

/** Hours of one cycle share one report and so one luck: seed × cycle is what can be counted. */
function coverage(tallies: readonly Tally[]): PerElement {
  const shares = byElement((name) => meanOf(tallies.flatMap((tally) => cycleShares(tally, name))))
  const all = SCORED.map((name) => shares[name])
  return { ...shares, overall: all.every((share) => share !== null) ? meanOf(all) : null }
}

function cycleShares({ elements, cycles }: Tally, name: Scored): number[] {
  const { errors, halfWidths } = elements[name]
  const counts = new Map<number, { covered: number; hours: number }>()
  cycles.forEach((cycle, at) => {
    const count = counts.get(cycle) ?? { covered: 0, hours: 0 }
    counts.set(cycle, count)
    count.hours++
    if (errors[at]! <= halfWidths[at]!) count.covered++
  })
  return [...counts.values()].map(({ covered, hours }) => covered / hours)
}

function meanOf(values: readonly number[]): number | null {
  return values.length === 0 ? null : values.reduce((sum, value) => sum + value, 0) / values.length
}

export interface LastDay {
  /** of the element that was furthest off on the last day before each report, over seeds × reports */
  readonly worstMedian: number | null
  readonly worstP90: number | null
  /** the element that was it most often */
  readonly worstElement: Scored | null
  readonly median: Readonly<Record<Scored, number | null>>
}

const DAY_HOURS = 24

/** The last day before each report but the first: the belief at its oldest. */
export function lastDayBeforeReport(tallies: readonly Tally[]): LastDay {
  const means = tallies.flatMap(lastDays)
  const worst = means.map((day) => Math.max(...SCORED.map((name) => day[name])))
  const often = byElement((name) => means.filter((day, at) => day[name] === worst[at]).length)
  const sorted = Float64Array.from(worst).sort()
  return {
    worstMedian: quantile(sorted, 0.5),
    worstP90: quantile(sorted, 0.9),
    worstElement: means.length === 0 ? null : SCORED.reduce((most, name) => (often[name] > often[most] ? name : most)),
    median: byElement((name) => quantile(Float64Array.from(means, (day) => day[name]).sort(), 0.5)),
  }
}

function lastDays({ elements, cycles }: Tally): Record<Scored, number>[] {
  const ends = cycles.flatMap((cycle, at) => (at + 1 < cycles.length && cycles[at + 1] !== cycle ? [at + 1] : []))
  return ends.map((end) =>
    byElement((name) => meanOf(elements[name].errors.slice(Math.max(0, end - DAY_HOURS), end)) ?? 0),
  )
}
