/** What one statement of a report comes to, and the troubles that statements of every kind share. */

import type { Analyte } from './analyte.ts'
import { type Entry, quoted, type Trouble, troubleAt } from './cell.ts'
import type { readValue } from './number-text.ts'
import type { NotedValue, ReportedValue } from './report.ts'
import { type LaboratoryUnit, UNITS_SHOWN } from './unit.ts'

/** What one statement comes to. */
export type Meaning =
  | { readonly kind: 'value'; readonly value: ReportedValue }
  | { readonly kind: 'conductivity'; readonly dsPerM: number }
  | { readonly kind: 'ph'; readonly ph: number }
  /** `isBicarbonate` where carbonate is not in it */
  | { readonly kind: 'alkalinity'; readonly meqPerL: number; readonly isBicarbonate?: boolean }
  | { readonly kind: 'carbonate'; readonly meqPerL: number; readonly noted: NotedValue }
  | { readonly kind: 'noted'; readonly noted: NotedValue }
  /** nitrogen and no more: noted where the sample has nitrate nitrogen too, else a trouble */
  | { readonly kind: 'nitrogen'; readonly noted: NotedValue; readonly trouble: Trouble }
  | { readonly kind: 'nothing' }
  | { readonly kind: 'trouble'; readonly trouble: Trouble }

export type TroubleMeaning = Extract<Meaning, { kind: 'trouble' }>

/** A figure, or the limit below which it lies. */
export type Read = Extract<ReturnType<typeof readValue>, { kind: 'number' | 'below' }>

/** What an analyte of one kind was read as, before its unit is turned into the one used inside. */
export interface Stated<Kind extends Analyte['kind']> {
  readonly analyte: Extract<Analyte, { kind: Kind }>
  readonly read: Read
  readonly unit: LaboratoryUnit
  readonly asForm: string | undefined
}

/** It is kept as it was written, with the reason why it is not used. */
export function note(entry: Entry, why: string): Meaning {
  const asWritten = entry.value.text.trim()
  return asWritten === ''
    ? { kind: 'nothing' }
    : { kind: 'noted', noted: { analyte: entry.analyte.text, asWritten, why } }
}

export function trouble(entry: Entry, found: string, allowed: string, message: string): TroubleMeaning {
  return { kind: 'trouble', trouble: troubleAt(entry.value, `${found} for ${entry.analyte.text}`, allowed, message) }
}

/** A unit that cannot measure the analyte is told where it stands, if it stands in a cell of its own. */
export function wrongUnit(entry: Entry, measured: string, allowed: string, message: string): TroubleMeaning {
  const shown = entry.unit === undefined ? '' : `: ${quoted(entry.unit.text)}`
  const found = `a unit that is none of ${measured} for ${entry.analyte.text}${shown}`
  return { kind: 'trouble', trouble: troubleAt(entry.unit ?? entry.value, found, allowed, message) }
}

export function noUnit(entry: Entry): TroubleMeaning {
  const message = 'Give the unit with the name, in a column unit, or once for the whole report.'
  return trouble(entry, 'no unit', UNITS_SHOWN, message)
}

export function short(value: number): string {
  return String(Number(value.toPrecision(3)))
}

export function sentence(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1)
}
