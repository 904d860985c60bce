import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import type { ElementName } from '../../../../src/chemistry/element.ts'
import { usedReservoir } from '../../../../src/formulation/amend/used-reservoir.ts'
import { readLaboratoryReport } from '../../../../src/formulation/laboratory/read-report.ts'
import type { LaboratorySample } from '../../../../src/formulation/laboratory/report.ts'
import { judgeReport } from '../../../../src/formulation/laboratory/report-verdict.ts'
import { BANDS } from '../amend/bench.ts'

function sampleOf(name: string): LaboratorySample {
  const reading = readLaboratoryReport(name, readFileSync(`tests/fixtures/desk/${name}`, 'utf8'))
  if (!reading.ok) throw new Error(JSON.stringify(reading.errors))
  return reading.report.samples[0]!
}

describe('may a report be acted on?', () => {
  it('one whose charges fit is usable, without a remark', () => {
    const verdict = judgeReport(sampleOf('used-potassium-starved.csv'))
    expect(verdict).toMatchObject({ kind: 'usable', remarks: [] })
  })

  it('nitrate written as the ion is held, and the one mistake that explains it is named with its value', () => {
    const verdict = judgeReport(sampleOf('suspect-nitrate-as-ion.csv'))
    if (verdict.kind !== 'suspect') throw new Error('not held')
    expect(verdict.why).toMatch(/anions are in excess by 55/)
    expect(verdict.explanations).toHaveLength(1)
    expect(verdict.explanations[0]).toMatch(/NO3-N, read as NO3-N, was meant as NO3 \(150 mg\/L/)
  })

  it('one off by 5 to 10 % is used with a remark', () => {
    const verdict = judgeReport(sampleOf('used-nitrate-high.csv'))
    expect(verdict.kind).toBe('usable')
    expect(verdict.kind === 'usable' && verdict.remarks.join()).toMatch(/Charge balance is off by 9\.5 %/)
  })

  it('without an ion that carries much charge nothing can be balanced, and that is said', () => {
    const sample = sampleOf('used-potassium-starved.csv')
    const values = sample.values.filter(({ element }) => element !== 'Cl')
    expect(judgeReport({ ...sample, values })).toMatchObject({
      kind: 'usable',
      remarks: [expect.stringMatching(/Cl not reported/)],
    })
  })

  it('an excess that the ions not reported would only add to is held all the same', () => {
    const sample = sampleOf('suspect-nitrate-as-ion.csv')
    const without = (...names: readonly string[]) =>
      judgeReport({ ...sample, values: sample.values.filter(({ element }) => !names.includes(element)) })
    expect(without('P', 'Cl')).toMatchObject({
      kind: 'suspect',
      why: expect.stringMatching(/anions are in excess by .* What was not reported, P, Cl, would only add to them/),
    })
    const { conductivityDsPerM: _measured, ...unmeasured } = sample
    const withoutCalcium = unmeasured.values.filter(({ element }) => element !== 'Ca')
    expect(judgeReport({ ...unmeasured, values: withoutCalcium }).kind).toBe('usable')
  })

  it('in nearly pure water two tenths of a milliequivalent are what a laboratory can tell', () => {
    const ions = { 'NO3-N': 0.3, P: 0.03, K: 0.4, Ca: 4, Mg: 0.5, S: 0.5, Cl: 2.5, Na: 1.5 }
    const values = Object.entries(ions).map(([name, mgPerL]) => {
      const element = name as ElementName
      return { element, form: element, mgPerL, asWritten: `${name} ${mgPerL}` }
    })
    const pure = { label: 'rain', values, noted: [], ph: 6.5, alkalinityMeqPerL: 0.1 }
    expect(judgeReport(pure).plausibility.balancePercent).toBeGreaterThan(10)
    expect(judgeReport(pure).kind).toBe('usable')
    expect(judgeReport({ ...pure, alkalinityMeqPerL: 1 }).kind).toBe('suspect')
  })

  it('more conductivity than was measured cannot come from a missing ion: held without a balance too', () => {
    const sample = sampleOf('suspect-nitrate-as-ion.csv')
    const values = sample.values.filter(({ element }) => element !== 'Na')
    const verdict = judgeReport({ ...sample, values })
    expect(verdict).toMatchObject({ kind: 'suspect', why: expect.stringMatching(/2\d\d % of the one measured/) })
  })
})

it('a used reservoir takes half of a limit, and the aim for what nobody measured', () => {
  const used = usedReservoir(sampleOf('used-potassium-starved.csv'), BANDS)
  expect(used.belowLimit).toEqual(['NH4-N'])
  expect(used.unmeasured).toEqual(['Mo'])
  expect(used.mmolPerL[1]).toBeCloseTo(0.1 / 14.007, 9)
  expect(used.mmolPerL[14]).toBe(BANDS[14]!.aim)
})
