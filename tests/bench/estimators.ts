/**
 * Estimators over the records of one run: each is told what the daemon was told, less what it is to do without, and
 * asked every hour. No plant is simulated again for them.
 */

import type { Scenario } from '../../simulator/scenario.ts'
import { finishRerun } from '../../src/core/estimate/history.ts'
import { estimateOf } from '../../src/core/estimate/summary.ts'
import type { ProbeRole } from '../../src/core/settings.ts'
import type { LedgerRecord } from '../../src/reservoir/index.ts'
import type { FusedObservation } from '../../src/reservoir/record.ts'
import { foldRecord } from '../../src/reservoir/recover.ts'
import { initialReservoirState, type ReservoirSettings } from '../../src/reservoir/state.ts'
import type { Belief } from '../../src/trial/controller.ts'
import type { TrialHour } from '../../src/trial/run-trial.ts'
import { emptyTally, markHour, type Tally } from '../../src/trial/tally.ts'
import { idealSettings, withIdealNoise } from './ideal-estimator.ts'

/** What was kept of one run: records, and for each scored hour how many of them there were by then. */
export interface Trajectory {
  readonly records: readonly LedgerRecord[]
  readonly hours: readonly (TrialHour & { readonly recordCount: number })[]
}

/** Names of the estimators that are folded from records, the daemon’s own beside them as `full`. */
export const ESTIMATORS = [
  'everySecondReport',
  'withoutMeter',
  'withoutMeterEverySecondReport',
  'conductivityPhTemperature',
  'massBalance',
  'laboratoryHeld',
  'laboratoryScaled',
  'ideal',
] as const
/** `full` is told everything: what it says must be what the daemon itself said. */
export type EstimatorName = (typeof ESTIMATORS)[number] | 'full'

type Believed = Readonly<Record<string, Belief>>

interface Estimator {
  hear(record: LedgerRecord): void
  belief(): Believed | undefined
}

/** The tally of one estimator over a run. */
export function tallyOf(
  name: EstimatorName,
  settings: ReservoirSettings,
  scenario: Scenario,
  { records, hours }: Trajectory,
): Tally {
  if (name === 'ideal')
    return withIdealNoise(scenario, () => run(estimatorOf(name, settings, scenario), records, hours))
  return run(estimatorOf(name, settings, scenario), records, hours)
}

function run(estimator: Estimator, records: Trajectory['records'], hours: Trajectory['hours']): Tally {
  const tally = emptyTally()
  let told = 0
  for (const { truthMgPerL, bands, reports, recordCount } of hours) {
    for (; told < recordCount; told++) estimator.hear(records[told]!)
    markHour(tally, truthMgPerL, estimator.belief(), bands, reports)
  }
  return tally
}

function estimatorOf(name: EstimatorName, settings: ReservoirSettings, scenario: Scenario): Estimator {
  switch (name) {
    case 'full':
      return folded(settings, (record) => record)
    case 'everySecondReport':
      return folded(settings, everySecondReport())
    case 'withoutMeter':
      return folded(without(settings, ['top-up']), unseen(['topUpL']))
    case 'withoutMeterEverySecondReport': {
      const [meter, second] = [unseen(['topUpL']), everySecondReport()]
      return folded(without(settings, ['top-up']), (record) => {
        const kept = second(record)
        return kept && meter(kept)
      })
    }
    case 'conductivityPhTemperature':
      return folded(without(settings, ['top-up', 'level', 'flow']), unseen(['topUpL', 'levelL', 'flowing']))
    case 'massBalance':
      return folded(settings, unseen(['conductivityDsPerM', 'ph']))
    case 'laboratoryHeld':
      return laboratoryHeld(() => 1)
    case 'laboratoryScaled':
      return laboratoryHeld((now, then) => (now === undefined || then === undefined ? 1 : now / then))
    case 'ideal':
      return folded({ ...settings, core: idealSettings(settings.core, scenario) }, (record) => record)
  }
}

type Told = (record: LedgerRecord) => LedgerRecord | undefined

/** The daemon’s own filter with the daemon’s own folding of records. */
function folded(settings: ReservoirSettings, told: Told): Estimator {
  let state = initialReservoirState(settings)
  return {
    hear(record) {
      if (!MOVES.has(record.kind)) return
      const heard = told(record)
      if (heard) state = foldRecord(settings, state, heard)
      const { core } = state
      if (core?.history.rerun)
        state = { ...state, core: { ...core, history: finishRerun(settings.core, core.cohorts, core.history) } }
    },
    belief: () => {
      const estimate = state.core && estimateOf(state.core.history.filter)
      return estimate && { ...estimate.elements, N: estimate.nitrogen }
    },
  } as Estimator
}

/** Kinds of records that an estimate depends on. */
const MOVES: ReadonlySet<string> = new Set([
  'started',
  'observed',
  'settled',
  'laboratory',
  'laboratory-withdrawn',
  'act',
])

function unseen(fields: readonly (keyof FusedObservation)[]): Told {
  return (record) => {
    if (record.kind !== 'observed') return record
    const kept = Object.entries(record.observation).filter(
      ([field]) => !fields.includes(field as keyof FusedObservation),
    )
    return { ...record, observation: Object.fromEntries(kept) as unknown as FusedObservation }
  }
}

function without(settings: ReservoirSettings, roles: readonly ProbeRole[]): ReservoirSettings {
  const probes = settings.core.probes.filter(({ role }) => !roles.includes(role))
  return { ...settings, core: { ...settings.core, probes } }
}

/** The first, the third, …: twice as long from one bottle to the next. */
function everySecondReport(): Told {
  let count = 0
  return (record) => (record.kind !== 'laboratory' || count++ % 2 === 0 ? record : undefined)
}

/** The newest report as it stands, or times a factor of the EC now and the EC when its bottle was filled. */
function laboratoryHeld(factor: (nowDsPerM: number | undefined, thenDsPerM: number | undefined) => number): Estimator {
  const seen: { readonly endMs: number; readonly conductivityDsPerM: number }[] = []
  let report: { readonly mgPerL: Readonly<Record<string, number>>; readonly thenDsPerM: number | undefined } | undefined
  return {
    hear(record) {
      if (record.kind === 'observed' && record.observation.conductivityDsPerM !== undefined) {
        const { endMs, conductivityDsPerM } = record.observation
        seen.push({ endMs, conductivityDsPerM })
      }
      if (record.kind !== 'laboratory') return
      const { values, sampledAtMs } = record.result
      const mgPerL = values.map((value) => [value.element, 'mgPerL' in value ? value.mgPerL : value.belowMgPerL / 2])
      const thenDsPerM = seen.findLast(({ endMs }) => endMs <= sampledAtMs)?.conductivityDsPerM
      report = { mgPerL: Object.fromEntries(mgPerL), thenDsPerM }
    },
    belief() {
      if (!report) return undefined
      const by = factor(seen.at(-1)?.conductivityDsPerM, report.thenDsPerM)
      return Object.fromEntries(
        Object.entries(report.mgPerL).map(([name, mgPerL]) => [name, { mgPerL: mgPerL * by, sdMgPerL: 0 }]),
      )
    },
  }
}
