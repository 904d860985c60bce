/** What a laboratory report says, in mg/L of the element, and what can be wrong with one. */

import type { ElementName } from '../../chemistry/element.ts'
import type { ElementForm } from '../../chemistry/form.ts'

export interface LaboratoryReport {
  readonly samples: readonly LaboratorySample[]
}

export interface LaboratorySample {
  /** the laboratory’s or the grower’s name for the bottle; the file’s name where there is none */
  readonly label: string
  /** when the bottle was filled, as far as the report says: 2026-03-16, 2026-03-16T08:30, or with an offset */
  readonly sampledAt?: string
  readonly values: readonly ReportedValue[]
  /** at 25 °C */
  readonly conductivityDsPerM?: number
  readonly ph?: number
  readonly alkalinityMeqPerL?: number
  /** what the report says that is not used here, with the reason */
  readonly noted: readonly NotedValue[]
}

/** `form` is how the figure was read, `asWritten` what the report says. */
export type ReportedValue =
  | { readonly element: ElementName; readonly form: ElementForm; readonly mgPerL: number; readonly asWritten: string }
  | {
      readonly element: ElementName
      readonly form: ElementForm
      /** between 0 and this */
      readonly belowMgPerL: number
      readonly asWritten: string
      /** the report said “not detected” and no limit; the limit is ours, on the wide side */
      readonly isLimitAssumed?: true
    }

export interface NotedValue {
  readonly analyte: string
  readonly asWritten: string
  readonly why: string
  /** where the report says a figure and a unit of mass */
  readonly mgPerL?: number
}

/** One thing wrong with a report, where it stands, and what to do. */
export interface ReportError {
  readonly file: string
  /** counted from 1 */
  readonly line: number
  readonly column: number
  readonly found: string
  readonly allowed: string
  readonly message: string
}

export type ReportReading =
  | { readonly ok: true; readonly report: LaboratoryReport }
  | { readonly ok: false; readonly errors: readonly ReportError[] }

/** The error as one line for a person. */
export function formatReportError({ file, line, column, found, allowed, message }: ReportError): string {
  return `${file}:${line}:${column}  found ${found}, allowed ${allowed}. ${message}`
}
