/** A ledger folded again from its start, and what was believed at each bottle before its report was taken in. */

import { ELEMENT_INDEX, isElementName } from '../chemistry/element.ts'
import { ELEMENT_MOLAR_MASS } from '../chemistry/molar-mass.ts'
import { advance } from '../core/estimate/advance.ts'
import type { FilterState } from '../core/estimate/filter-state.ts'
import { finishRerun } from '../core/estimate/history.ts'
import { levelsOf } from '../core/estimate/summary.ts'
import type { CoreState } from '../core/state.ts'
import type { LedgerRecord } from './record.ts'
import { foldRecord } from './recover.ts'
import { initialReservoirState, type ReservoirSettings } from './state.ts'

export interface ReportAgainst {
  readonly id: string
  readonly sampledAtMs: number
  readonly arrivedAtMs: number
  readonly elements: readonly ElementAgainst[]
}

export interface ElementAgainst {
  readonly element: string
  readonly estimatedMgPerL: number
  readonly sdMgPerL: number
  /** a detection limit counts as half of it */
  readonly reportedMgPerL: number
  /** report less estimate, in standard deviations of both together */
  readonly sigmas: number
}

/** A laboratory’s own doubt where the report states none. Majors 4 % with the bottle’s 1.5 %, as the estimate takes them. */
const REPORT_SD = Math.hypot(0.04, 0.015)

/** Folds every record; the belief asked about is the one that knew nothing of the report. */
export function reportsAgainst(
  settings: ReservoirSettings,
  records: readonly LedgerRecord[],
): { readonly reports: readonly ReportAgainst[]; readonly filter: FilterState | undefined } {
  const reports: ReportAgainst[] = []
  let state = initialReservoirState(settings)
  for (const record of records) {
    if (record.kind === 'laboratory' && state.core) {
      const at = beliefAt(settings, state.core, record.result.sampledAtMs)
      if (at) reports.push(against(at, record))
    }
    state = foldRecord(settings, state, record)
    const { core } = state
    if (core?.history.rerun)
      state = { ...state, core: { ...core, history: finishRerun(settings.core, core.cohorts, core.history) } }
  }
  return { reports, filter: state.core?.history.filter }
}

/** The belief at the end of the step in which a moment lies; undefined before the oldest kept one. */
function beliefAt(settings: ReservoirSettings, core: CoreState, atMs: number): FilterState | undefined {
  const { history, cohorts } = core
  if (atMs > history.filter.atMs) return history.filter
  const stretch = history.stretches.findLast(({ start }) => start.atMs < atMs)
  if (!stretch) return undefined
  let filter = stretch.start
  for (const step of stretch.steps) {
    if (filter.atMs >= atMs) break
    filter = advance(settings.core, cohorts, filter, step)
  }
  return filter
}

function against(filter: FilterState, record: Extract<LedgerRecord, { kind: 'laboratory' }>): ReportAgainst {
  const { mmolPerL, sdMmolPerL } = levelsOf(filter)
  const { id, sampledAtMs, values } = record.result
  const elements = values.flatMap((value): ElementAgainst[] => {
    if (!isElementName(value.element)) return []
    const at = ELEMENT_INDEX[value.element]
    const molarMass = ELEMENT_MOLAR_MASS[value.element]
    const reportedMgPerL = 'mgPerL' in value ? value.mgPerL : value.belowMgPerL / 2
    const reportSd = ('mgPerL' in value && value.sdMgPerL) || REPORT_SD * reportedMgPerL
    const [estimatedMgPerL, sdMgPerL] = [mmolPerL[at]! * molarMass, sdMmolPerL[at]! * molarMass]
    const sigmas = (reportedMgPerL - estimatedMgPerL) / Math.hypot(sdMgPerL, reportSd)
    return [{ element: value.element, estimatedMgPerL, sdMgPerL, reportedMgPerL, sigmas }]
  })
  return { id, sampledAtMs, arrivedAtMs: record.atMs, elements }
}
