// Forty laboratory files made by someone who had not seen the reader: twenty that a careful person reads right,
// twenty that nobody should read. Laboratories and places are invented; expected figures were worked out from
// atomic weights and carry their arithmetic in the fixture.

import { readdirSync, readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { readLaboratoryReport } from '../../src/formulation/laboratory/read-report.ts'
import { formatReportError, type ReportError } from '../../src/formulation/laboratory/report.ts'
import { compareNumbers, defined } from '../support/compare-numbers.ts'

const FIXTURES = new URL('../fixtures/laboratory-blind/', import.meta.url)
const TOLERANCE = 0.005

type ExpectedSample = {
  readonly label?: string
  readonly sampledAt?: string
  readonly values: Readonly<Record<string, number>>
  readonly below?: Readonly<Record<string, number>>
  readonly conductivityDsPerM?: number
  readonly ph?: number
  readonly alkalinityMeqPerL?: number
  /** Analytes said to be not detected, without a limit: no number, and the limit that is assumed is owned to. */
  readonly notDetected?: readonly string[]
  /** Analytes the house does not track, which must be said to have been seen. */
  readonly noted?: readonly string[]
}

type ExpectedRefusal = {
  /** Lines any of which is a fair place to point at. */
  readonly lines?: readonly number[]
  /** Where the column is clear: 'line:column', any of which is fair, counted in characters from 1. */
  readonly places?: readonly string[]
  /** At least one must be found in what is said. */
  readonly words: readonly string[]
}

describe('twenty laboratory files that a careful person reads right', () => {
  for (const name of filesIn('readable')) {
    const expected = expectationOf<{ samples: readonly ExpectedSample[] }>('readable', name)
    it(`reads ${name}`, () => {
      const reading = readLaboratoryReport(name, textOf('readable', name))
      if (!reading.ok) throw new Error(reading.errors.map(formatReportError).join('\n'))
      expect(reading.report.samples).toHaveLength(expected.samples.length)
      expected.samples.forEach((sample, index) => {
        compareSample(reading.report.samples[index]!, sample)
      })
    })
  }
})

describe('twenty laboratory files that nobody should read', () => {
  for (const name of filesIn('broken')) {
    const expected = expectationOf<ExpectedRefusal>('broken', name)
    it(`refuses ${name}, naming the place`, () => {
      const reading = readLaboratoryReport(name, textOf('broken', name))
      if (reading.ok) throw new Error(`was read as ${JSON.stringify(reading.report)}`)
      const said = reading.errors.map(formatReportError).join('\n')
      const there = reading.errors.filter((error) => isNamed(error, expected))
      expect(there.length, said).toBeGreaterThan(0)
      for (const error of reading.errors) {
        for (const part of [error.file, error.found, error.allowed, error.message]) expect(part, said).not.toBe('')
      }
      const saidThere = there.map(formatReportError).join('\n')
      expect(expected.words.filter((word) => saidThere.includes(word)).length, said).toBeGreaterThan(0)
    })
  }
})

function isNamed({ line, column }: ReportError, { lines, places }: ExpectedRefusal): boolean {
  return lines?.includes(line) ?? places?.includes(`${line}:${column}`) ?? false
}

type ReadSample = Extract<ReturnType<typeof readLaboratoryReport>, { readonly ok: true }>['report']['samples'][number]

function compareSample(read: ReadSample, expected: ExpectedSample): void {
  const values: Record<string, number> = {}
  const below: Record<string, number> = {}
  const assumed: string[] = []
  for (const value of read.values) {
    if ('mgPerL' in value) values[value.element] = value.mgPerL
    else if (value.isLimitAssumed) assumed.push(value.element)
    else below[value.element] = value.belowMgPerL
  }
  expect(assumed).toEqual(expected.notDetected ?? [])
  compareNumbers(values, expected.values, TOLERANCE)
  compareNumbers(below, expected.below ?? {}, TOLERANCE)
  compareNumbers(
    defined({ ec: read.conductivityDsPerM, ph: read.ph, alkalinity: read.alkalinityMeqPerL }),
    defined({ ec: expected.conductivityDsPerM, ph: expected.ph, alkalinity: expected.alkalinityMeqPerL }),
    TOLERANCE,
  )
  if (expected.label !== undefined) expect(read.label).toBe(expected.label)
  if (expected.sampledAt !== undefined) expect(read.sampledAt).toContain(expected.sampledAt)
  for (const noted of expected.noted ?? []) expect(JSON.stringify(read.noted)).toContain(noted)
}

function filesIn(folder: string): readonly string[] {
  return readdirSync(new URL(`${folder}/`, FIXTURES)).filter((name) => !name.endsWith('.expected.json'))
}

function expectationOf<Expected>(folder: string, name: string): Expected {
  return JSON.parse(textOf(folder, `${name}.expected.json`)) as Expected
}

function textOf(folder: string, name: string): string {
  return readFileSync(new URL(`${folder}/${name}`, FIXTURES), 'utf8')
}
