/** A report of the main ions that tells its nitrogen as a total only. */

import type { ElementName } from '../../chemistry/element.ts'
import { type Entry, type Trouble, troubleAt } from './cell.ts'
import type { Meaning } from './meaning.ts'
import { readValue } from './number-text.ts'

/** With so many of them it is an analysis of the solution, and what is left out of it is missed. */
const MAIN: readonly ElementName[] = ['P', 'K', 'Ca', 'Mg', 'S']
const MAIN_MIN = 3
/** Not urea, organic or Kjeldahl nitrogen, which hold no nitrate. */
const PART = /ure[au]|ureum|harnstoff|mocznik|organi|kjeldahl|tkn/i
const NITROGEN_IN_ALL = 'nitrogen in all is not split into its forms'

/**
 * Doubts about a total without nitrate beside it: its parts are not told, and leaving it out in silence would make the
 * nitrogen look as if it had not been measured.
 */
export function totalAlone(entries: readonly Entry[], read: (entry: Entry) => Meaning): Trouble[] {
  const meanings = entries.map((entry) => ({ entry, meaning: read(entry) }))
  const heard = meanings.flatMap(({ meaning }) => (meaning.kind === 'value' ? [meaning.value.element] : []))
  if (heard.includes('NO3-N') || MAIN.filter((name) => heard.includes(name)).length < MAIN_MIN) return []
  return meanings.flatMap(({ entry, meaning }) => {
    const isTotal = meaning.kind === 'noted' && meaning.noted.why === NITROGEN_IN_ALL && !PART.test(entry.analyte.text)
    if (!isTotal || !STYLES.some((style) => isAboveNothing(entry, style))) return []
    const found = `${entry.analyte.text} ${entry.value.text.trim()} and no nitrate`
    const message = 'Ask the laboratory for nitrate and ammonium, or name it among the analytes to ignore.'
    return [troubleAt(entry.analyte, found, 'NO3-N and NH4-N beside nitrogen in all', message)]
  })
}

const STYLES = ['comma', 'point'] as const

function isAboveNothing({ value }: Entry, style: (typeof STYLES)[number]): boolean {
  const read = readValue(value.text, style)
  return read.kind === 'number' && read.value > 0
}
