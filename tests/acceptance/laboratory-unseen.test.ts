// A second set written without sight of the reader: twenty files that a careful person reads, ten that ought to be
// questioned. Some of the twenty are questioned here too, and `ASKED` says about what: none may be read wrongly.

import { readdirSync, readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { readLaboratoryReport } from '../../src/formulation/laboratory/read-report.ts'
import { formatReportError, type LaboratorySample } from '../../src/formulation/laboratory/report.ts'
import { textOfReport } from '../../src/shell/api/schema/report-bytes.ts'
import { compareNumbers, defined } from '../support/compare-numbers.ts'

const FIXTURES = new URL('../fixtures/laboratory-unseen/', import.meta.url)
/** The figure is rounded in two units in one file, and either may be taken. */
const TOLERANCE = 0.01
const FROM_20_TO_25 = 1.116

interface ExpectedSample {
  readonly label: string
  readonly mgPerL: Readonly<Record<string, number>>
  readonly belowMgPerL?: Readonly<Record<string, number>>
  readonly notDetected?: readonly string[]
  readonly ph?: number
  readonly ecMsPerCm?: number
  readonly ecMsPerCm20?: number
  readonly alkalinityMeqPerL?: number
  readonly otherMgPerL?: Readonly<Record<string, number>>
}

/** Of the readable: what is asked before they are read, as line and words of the message. */
const ASKED: Readonly<Record<string, readonly (readonly [number, string])[]>> = {
  '02-wasserwerk-latin1.csv': [
    [20, 'Ammonium as NH4'],
    [21, 'Nitrat as NO3'],
    [24, 'Sulfat as SO4'],
  ],
  '05-spanish-two-unit-columns.csv': [[4, '2026-03-09']],
  '06-lims-single-long.csv': [[12, 'Sulfate as SO4']],
  '10-university-fixed-width.txt': [[2, 'columns set apart by blanks']],
  '13-swiss-apostrophe.csv': [[15, 'Sulfat as SO4']],
  '17-nested-results.json': [[59, 'Sulfate as SO4']],
  '18-two-bottles-side-by-side.csv': [[8, "no headings in 26 rows, the first figure being of 'pH'"]],
  '20-dutch-transposed-unit-row.csv': [[4, 'sampled, received or reported']],
}

/** Of those that nobody should read: a line and words that the message must have. */
const REFUSED: Readonly<Record<string, readonly (readonly [number, string])[]>> = {
  '21-no-units-anywhere.csv': [[6, 'no unit for NO3, allowed mg/L']],
  '22-two-forms-contradict.csv': [[8, '65.5 mg/L of NO3-N) after']],
  '23-soil-report.csv': [[8, "unknown unit 'mg/kg' for Phosphorus, allowed mg/L"]],
  '24-unquoted-decimal-commas.csv': [[2, 'A decimal comma may have split a number']],
  '25-which-bottle.csv': [[1, "'Date'"]],
  '26-ranges-only.csv': [[3, "'68 - 141', a range"]],
  '27-results-pending.csv': [
    [9, "'pending' for Phosphorus"],
    [13, "'to follow'"],
    [16, "'in progress'"],
  ],
  '28-login-page.csv': [[1, 'a web page (HTML)']],
  '29-decimals-mixed.csv': [[7, 'Write all of them in one way']],
  '30-ph-without-its-point.csv': [
    [2, "'71' for pH, allowed a pH from 0 to 14"],
    [8, "'-24.0' for Chloride, allowed 0 or more"],
  ],
}

describe('twenty more laboratory files that a careful person reads', () => {
  for (const name of files().filter((one) => one < '21')) {
    const asked = ASKED[name]
    if (asked !== undefined) it(`asks about ${name} before it reads it`, () => expectMessages(name, asked))
    else it(`reads ${name}`, () => expectReading(name))
  }
})

describe('ten more laboratory files that ought to be questioned', () => {
  for (const name of files().filter((one) => one > '21')) {
    it(`refuses ${name}, naming the place`, () => expectMessages(name, REFUSED[name]!))
  }
})

function expectMessages(name: string, expected: readonly (readonly [number, string])[]): void {
  const reading = read(name)
  if (reading.ok) throw new Error(`was read as ${JSON.stringify(reading.report)}`)
  const said = reading.errors.map((error) => ({ line: error.line, text: formatReportError(error) }))
  for (const [line, words] of expected) {
    expect(said).toContainEqual({ line, text: expect.stringContaining(words) })
  }
}

function expectReading(name: string): void {
  const reading = read(name)
  if (!reading.ok) throw new Error(reading.errors.map(formatReportError).join('\n'))
  const { samples } = JSON.parse(textOf(`${name.replace(/\.[^.]*$/, '')}.expected.json`)) as {
    readonly samples: readonly ExpectedSample[]
  }
  const found = reading.report.samples
  expect(found).toHaveLength(samples.length)
  for (const sample of samples) {
    // a report of one bottle may not name it where the reader looks; of several the label finds it
    const its = samples.length === 1 ? found[0]! : found.find(({ label }) => label === sample.label)
    if (its === undefined) throw new Error(`no sample ${sample.label} among ${found.map(({ label }) => label)}`)
    compareSample(its, sample)
  }
}

function compareSample(read: LaboratorySample, expected: ExpectedSample): void {
  const above = read.values.flatMap((value) => ('mgPerL' in value ? [[value.element, value.mgPerL]] : []))
  const below = read.values.flatMap((value) => ('belowMgPerL' in value ? [value] : []))
  const known = below.filter(({ isLimitAssumed }) => !isLimitAssumed)
  compareNumbers(Object.fromEntries(above), expected.mgPerL, TOLERANCE)
  compareNumbers(
    Object.fromEntries(known.map(({ element, belowMgPerL }) => [element, belowMgPerL])),
    expected.belowMgPerL ?? {},
    TOLERANCE,
  )
  const unknown = below.filter(({ isLimitAssumed }) => isLimitAssumed).map(({ element }) => element)
  expect(unknown).toEqual(expected.notDetected ?? [])
  const at20 = expected.ecMsPerCm20 === undefined ? undefined : expected.ecMsPerCm20 * FROM_20_TO_25
  compareNumbers(
    defined({ ec: read.conductivityDsPerM, ph: read.ph, alkalinity: read.alkalinityMeqPerL }),
    defined({ ec: expected.ecMsPerCm ?? at20, ph: expected.ph, alkalinity: expected.alkalinityMeqPerL }),
    TOLERANCE,
  )
  for (const [substance, mgPerL] of Object.entries(expected.otherMgPerL ?? {})) {
    const noted = read.noted.find(({ analyte }) => analyte.toLowerCase().includes(substance))
    expect(noted, substance).toMatchObject({ mgPerL })
  }
}

function files(): readonly string[] {
  return readdirSync(FIXTURES).filter((name) => !/expected\.json$|^README/.test(name))
}

function read(name: string) {
  return readLaboratoryReport(name, textOfReport(readFileSync(new URL(name, FIXTURES))))
}

function textOf(name: string): string {
  return readFileSync(new URL(name, FIXTURES), 'utf8')
}
