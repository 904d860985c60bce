import { SCORED } from './bands.ts'
import type { Trial } from './run-trial.ts'
import { emptyTally, type Score, scoreOf, type Tally } from './tally.ts'

/** Runs pooled into one object; amounts are means of a run, counts and lists are sums over runs. */
export interface TrialReport extends Score {
  readonly seeds: number
  readonly dosedMl: Readonly<Record<string, number>>
  readonly waterL: number
  readonly dischargedL: number
  readonly saltG: number
  readonly shots: number
  readonly refused: number
  readonly unknown: number
  readonly violations: readonly string[]
  readonly alarms: readonly string[]
  readonly wallSeconds: number
}

/** @param trials at least one */
export function reportOf(trials: readonly Trial[]): TrialReport {
  const first = trials[0]
  if (!first) throw new Error('no run to report')
  const mean = (pick: (trial: Trial) => number): number => total(trials, pick) / trials.length
  const stocks = Object.keys(first.watch.dosedMl)
  return {
    ...scoreOf(pool(trials.map((trial) => trial.tally))),
    seeds: trials.length,
    dosedMl: Object.fromEntries(stocks.map((stock) => [stock, mean((trial) => trial.watch.dosedMl[stock] ?? 0)])),
    waterL: mean((trial) => trial.truth.topUpL),
    dischargedL: mean((trial) => trial.truth.dischargedL),
    saltG: mean((trial) => trial.truth.saltG),
    shots: total(trials, (trial) => trial.watch.shots),
    refused: total(trials, (trial) => trial.controller.refused),
    unknown: total(trials, (trial) => trial.controller.unknown),
    violations: trials.flatMap((trial) => (trial.controller.keepsLimits ? trial.watch.violations : [])),
    alarms: trials.flatMap((trial) => trial.controller.alarms),
    wallSeconds: total(trials, (trial) => trial.wallSeconds),
  }
}

function total(trials: readonly Trial[], pick: (trial: Trial) => number): number {
  return trials.reduce((sum, trial) => sum + pick(trial), 0)
}

function pool(tallies: readonly Tally[]): Tally {
  const pooled = emptyTally()
  for (const tally of tallies) {
    for (const name of SCORED) {
      const into = pooled.elements[name]
      const from = tally.elements[name]
      for (const error of from.errors) into.errors.push(error)
      for (const width of from.halfWidths) into.halfWidths.push(width)
      into.covered += from.covered
      into.inBand += from.inBand
      into.hours += from.hours
    }
    for (const square of tally.squaresMeq) pooled.squaresMeq.push(square)
    pooled.allInBand += tally.allInBand
    pooled.hours += tally.hours
  }
  return pooled
}
