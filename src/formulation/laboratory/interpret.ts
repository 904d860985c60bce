/** From one statement of a report to what it says, in the units used inside. */

import { ANALYTES_SHOWN, type AnalyteReading, withStatedForm } from './analyte.ts'
import { type Cell, type Entry, quoted, troubleAt } from './cell.ts'
import { dateHint } from './column.ts'
import { readFlagged } from './flag.ts'
import { interpretAlkalinity, interpretCarbonate } from './interpret-alkalinity.ts'
import { interpretConductivity } from './interpret-conductivity.ts'
import { interpretElement } from './interpret-element.ts'
import { type Meaning, note, noUnit, type Read, type TroubleMeaning, trouble } from './meaning.ts'
import type { DecimalStyle } from './number-text.ts'
import { unitOf } from './stated-unit.ts'
import type { LaboratoryUnit } from './unit.ts'
import type { Vocabulary } from './vocabulary.ts'

export interface Reading {
  readonly words: Vocabulary
  readonly style: DecimalStyle | undefined
  /** names of analytes, in lower case, that are left aside on purpose */
  readonly ignored: ReadonlySet<string>
}

/** What one statement comes to, in the units used inside. */
export function interpret(entry: Entry, { words, style, ignored }: Reading): Meaning {
  const named = withFormCell(entry, words)
  if ('kind' in named) return named
  const { analyte, asForm, unit: unitInName } = named
  if (ignored.has(entry.analyte.text.trim().toLowerCase())) return note(entry, 'left aside on request')
  if (analyte?.kind === 'untracked') return untracked(entry, analyte.why, { unitInName, style })
  if (analyte === undefined) return unknownAnalyte(entry)
  if (analyte.kind === 'carbonate') return interpretCarbonate(entry, named, style)
  const read = readFlagged(entry, style)
  if (read.kind === 'not-measured') return { kind: 'nothing' }
  if (read.kind === 'trouble') return trouble(entry, read.found, read.allowed, read.message)
  if (analyte.kind === 'nitrogen') return interpretNitrogen(entry)
  const unit = unitOf(entry, unitInName, read.rest)
  if (unit?.kind === 'trouble') return unit
  if (analyte.kind === 'ph') return interpretPh(entry, read, unit)
  if (analyte.kind === 'salts' && unit?.kind !== 'conductivity') return note(entry, 'follows from other values')
  if (unit === undefined) return noUnit(entry)
  if (analyte.kind === 'conductivity' || analyte.kind === 'salts')
    return interpretConductivity(entry, { analyte, read, unit })
  if (analyte.kind === 'alkalinity') return interpretAlkalinity(entry, { analyte, read, unit, asForm })
  return interpretElement(entry, { analyte, read, unit, asForm, style })
}

/** The analyte by its name and, where there is one, the cell with its form. */
function withFormCell(entry: Entry, { analyteOf }: Vocabulary): AnalyteReading | TroubleMeaning {
  const named = analyteOf(entry.analyte.text)
  const text = entry.form?.text.trim() ?? ''
  if (text === '' || named.analyte?.kind === 'untracked') return named
  const found = `the form ${quoted(text)} for ${entry.analyte.text}`
  const allowed = 'a form of that analyte, as NO3-N, P2O5, CaCO3'
  const refusal = (cell: Cell): TroubleMeaning => ({
    kind: 'trouble',
    trouble: troubleAt(cell, found, allowed, 'Correct the form or the name.'),
  })
  return withStatedForm(named, text) ?? refusal(entry.form!)
}

function interpretNitrogen(entry: Entry): Meaning {
  const { analyte, value } = entry
  const asWritten = value.text.trim()
  const found = `no kind of nitrogen for ${analyte.text} ${asWritten}`
  const message = 'Ask the laboratory for NO3-N and NH4-N, or name it among the analytes to ignore.'
  return {
    kind: 'nitrogen',
    noted: { analyte: analyte.text, asWritten, why: 'nitrogen in all is not split into its forms' },
    trouble: troubleAt(analyte, found, 'NO3-N, NH4-N or total nitrogen', message),
  }
}

/** A figure that is not tracked may be of use to a verdict on water, which knows it by mg/L. */
function untracked(
  entry: Entry,
  why: string,
  { unitInName, style }: { readonly unitInName: LaboratoryUnit | undefined; readonly style: DecimalStyle | undefined },
): Meaning {
  const noted = note(entry, why)
  const read = readFlagged(entry, style)
  if (noted.kind !== 'noted' || read.kind !== 'number') return noted
  const unit = unitOf(entry, unitInName, read.rest)
  if (unit?.kind !== 'mass') return noted
  return { kind: 'noted', noted: { ...noted.noted, mgPerL: read.value * unit.mgPerL } }
}

function unknownAnalyte({ analyte }: Entry): Meaning {
  const message =
    dateHint(analyte.text) ??
    'Correct the name, say in a mapping file what it is, or name it among the analytes to ignore.'
  return {
    kind: 'trouble',
    trouble: troubleAt(analyte, `an unknown analyte ${quoted(analyte.text)}`, ANALYTES_SHOWN, message),
  }
}

function interpretPh(entry: Entry, read: Read, unit: LaboratoryUnit | undefined): Meaning {
  if (unit !== undefined && unit.kind !== 'ph') return trouble(entry, 'a unit', 'no unit', 'pH has none.')
  if (read.kind === 'number' && read.value > 0 && read.value <= 14) return { kind: 'ph', ph: read.value }
  return trouble(entry, quoted(entry.value.text), 'a pH from 0 to 14', 'Correct it or leave it blank.')
}
