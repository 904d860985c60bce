/** The unit of one statement, wherever the report says it. */

import { type Cell, type Entry, quoted, troubleAt } from './cell.ts'
import { type TroubleMeaning, trouble } from './meaning.ts'
import { type LaboratoryUnit, readUnit, UNITS_SHOWN } from './unit.ts'

/** The nearest statement of the unit holds: with the value, in its own cell, in the name. They may not contradict. */
export function unitOf(
  entry: Entry,
  inName: LaboratoryUnit | undefined,
  rest: string,
): LaboratoryUnit | TroubleMeaning | undefined {
  const withValue = rest === '' ? undefined : readUnit(rest)
  if (rest !== '' && withValue === undefined) {
    return trouble(
      entry,
      quoted(entry.value.text),
      'a number, with a unit behind it or none',
      'Move remarks to a column of their own.',
    )
  }
  const isSaid = entry.unit !== undefined && !NO_UNIT.test(entry.unit.text.trim())
  const inCell = isSaid ? readUnit(entry.unit.text) : undefined
  if (isSaid && inCell === undefined) return unknownUnit(entry, entry.unit)
  const said = [withValue, inCell, inName].filter((unit) => unit !== undefined)
  if (said.every((unit) => isSameUnit(unit, said[0]!))) return said.find((unit) => 'form' in unit) ?? said[0]
  return trouble(entry, 'two units that differ', 'one unit', 'Remove the wrong one.')
}

/** What stands in a unit’s place where there is none. */
const NO_UNIT = /^(?:|[-–—]+|none|n\/?a|unitless)$/i

function unknownUnit({ analyte }: Entry, unit: Cell): TroubleMeaning {
  const found = `an unknown unit ${quoted(unit.text)} for ${analyte.text}`
  const message = unit.text.includes('\ufffd')
    ? 'The file is not in UTF-8, which loses the micro sign: save it again as CSV UTF-8, or write ug/L, uS/cm.'
    : 'Correct the unit.'
  return { kind: 'trouble', trouble: troubleAt(unit, found, UNITS_SHOWN, message) }
}

function isSameUnit(a: LaboratoryUnit, b: LaboratoryUnit): boolean {
  const { form: _a, ...bare } = a as LaboratoryUnit & { form?: string }
  const { form: _b, ...other } = b as LaboratoryUnit & { form?: string }
  return JSON.stringify(bare) === JSON.stringify(other)
}
