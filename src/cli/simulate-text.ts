/** A campaign as people and machines read it. */

import type { Outcomes } from '../trial/campaign.ts'
import type { ControllerName } from '../trial/controllers.ts'
import type { Interval } from '../trial/interval.ts'
import { reportOf, type TrialReport } from '../trial/trial-report.ts'

type Amounts = Pick<TrialReport, 'waterL' | 'dischargedL' | 'saltG'> & { readonly allInBandShare: number }

/** One object: the report of the first controller, those beside it under `baselines`. */
export function campaignJson(controllers: readonly ControllerName[], outcomes: Outcomes): string {
  const [main, ...beside] = reports(controllers, outcomes)
  const baselines = Object.fromEntries(beside.map(({ name, report }) => [name, amountsOf(report)]))
  return `${JSON.stringify(beside.length > 0 ? { ...main!.report, baselines } : main!.report)}\n`
}

/** A table of the first controller, and one line for each with what it used. */
export function campaignText(controllers: readonly ControllerName[], outcomes: Outcomes): string {
  const all = reports(controllers, outcomes)
  const { name, report } = all[0]!
  const dosed = Object.entries(report.dosedMl).map(([stock, ml]) => `${stock} ${ml.toFixed(0)} mL`)
  const elements = [...Object.entries(report.elements), ['all', report.overall] as const].map(
    ([element, score]) =>
      `${element.padEnd(4)} ${percent(score.medianError)} ${percent(score.p90Error)} ${percent(score.coverage90)} ${percent(score.halfWidth90)} ${percent(score.inBandShare)} ${percent(score.deepestExcursion)}`,
  )
  return [
    `Controller ${name}, ${report.seeds} seed(s)`,
    '      median    p90   covered  ± 90 %   in band  furthest out   (errors and widths as a share of the aim)',
    ...elements,
    `All six in band ${percent(report.overall.allInBandShare)} of the time.`,
    `Dosed: ${dosed.join(', ')}.`,
    `Shots ${report.shots}, refused ${report.refused}, unknown ${report.unknown}, violations ${report.violations.length}, alarms ${report.alarms.length}.`,
    ...seedLines(report),
    'A run used on average:',
    '                      water L  discharged L   salt g  all six in band',
    ...all.map((one) => amountsLine(one.name, amountsOf(one.report))),
    '',
  ].join('\n')
}

function reports(controllers: readonly ControllerName[], outcomes: Outcomes) {
  return controllers.map((name) => ({ name, report: reportOf(outcomes[name] ?? []) }))
}

function amountsOf({ waterL, dischargedL, saltG, overall }: TrialReport): Amounts {
  return { waterL, dischargedL, saltG, allInBandShare: overall.allInBandShare }
}

function amountsLine(name: string, { waterL, dischargedL, saltG, allInBandShare }: Amounts): string {
  const cell = (value: number, width: number): string => value.toFixed(0).padStart(width)
  return `${name.padEnd(20)} ${cell(waterL, 8)} ${cell(dischargedL, 13)} ${cell(saltG, 8)}  ${percent(allInBandShare)}`
}

/** Mean over seeds with its 95 % interval: what another set of seeds may give instead. */
function seedLines({ seeds, perSeed }: TrialReport): string[] {
  if (seeds < 2) return []
  const share = (interval: Interval | null): string =>
    interval ? `${percent(interval.mean)} (${percent(interval.low).trim()} to ${percent(interval.high).trim()})` : '–'
  const plain = (interval: Interval | null): string =>
    interval ? `${interval.mean.toFixed(3)} (${interval.low.toFixed(3)} to ${interval.high.toFixed(3)})` : '–'
  return [
    'Mean of the seeds’ own figures, and where 95 % of such means lie:',
    `  median error ${share(perSeed.medianError)}, p90 ${share(perSeed.p90Error)}, covered ${share(perSeed.coverage90)}`,
    `  RMSE meq/L ${plain(perSeed.rmseMeqPerL)}, all six in band ${share(perSeed.allInBandShare)}`,
  ]
}

function percent(share: number | null): string {
  return share === null ? '     –' : `${(100 * share).toFixed(1).padStart(5)} %`
}
