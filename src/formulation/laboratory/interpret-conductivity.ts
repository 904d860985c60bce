/** Statements of conductivity, in dS/m at 25 °C. */

import type { Analyte } from './analyte.ts'
import { type Entry, quoted } from './cell.ts'
import { type Meaning, type Read, short, trouble, wrongUnit } from './meaning.ts'
import type { LaboratoryUnit } from './unit.ts'

/** More than any solution conducts at 25 °C, saturated brine (about 250 dS/m, from memory) included. */
const CONDUCTIVITY_MAX_DS_PER_M = 300

/** Conductivity at 25 °C over that at 20 °C, of natural waters (DIN EN 27888, from memory); solutions differ by a percent. */
const FROM_20_TO_25 = 1.116

export function interpretConductivity(
  entry: Entry,
  { analyte, read, unit }: { readonly analyte: Analyte; readonly read: Read; readonly unit: LaboratoryUnit },
): Meaning {
  const atC = analyte.kind === 'conductivity' ? (analyte.atC ?? 25) : 25
  if (atC !== 25 && atC !== 20) {
    const message = 'From other temperatures nothing is worked out here: ask the laboratory for 25 °C.'
    return trouble(entry, `${atC} °C`, 'conductivity at 25 °C or at 20 °C', message)
  }
  if (unit.kind === 'mass') {
    const message =
      'Parts per million are no unit of conductivity: two scales are in use, 500 and 700 for 1 mS/cm. Ask for mS/cm.'
    return wrongUnit(entry, 'conductivity', 'mS/cm, dS/m, uS/cm', message)
  }
  if (unit.kind !== 'conductivity') return wrongUnit(entry, 'conductivity', 'mS/cm, dS/m, uS/cm', 'Correct the unit.')
  if (read.kind !== 'number') {
    return trouble(entry, quoted(entry.value.text), 'a number', 'Leave it blank where it was not measured.')
  }
  const dsPerM = read.value * unit.dsPerM * (atC === 20 ? FROM_20_TO_25 : 1)
  if (dsPerM <= CONDUCTIVITY_MAX_DS_PER_M) return { kind: 'conductivity', dsPerM }
  const allowed = `0 to ${CONDUCTIVITY_MAX_DS_PER_M} mS/cm`
  return trouble(entry, `${short(dsPerM)} mS/cm`, allowed, 'No solution conducts so well: is it uS/cm?')
}
