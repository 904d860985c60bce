import { type Interval, meanInterval } from './interval.ts'
import { poolTallies, type Score, scoreOf } from './tally.ts'
import type { TrialOutcome } from './trial-outcome.ts'

/** Runs pooled into one object; amounts are means of a run, counts and lists are sums over runs. */
export interface TrialReport extends Score {
  readonly seeds: number
  readonly dosedMl: Readonly<Record<string, number>>
  readonly waterL: number
  readonly dischargedL: number
  readonly saltG: number
  readonly dischargedElementsG: number
  readonly shots: number
  readonly refused: number
  readonly unknown: number
  readonly violations: readonly string[]
  readonly alarms: readonly string[]
  /** mean over the seeds of each seed’s own figure, with its 95 % interval; null where nothing was believed */
  readonly perSeed: Readonly<Record<PerSeedFigure, Interval | null>>
}

const PER_SEED = [
  ...(['medianError', 'p90Error', 'coverage90', 'halfWidth90', 'rmseMeqPerL', 'inBandShare'] as const),
  ...(['allInBandShare', 'waterL', 'dischargedL', 'saltG'] as const),
] as const
export type PerSeedFigure = (typeof PER_SEED)[number]

/** @param outcomes at least one, in the order of their seeds */
export function reportOf(outcomes: readonly TrialOutcome[]): TrialReport {
  const first = outcomes[0]
  if (!first) throw new Error('no run to report')
  const sum = (pick: (outcome: TrialOutcome) => number): number =>
    outcomes.reduce((total, outcome) => total + pick(outcome), 0)
  const mean = (pick: (outcome: TrialOutcome) => number): number => sum(pick) / outcomes.length
  return {
    ...scoreOf(poolTallies(outcomes.map(({ tally }) => tally))),
    seeds: outcomes.length,
    dosedMl: Object.fromEntries(
      Object.keys(first.dosedMl).map((stock) => [stock, mean(({ dosedMl }) => dosedMl[stock] ?? 0)]),
    ),
    waterL: mean(({ waterL }) => waterL),
    dischargedL: mean(({ dischargedL }) => dischargedL),
    saltG: mean(({ saltG }) => saltG),
    dischargedElementsG: mean(({ dischargedElementsG }) => dischargedElementsG),
    shots: sum(({ shots }) => shots),
    refused: sum(({ refused }) => refused),
    unknown: sum(({ unknown }) => unknown),
    violations: outcomes.flatMap(({ violations }) => violations),
    alarms: outcomes.flatMap(({ alarms }) => alarms),
    perSeed: perSeed(outcomes),
  }
}

function perSeed(outcomes: readonly TrialOutcome[]): TrialReport['perSeed'] {
  const ofSeeds = outcomes.map(({ tally, waterL, dischargedL, saltG }) => {
    return { ...scoreOf(tally).overall, waterL, dischargedL, saltG }
  })
  const interval = (figure: PerSeedFigure): Interval | null => {
    const values = ofSeeds.map((one) => one[figure])
    return values.every((value) => value !== null) ? meanInterval(values) : null
  }
  return Object.fromEntries(PER_SEED.map((figure) => [figure, interval(figure)])) as Record<
    PerSeedFigure,
    Interval | null
  >
}
