import { readFileSync } from 'node:fs'
import { readLaboratoryReport } from '../../../../src/formulation/laboratory/read-report.ts'
import { formatReportError, type LaboratorySample } from '../../../../src/formulation/laboratory/report.ts'

/** A stored report. */
export function fixture(name: string): string {
  return readFileSync(new URL(`../../../fixtures/laboratory/${name}`, import.meta.url), 'utf8')
}

/** The samples of a text that must be readable. */
export function samplesOf(text: string, ignored?: readonly string[]): readonly LaboratorySample[] {
  const reading = readLaboratoryReport('report.csv', text, ignored)
  if (!reading.ok) throw new Error(reading.errors.map(formatReportError).join('\n'))
  return reading.report.samples
}

/** What a person would read about a text; empty where it is readable. */
export function complaints(text: string, ignored?: readonly string[]): string[] {
  const reading = readLaboratoryReport('report.csv', text, ignored)
  return reading.ok ? [] : reading.errors.map(formatReportError)
}

/** A figure in mg/L of the element; a limit as '<limit'; undefined where the sample has none. */
export function figure(sample: LaboratorySample, element: string): number | string | undefined {
  const value = sample.values.find((one) => one.element === element)
  if (value === undefined) return undefined
  return 'mgPerL' in value ? value.mgPerL : `<${Number(value.belowMgPerL.toPrecision(6))}`
}

/** A long report of one row. */
export function oneRow(analyte: string, value: string, unit: string): string {
  return `Analyte,Value,Unit\n"${analyte}","${value}",${unit}\n`
}
