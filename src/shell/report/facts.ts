/** Everything a report of a period tells, gathered from the ledger and the beliefs that are kept. */

import { ELEMENT_INDEX, ELEMENTS, type ElementName } from '../../chemistry/element.ts'
import { toMgPerL } from '../../chemistry/molar-mass.ts'
import { ALARMS, alarmText } from '../../core/alarm/alarm-definition.ts'
import { benchBands } from '../../core/plan/bands.ts'
import type { LedgerRecord } from '../../reservoir/record.ts'
import type { Period, Site } from '../api/site.ts'
import { beliefAt, beliefsBetween } from '../api/view/belief.ts'
import { actText, instructionText } from '../api/view/wording.ts'
import type { Slices } from '../slices.ts'
import type { ChartPoint } from './chart.ts'
import { type ByCalendar, byCalendar, type Use, useOf } from './use.ts'

export interface ElementFacts {
  readonly element: ElementName
  readonly band: { readonly low: number; readonly aim: number; readonly high: number }
  /** mg/L with a 90 % interval */
  readonly points: readonly ChartPoint[]
  readonly laboratory: readonly { readonly atMs: number; readonly value: number }[]
  /** share of the beliefs inside the band of their own day; undefined where there is none */
  readonly inBand?: number
}

/** A laboratory value beside what was believed without its report. */
export interface Compared {
  readonly report: string
  readonly sampledAtMs: number
  readonly element: string
  readonly reportedMgPerL: number
  readonly isBelow: boolean
  readonly believedMgPerL?: number
  readonly sdMgPerL?: number
}

/** Who did or said what, when and why. */
export interface Said {
  readonly atMs: number
  readonly by: string
  readonly text: string
  readonly reason: string
}

export interface ReportFacts extends Period {
  readonly site: string
  readonly zone: string
  readonly version: string
  readonly writtenAtMs: number
  readonly currency?: string
  readonly elements: readonly ElementFacts[]
  readonly use: Use
  readonly byCalendar: ByCalendar
  readonly alarms: readonly {
    readonly atMs: number
    readonly text: string
    readonly state: string
    readonly by: string
  }[]
  readonly trips: readonly { readonly atMs: number; readonly text: string }[]
  readonly compared: readonly Compared[]
  readonly said: readonly Said[]
  readonly limits: readonly Said[]
  readonly batches: readonly Said[]
  readonly refused: number
}

const KINDS = [
  ...(['settled', 'act', 'observed', 'judged', 'alarm', 'tripped'] as const),
  ...(['instructed', 'laboratory', 'laboratory-withdrawn'] as const),
] as const
type Told = Extract<LedgerRecord, { kind: (typeof KINDS)[number] }>

/** A day at a time, so that the loop keeps its pace while a season is read. */
const READ_MS = 86_400_000

/** @param slices where other work waits for the thread, as beside the loop */
export async function reportFacts(site: Site, period: Period, slices: Slices = ALONE): Promise<ReportFacts> {
  const records: Told[] = []
  let refused = 0
  for (let { fromMs } = period; fromMs < period.untilMs; fromMs += READ_MS) {
    const untilMs = Math.min(fromMs + READ_MS, period.untilMs)
    const read = await site.records(KINDS, { fromMs, untilMs })
    for (const record of read) {
      if (record.atMs < fromMs || record.atMs >= untilMs) continue
      if (record.kind !== 'judged') records.push(record)
      else if (record.verdict === 'refuse') refused++
    }
    await new Promise((done) => setImmediate(done))
  }
  const { configuration } = site
  const use = useOf(configuration, site.settings.core, records.filter(isUse))
  const { prices } = configuration.site
  return {
    ...period,
    ...{
      site: configuration.site.site,
      zone: configuration.site.zone,
      version: site.version,
      writtenAtMs: site.nowMs(),
    },
    ...(prices === undefined ? {} : { currency: prices.currency }),
    elements: await elementsOf(site, period, records, slices),
    use,
    byCalendar: byCalendar(configuration, use, period.untilMs - period.fromMs),
    alarms: records.flatMap((record) => (record.kind === 'alarm' ? [alarmOf(record)] : [])),
    trips: records.flatMap((record) =>
      record.kind === 'tripped' ? [{ atMs: record.atMs, text: `${record.trip}: ${record.why}` }] : [],
    ),
    compared: await comparedOf(site, records),
    ...peopleOf(records),
    refused,
  }
}

function isUse(record: Told): record is Extract<Told, { kind: 'settled' | 'act' | 'observed' }> {
  return record.kind === 'settled' || record.kind === 'act' || record.kind === 'observed'
}

/** Nobody else waits. */
const ALONE: Slices = { next: async () => {} }

async function elementsOf(
  site: Site,
  period: Period,
  records: readonly Told[],
  slices: Slices,
): Promise<ElementFacts[]> {
  const { core } = site.state()
  if (!core) return []
  const beliefs = await beliefsBetween(site, core, period, slices)
  const reports = reportsOf(records)
  return ELEMENTS.map((element): ElementFacts => {
    const bandAt = (atMs: number) => {
      const { low, aim, high } = benchBands(site.settings.core, core.cohorts, atMs).elements[ELEMENT_INDEX[element]]!
      return { low: toMgPerL(element, low), aim: toMgPerL(element, aim), high: toMgPerL(element, high) }
    }
    const points = beliefs.map(({ atMs, elements }): ChartPoint => {
      const { mgPerL: mean, sdMgPerL } = elements[element]
      return { atMs, mean, low: Math.max(0, mean - SDS_90 * sdMgPerL), high: mean + SDS_90 * sdMgPerL }
    })
    const inside = points.filter(({ atMs, mean }) => mean >= bandAt(atMs).low && mean <= bandAt(atMs).high)
    const laboratory = reports.flatMap(({ result }) =>
      result.values.flatMap((value) =>
        value.element === element && 'mgPerL' in value ? [{ atMs: result.sampledAtMs, value: value.mgPerL }] : [],
      ),
    )
    return {
      ...{ element, points, band: bandAt(period.untilMs) },
      laboratory: laboratory.filter(({ atMs }) => atMs >= period.fromMs && atMs <= period.untilMs),
      ...(points.length === 0 ? {} : { inBand: inside.length / points.length }),
    }
  })
}

/** 90 % of a normal belief lies within this many standard deviations. */
const SDS_90 = 1.645

type Report = Extract<Told, { kind: 'laboratory' }>

/** The last word on each report, without those taken back. */
function reportsOf(records: readonly Told[]): readonly Report[] {
  const reports = new Map<string, Report>()
  for (const record of records) {
    if (record.kind === 'laboratory') reports.set(record.result.id, record)
    if (record.kind === 'laboratory-withdrawn') reports.delete(record.id)
  }
  return [...reports.values()]
}

async function comparedOf(site: Site, records: readonly Told[]): Promise<Compared[]> {
  const compared: Compared[] = []
  const { core } = site.state()
  for (const { result } of reportsOf(records)) {
    const believed = core ? beliefAt(site, core, result.sampledAtMs, [result.id])?.elements : undefined
    for (const value of result.values) {
      const about = believed?.[value.element as ElementName]
      compared.push({
        ...{ report: result.id, sampledAtMs: result.sampledAtMs, element: value.element },
        ...('mgPerL' in value
          ? { reportedMgPerL: value.mgPerL, isBelow: false }
          : { reportedMgPerL: value.belowMgPerL, isBelow: true }),
        ...(about ? { believedMgPerL: about.mgPerL, sdMgPerL: about.sdMgPerL } : {}),
      })
    }
    await new Promise((done) => setImmediate(done))
  }
  return compared
}

function alarmOf({ atMs, alarm, state, text, by }: Extract<Told, { kind: 'alarm' }>) {
  const definition = ALARMS.find(({ id }) => id === alarm.split(':')[0])
  return { atMs, text: text === '' && definition ? alarmText(definition, '') : text, state, by: by ?? '' }
}

function peopleOf(records: readonly Told[]): Pick<ReportFacts, 'said' | 'limits' | 'batches'> {
  const said: Said[] = []
  const limits: Said[] = []
  const batches: Said[] = []
  for (const record of records) {
    if (record.kind === 'instructed') {
      const { atMs, by, reason, instruction } = record
      const one = { atMs, by, reason, text: instructionText(instruction) }
      ;(instruction.instruction === 'limit' ? limits : said).push(one)
    } else if (record.kind === 'act') {
      const one = { atMs: record.act.doneAtMs, by: record.by, text: actText(record.act), reason: '' }
      ;(record.act.act === 'stock-refilled' ? batches : said).push(one)
    } else if (record.kind === 'laboratory') {
      said.push({ atMs: record.atMs, by: record.by, text: `laboratory report ${record.result.id} given`, reason: '' })
    } else if (record.kind === 'laboratory-withdrawn') {
      said.push({ atMs: record.atMs, by: record.by, text: `laboratory report ${record.id} taken back`, reason: '' })
    }
  }
  return { said, limits, batches }
}
