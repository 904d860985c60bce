/** The scored figures of one site, put beside each other; keys as the issue names them. */

import type { ControllerName } from '../../src/trial/controllers.ts'
import type { Tally } from '../../src/trial/tally.ts'
import type { TrialOutcome } from '../../src/trial/trial-outcome.ts'
import { reportOf } from '../../src/trial/trial-report.ts'
import { type EstimateScore, estimateScore, lastDayBeforeReport } from './estimate-score.ts'
import type { EstimateAnswer } from './estimate-worker.ts'
import type { EstimatorName } from './estimators.ts'

export type Runs = Partial<Readonly<Record<ControllerName, readonly EstimateAnswer[]>>>

/** @param runs of each controller that ran, one a seed */
export function siteReport(runs: Runs) {
  const own = runs.tarnward ?? []
  const outcomes = own.map(({ outcome }) => outcome)
  const full = estimateScore(outcomes.map(({ tally }) => tally))
  const of = (name: EstimatorName): EstimateScore | null => {
    const tallies = own.map(({ tallies }) => tallies[name])
    return tallies.length > 0 && tallies.every((tally): tally is Tally => tally !== undefined)
      ? estimateScore(tallies)
      : null
  }
  const [ideal, massBalance] = [of('ideal'), of('massBalance')]
  const withoutMeter = of('withoutMeter')
  const dump = amounts(runs['ec-only-with-dump'])
  const kept = amounts(own)
  return {
    seeds: own.length,
    ...full,
    ratioToIdeal: ratio(full.rmseMeqPerL, ideal?.rmseMeqPerL),
    ratioToIdealMedian: ratio(full.medianError, ideal?.medianError),
    gainOverMassBalance: massBalance && 1 - ratio(full.rmseMeqPerL, massBalance.rmseMeqPerL)!,
    baselines: {
      laboratoryHeld: errorsOf(of('laboratoryHeld')),
      laboratoryScaled: errorsOf(of('laboratoryScaled')),
      massBalance,
      idealEstimator: ideal,
      ecOnly: amounts(runs['ec-only']),
      ecOnlyWithDump: dump,
      idealController: amounts(runs.ideal),
    },
    allInBandShare: kept?.allInBandShare ?? null,
    use: kept,
    dischargeShareOfDump: {
      water: ratio(kept?.dischargedL, dump?.dischargedL),
      salt: ratio(kept?.dischargedElementsG, dump?.dischargedElementsG),
    },
    inBandAgainst: {
      ecOnly: ratio(kept?.allInBandShare, amounts(runs['ec-only'])?.allInBandShare),
      ecOnlyWithDump: ratio(kept?.allInBandShare, dump?.allInBandShare),
      idealController: ratio(kept?.allInBandShare, amounts(runs.ideal)?.allInBandShare),
    },
    everySecondReport: of('everySecondReport'),
    withoutMeter,
    withoutMeterEverySecondReport: of('withoutMeterEverySecondReport'),
    probes: {
      conductivityPhTemperature: of('conductivityPhTemperature'),
      andLevel: withoutMeter,
      andMeter: full,
    },
    lastDayBeforeReport: lastDayBeforeReport(outcomes.map(({ tally }) => tally)),
  }
}

export type SiteReport = ReturnType<typeof siteReport>

/** Held reports have no intervals of their own. */
function errorsOf(score: EstimateScore | null) {
  if (!score) return null
  const { medianError, p90Error, rmseMeqPerL, medianErrors, p90Errors } = score
  return { medianError, p90Error, rmseMeqPerL, medianErrors, p90Errors }
}

function amounts(answers: readonly EstimateAnswer[] | undefined) {
  if (!answers || answers.length === 0) return null
  const report = reportOf(answers.map(({ outcome }): TrialOutcome => outcome))
  const { waterL, dischargedL, saltG, dischargedElementsG, violations, refused, unknown, overall } = report
  const { allInBandShare, deepestExcursion } = overall
  return {
    ...{ allInBandShare, deepestExcursion, waterL, dischargedL, saltG, dischargedElementsG },
    ...{ violations: violations.length, refused, unknown },
  }
}

function ratio(one: number | null | undefined, other: number | null | undefined): number | null {
  return one === null || one === undefined || !other ? null : one / other
}
