import fc from 'fast-check'
import { expect, test } from 'vitest'
import { readLaboratoryReport } from '../../../../src/formulation/laboratory/read-report.ts'
import { fixture } from './report-text.ts'

const FILES = ['wide-decimal-comma.csv', 'table-two-tanks.csv', 'long-two-samples.csv', 'sample.json'].map(fixture)

/** A stored report with one stretch of it replaced. */
const damaged = fc
  .tuple(fc.constantFrom(...FILES), fc.nat(2000), fc.nat(40), fc.string({ maxLength: 12, unit: 'binary' }))
  .map(([text, at, length, by]) => text.slice(0, at % text.length) + by + text.slice((at % text.length) + length))

test('a damaged report gives figures that are figures, or errors with places inside the file; never an exception', () => {
  fc.assert(
    fc.property(fc.oneof(damaged, fc.string({ maxLength: 200 })), (text) => {
      const reading = readLaboratoryReport('report.csv', text)
      if (reading.ok) {
        const values = reading.report.samples.flatMap((sample) => sample.values)
        for (const value of values) {
          const mgPerL = 'mgPerL' in value ? value.mgPerL : value.belowMgPerL
          expect(Number.isFinite(mgPerL) && mgPerL >= 0).toBe(true)
        }
        return
      }
      expect(reading.errors.length).toBeGreaterThan(0)
      const lines = text.split('\n').length
      for (const { line, column } of reading.errors) {
        expect(line >= 1 && line <= lines && column >= 1).toBe(true)
      }
    }),
    { numRuns: 1000 },
  )
})
