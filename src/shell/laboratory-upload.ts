/** An uploaded laboratory file as a result for the loop; anything doubtful is held for a person, never guessed. */

import { createHash } from 'node:crypto'
import { chooseSample } from '../formulation/laboratory/choose-sample.ts'
import { readMapping } from '../formulation/laboratory/mapping.ts'
import { readLaboratoryReport } from '../formulation/laboratory/read-report.ts'
import type { LaboratorySample, ReportError } from '../formulation/laboratory/report.ts'
import { judgeReport, type ReportVerdict } from '../formulation/laboratory/report-verdict.ts'
import type { LaboratoryResult, LaboratoryValue } from '../reservoir/input.ts'
import type { LaboratoryUpload } from './daemon-view.ts'

export type ReadUpload =
  | { readonly kind: 'result'; readonly result: LaboratoryResult; readonly text: string }
  | { readonly kind: 'unreadable'; readonly errors: readonly ReportError[] }
  | { readonly kind: 'held'; readonly id: string; readonly why: readonly string[] }
  | { readonly kind: 'refused'; readonly why: readonly string[] }

/** One bottle of a report, judged, nothing decided. */
export interface ReadBottle {
  readonly kind: 'bottle'
  /** every bottle of the file */
  readonly labels: readonly string[]
  readonly sample: LaboratorySample
  readonly id: string
  readonly verdict: ReportVerdict
  readonly result: LaboratoryResult
}

export type BottleUpload = Omit<LaboratoryUpload, 'by' | 'isAccepted'>

/** Reads the file and finds the bottle that is meant. */
export function readBottle(upload: BottleUpload): ReadBottle | Exclude<ReadUpload, { kind: 'result' | 'held' }> {
  const tooLong = rowsBeyond(upload)
  if (tooLong !== undefined) return { kind: 'refused', why: [tooLong] }
  const mapping = upload.mapping && readMapping(upload.mapping.fileName, upload.mapping.text)
  if (mapping && !mapping.ok) return { kind: 'unreadable', errors: mapping.errors }
  const reading = readLaboratoryReport(upload.fileName, upload.text, [], mapping?.words)
  if (!reading.ok) return { kind: 'unreadable', errors: reading.errors }
  const labels = reading.report.samples.map(({ label }) => label)
  const choice = chooseSample(reading.report, upload.sample)
  if (!choice.ok) return { kind: 'refused', why: [`${upload.fileName}: ${choice.message}`] }
  const { sample } = choice
  const id = createHash('sha256').update(`${upload.sampledAtMs}\n${upload.text}`).digest('hex').slice(0, 12)
  return {
    kind: 'bottle',
    labels,
    sample,
    id,
    verdict: judgeReport(sample),
    result: toResult(sample, id, upload.sampledAtMs),
  }
}

/** The loop waits while a file is read, some 0.1 ms a row: more rows than any one report has are not begun. */
const ROWS_MAX = 250
/** JSON spreads one value over several lines. */
const JSON_LINES_MAX = 1500

function rowsBeyond({ fileName, text }: BottleUpload): string | undefined {
  const most = /^\s*[[{]/.test(text) ? JSON_LINES_MAX : ROWS_MAX
  const rows = text.split('\n').length
  if (rows <= most) return undefined
  return `${fileName} has ${rows} lines; up to ${most} are read. Send the rows of the bottle alone, with the header.`
}

/**
 * Reads and judges an upload. The same file for the same bottle is the same result, so sending it twice changes nothing.
 */
export function readUpload(upload: LaboratoryUpload): ReadUpload {
  const read = readBottle(upload)
  if (read.kind !== 'bottle') return read
  const { sample, id, verdict } = read
  if (verdict.kind === 'suspect' && !upload.isAccepted)
    return { kind: 'held', id, why: [verdict.why, ...verdict.explanations] }
  return { kind: 'result', result: read.result, text: summary(sample) }
}

function toResult(sample: LaboratorySample, id: string, sampledAtMs: number): LaboratoryResult {
  const values = sample.values.map((value): LaboratoryValue => {
    const { element } = value
    return 'belowMgPerL' in value ? { element, belowMgPerL: value.belowMgPerL } : { element, mgPerL: value.mgPerL }
  })
  const { conductivityDsPerM, ph, alkalinityMeqPerL } = sample
  return {
    id,
    sampledAtMs,
    values,
    ...(conductivityDsPerM === undefined ? {} : { conductivityDsPerM }),
    ...(ph === undefined ? {} : { ph }),
    ...(alkalinityMeqPerL === undefined ? {} : { alkalinityMeqPerL }),
  }
}

function summary(sample: LaboratorySample): string {
  const read = sample.values.map(
    (value) => `${value.element} ${'belowMgPerL' in value ? `<${value.belowMgPerL}` : value.mgPerL.toPrecision(3)}`,
  )
  const noted = sample.noted.map(({ analyte, why }) => `${analyte} left out (${why})`)
  return [`read in mg/L: ${read.join(', ')}`, ...noted].join('; ')
}
