/** Laboratory files beside which stands what a careful person reads in them: reading, comparing, and naming them. */

import { readdirSync, readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { ELEMENTS } from '../../src/chemistry/element.ts'
import { readLaboratoryReport } from '../../src/formulation/laboratory/read-report.ts'
import { formatReportError, type LaboratorySample } from '../../src/formulation/laboratory/report.ts'
import { judgeReport } from '../../src/formulation/laboratory/report-verdict.ts'
import { textOfReport } from '../../src/shell/api/schema/report-bytes.ts'
import { compareNumbers, defined } from './compare-numbers.ts'

/** Figures are rounded, some of them in two units of which either may be taken. */
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
  readonly sampledAt?: string
  readonly sampledOn?: string
  readonly otherMgPerL?: Readonly<Record<string, number>>
}

/** What water is judged by beside what is tracked, by its name in every language. Silica is noted as it is written. */
const NOTED: Readonly<Record<string, string>> = {
  ...{ fluoride: 'fluor', F: 'fluor', chlorine: 'chlorine', Al: 'alumini' },
}

/** A line and words that the message about it must have. */
type ExpectedMessage = readonly [line: number, words: string]

/** One folder of such files. */
class LaboratoryFiles {
  readonly #folder: URL

  /** @param folder its name among the fixtures */
  constructor(folder: string) {
    this.#folder = new URL(`../fixtures/${folder}/`, import.meta.url)
  }

  /** The names of the files, without their expectations. */
  names(): readonly string[] {
    return readdirSync(this.#folder).filter((name) => !/expected\.json$|^README/.test(name))
  }

  /** The file is refused, and each of the messages is among those given. */
  expectMessages(name: string, expected: readonly ExpectedMessage[]): void {
    const reading = this.#read(name)
    if (reading.ok) throw new Error(`was read as ${JSON.stringify(reading.report)}`)
    const said = reading.errors.map((error) => ({ line: error.line, text: formatReportError(error) }))
    for (const [line, words] of expected) {
      expect(said).toContainEqual({ line, text: expect.stringContaining(words) })
    }
  }

  /** The file can be read, and its first bottle is held with these words until a person has looked at it. */
  expectHeld(name: string, why: string): void {
    const reading = this.#read(name)
    if (!reading.ok) throw new Error(reading.errors.map(formatReportError).join('\n'))
    expect(judgeReport(reading.report.samples[0]!)).toMatchObject({
      kind: 'suspect',
      why: expect.stringContaining(why),
    })
  }

  /** The file is refused with those messages and no other. */
  expectOnly(name: string, expected: readonly ExpectedMessage[]): void {
    this.expectMessages(name, expected)
    const reading = this.#read(name)
    expect(reading).toMatchObject({ ok: false, errors: expected.map(([line]) => ({ line })) })
  }

  /** The file is read, and its samples say what is expected. */
  expectReading(name: string): void {
    const reading = this.#read(name)
    if (!reading.ok) throw new Error(reading.errors.map(formatReportError).join('\n'))
    const beside = new URL(`${name.replace(/\.[^.]*$/, '')}.expected.json`, this.#folder)
    const { samples } = JSON.parse(readFileSync(beside, 'utf8')) as { readonly samples: readonly ExpectedSample[] }
    const found = reading.report.samples
    expect(found).toHaveLength(samples.length)
    for (const sample of samples) {
      // a report of one bottle may not name it where the reader looks; of several the label finds it
      const its = samples.length === 1 ? found[0]! : found.find(({ label }) => label === sample.label)
      if (its === undefined) throw new Error(`no sample ${sample.label} among ${found.map(({ label }) => label)}`)
      compareSample(its, sample)
    }
  }

  #read(name: string) {
    return readLaboratoryReport(name, textOfReport(readFileSync(new URL(name, this.#folder))))
  }
}

type Messages = Readonly<Record<string, readonly ExpectedMessage[]>>

interface BlindSet {
  /** folder among the fixtures */
  readonly folder: string
  /** of the files that a careful person reads, what the reader asks before it reads them, by name */
  readonly asked: Messages
  /** what nobody should read, by name; all other files are readable */
  readonly refused: Messages
  /** what can be read and must not be acted on, by name, and why */
  readonly held?: Readonly<Record<string, string>>
  /** they are asked about that and nothing else */
  readonly isOnly?: boolean
}

/** A set written without sight of the reader: every file is read rightly, or asked about where it is told. */
export function describeBlindSet({ folder, asked, refused, held = {}, isOnly = false }: BlindSet): void {
  const files = new LaboratoryFiles(folder)
  const isQuestioned = (name: string) => name in refused || name in held
  it('names no file that is not there', () => {
    expect(files.names()).toEqual(expect.arrayContaining(Object.keys({ ...asked, ...refused, ...held })))
  })

  describe('laboratory files that a careful person reads', () => {
    for (const name of files.names().filter((one) => !isQuestioned(one))) {
      const messages = asked[name]
      if (messages === undefined) it(`reads ${name}`, () => files.expectReading(name))
      else it(`asks about ${name} before it reads it`, () => files.expectMessages(name, messages))
    }
  })

  describe('laboratory files that ought to be questioned', () => {
    for (const [name, why] of Object.entries(held))
      it(`holds ${name} until a person has looked at it`, () => files.expectHeld(name, why))
    for (const [name, messages] of Object.entries(refused)) {
      it(`refuses ${name}, naming the place`, () =>
        isOnly ? files.expectOnly(name, messages) : files.expectMessages(name, messages))
    }
  })
}

function compareSample(read: LaboratorySample, expected: ExpectedSample): void {
  const above = read.values.flatMap((value) => ('mgPerL' in value ? [[value.element, value.mgPerL]] : []))
  const below = read.values.flatMap((value) => ('belowMgPerL' in value ? [value] : []))
  const known = below.filter(({ isLimitAssumed }) => !isLimitAssumed)
  compareNumbers(Object.fromEntries(above), expected.mgPerL, TOLERANCE)
  compareNumbers(
    Object.fromEntries(known.map(({ element, belowMgPerL }) => [element, belowMgPerL])),
    onlyTracked(expected.belowMgPerL ?? {}),
    TOLERANCE,
  )
  const unknown = below.filter(({ isLimitAssumed }) => isLimitAssumed).map(({ element }) => element)
  expect(unknown.sort()).toEqual([...(expected.notDetected ?? [])].sort())
  const day = expected.sampledAt ?? expected.sampledOn
  // a day may stand where the reader does not look; none may be read wrongly
  if (day !== undefined) expect(read.sampledAt?.slice(0, 10) ?? day.slice(0, 10)).toBe(day.slice(0, 10))
  const at20 = expected.ecMsPerCm20 === undefined ? undefined : expected.ecMsPerCm20 * FROM_20_TO_25
  compareNumbers(
    defined({ ec: read.conductivityDsPerM, ph: read.ph, alkalinity: read.alkalinityMeqPerL }),
    defined({ ec: expected.ecMsPerCm ?? at20, ph: expected.ph, alkalinity: expected.alkalinityMeqPerL }),
    TOLERANCE,
  )
  for (const [substance, mgPerL] of Object.entries(expected.otherMgPerL ?? {})) {
    const name = NOTED[substance]
    if (name === undefined) continue
    const noted = read.noted.find(({ analyte }) => analyte.toLowerCase().includes(name))
    expect(noted, substance).toMatchObject({ mgPerL })
  }
}

/** What is not tracked may be expected too, as silicon. */
function onlyTracked(expected: Readonly<Record<string, number>>): Record<string, number> {
  return Object.fromEntries(Object.entries(expected).filter(([name]) => (ELEMENTS as readonly string[]).includes(name)))
}
