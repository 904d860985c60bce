import { readFileSync } from 'node:fs'
import { describe, expect, test } from 'vitest'
import { chooseSample } from '../../../../src/formulation/laboratory/choose-sample.ts'
import { readLaboratoryReport } from '../../../../src/formulation/laboratory/read-report.ts'
import { complaints, figure, fixture, samplesOf } from './report-text.ts'

describe('layouts that laboratories use', () => {
  test('one sample a row, units in the headings, decimal commas', () => {
    const [one, two] = samplesOf(fixture('wide-decimal-comma.csv'))
    // Sonneveld & Straver lettuce, mmol/L: NO3 19.0, K 11, Ca 4.5 (from memory); 14.007, 39.098, 40.078 g/mol
    expect(figure(one!, 'NO3-N')).toBeCloseTo(19 * 14.007, 6)
    expect(figure(one!, 'K')).toBeCloseTo(11 * 39.098, 6)
    expect(figure(one!, 'S')).toBeCloseTo(1.125 * 32.06, 6)
    expect(figure(one!, 'Fe')).toBeCloseTo(0.04 * 55.845, 6)
    expect(one).toMatchObject({ label: 'tank 1', sampledAt: '2026-03-16', ph: 5.8, conductivityDsPerM: 2.6 })
    expect(figure(two!, 'NH4-N')).toBe('<1.4007')
    expect(figure(two!, 'Fe')).toBeUndefined()
  })

  test('analytes down and samples across', () => {
    const [one, two] = samplesOf(fixture('table-two-tanks.csv'))
    expect(one!.label).toBe('Tank 1')
    // published conversion constants: NO3 to NO3-N 0.22590, P2O5 to P 0.43643, K2O to K 0.83015, SO4 to S 0.33376
    expect(figure(one!, 'NO3-N')).toBeCloseTo(642 * 0.2259, 1)
    expect(figure(one!, 'P')).toBeCloseTo(92 * 0.43643, 2)
    expect(figure(one!, 'K')).toBeCloseTo(241 * 0.83015, 2)
    expect(figure(one!, 'S')).toBeCloseTo(158 * 0.33376, 2)
    expect(figure(one!, 'Ca')).toBeCloseTo((6.5 / 2) * 40.078, 6)
    expect(figure(one!, 'Zn')).toBeCloseTo(0.25, 9)
    expect(one!.conductivityDsPerM).toBeCloseTo(1.71, 9)
    // 61.02 mg/L HCO3 is 1 meq/L
    expect(one!.alkalinityMeqPerL).toBeCloseTo(12 / 61.017, 4)
    expect(figure(two!, 'K')).toBeCloseTo(1045 * 0.83015, 1)
    expect(figure(two!, 'P')).toBeUndefined()
    expect(figure(two!, 'Zn')).toBe('<0.05')
  })

  test('one figure a row, several samples', () => {
    const [reservoir, well] = samplesOf(fixture('long-two-samples.csv'))
    expect(figure(reservoir!, 'Mo')).toBe('<0.005')
    expect(well).toMatchObject({ label: 'well', sampledAt: '2026-03-12' })
    expect(figure(well!, 'K')).toBeUndefined()
    // 1 meq/L is 50.04 mg/L CaCO3
    expect(well!.alkalinityMeqPerL).toBeCloseTo(208 / 50.04, 3)
  })

  test('a row of units below the headings', () => {
    const [sample] = samplesOf('Sample,NO3-N,K,EC\n,mg/L,meq/L,mS/cm\nA,150,5,1.8\n')
    expect(figure(sample!, 'K')).toBeCloseTo(5 * 39.098, 6)
    expect(sample!.conductivityDsPerM).toBe(1.8)
  })

  test('a unit said once for the whole report goes for concentrations', () => {
    const [sample] = samplesOf('Units,mg/L\nSample,bench 3\nAnalyte,Result\nK,200\npH,5.9\n')
    expect(sample).toMatchObject({ label: 'bench 3', ph: 5.9 })
    expect(figure(sample!, 'K')).toBe(200)
  })

  test('lines above the table say in one cell or in two when the bottle was filled', () => {
    const table = 'Analyte,Value,Unit\nK,200,mg/L\n'
    for (const line of [
      'Sampled: 2026-03-14',
      'Sampled: 2026-03-14,,',
      'Sampled:,2026-03-14',
      'Probenahme: 14.03.2026',
    ]) {
      expect(samplesOf(`${line}\nReported: 2026-03-19\n${table}`)[0]!.sampledAt).toBe('2026-03-14')
    }
    expect(complaints(`Sampled: some day\n${table}`)[0]).toContain("report.csv:1:10  found 'some day'")
  })

  test('a dash for a unit is no unit', () => {
    expect(samplesOf('Analyte,Unit,Value\npH,-,5.8\n')[0]!.ph).toBe(5.8)
    expect(complaints('Analyte,Unit,Value\nK,-,5.8\n')[0]).toContain('found no unit for K')
  })

  test('JSON with an object for the sample', () => {
    const text = (inner: string) =>
      `{"sample": {"id": "B 7"${inner}}, "results": {"K": {"value": 5, "unit": "mmol/L"}}}`
    expect(samplesOf(text(', "sampledAt": "2026-05-07"'))[0]).toMatchObject({ label: 'B 7', sampledAt: '2026-05-07' })
    expect(complaints(text(', "Ca": 5'))[0]).toContain("report.csv:1:26  found 'Ca', allowed id, label")
  })

  test('JSON', () => {
    const [sample] = samplesOf(fixture('sample.json'))
    expect(sample).toMatchObject({
      label: 'reservoir',
      sampledAt: '2026-03-16T08:30+00:00',
      ph: 6.1,
      conductivityDsPerM: 1.76,
    })
    expect(figure(sample!, 'NO3-N')).toBe(138)
    expect(figure(sample!, 'Cu')).toBe('<0.005')
  })

  test('JSON as a list of rows', () => {
    const samples = samplesOf(
      '[{"sample":"a","analyte":"K","value":200,"unit":"mg/L"},{"sample":"b","analyte":"K","value":5,"unit":"mmol/L"}]',
    )
    expect(samples.map((sample) => figure(sample, 'K'))).toEqual([200, 5 * 39.098])
  })

  test('tabs, carriage returns and a byte-order mark', () => {
    const [sample] = samplesOf('\ufeffAnalyte\tValue\tUnit\r\nK\t200,5\tmg/L\r\n')
    expect(figure(sample!, 'K')).toBe(200.5)
  })

  test('the example report of the example site', () => {
    const url = new URL('../../../../config/example/laboratory-2026-03-16.csv', import.meta.url)
    const [sample, ...others] = samplesOf(readFileSync(url, 'utf8'))
    expect(others).toEqual([])
    expect(sample).toMatchObject({
      label: 'quarry-lane reservoir',
      sampledAt: '2026-03-16T08:30',
      conductivityDsPerM: 1.76,
    })
    expect(sample!.values).toHaveLength(15)
    expect(sample!.noted.map(({ analyte }) => analyte)).toEqual(['Aluminium', 'Silicon'])
  })
})

describe('a file with several samples', () => {
  const reading = readLaboratoryReport('report.csv', fixture('long-two-samples.csv'))
  const report = reading.ok ? reading.report : { samples: [] }

  test('the sample is chosen by its label', () => {
    expect(chooseSample(report, 'Well')).toMatchObject({ ok: true, sample: { label: 'well' } })
  })

  test('without a label the choice is refused with the list', () => {
    expect(chooseSample(report)).toEqual({
      ok: false,
      labels: ['reservoir', 'well'],
      message: 'The report holds 2 samples; choose one of reservoir, well.',
    })
    expect(chooseSample(report, 'tap')).toMatchObject({
      ok: false,
      message: expect.stringContaining("no sample 'tap'"),
    })
  })

  test('the only sample needs no label', () => {
    expect(chooseSample({ samples: report.samples.slice(0, 1) })).toMatchObject({ ok: true })
  })
})

describe('layouts that cannot be read', () => {
  test('an empty file', () => {
    expect(complaints(' \n\n')).toEqual([
      'report.csv:1:1  found no figures, allowed a report in CSV or JSON. Export it again.',
    ])
  })

  test('headings without figures', () => {
    expect(complaints('Analyte,Value,Unit\n')).toEqual([
      "report.csv:1:1  found headings from 'Analyte' on and no row of results below them, allowed at least one row of " +
        'results. Export the report again, with its results.',
    ])
  })

  test('figures without headings', () => {
    expect(complaints('Potassium,200,mg/L\n')[0]).toContain('report.csv:1:1  found no headings in 1 rows')
  })

  test('a decimal comma that splits a number in two', () => {
    const found = complaints('Analyte,Value,Unit\nNO3-N,145,2,mg/L\n')
    expect(found.join('\n')).toContain(
      "report.csv:2:13  found 'mg/L' beyond the last heading, allowed 3 columns. A decimal comma may have split",
    )
  })

  test('a figure above the headings would be overlooked', () => {
    expect(complaints('Potassium,200\nAnalyte,Value,Unit\nCa,130,mg/L\n')[0]).toContain(
      "report.csv:1:1  found 'Potassium' above the headings",
    )
  })

  test('a date that does not say of what', () => {
    expect(complaints('Date,Analyte,Value,Unit\n2026-03-16,Ca,130,mg/L\n')[0]).toContain(
      'Say of what: sampled, received or reported.',
    )
    expect(complaints('Sample,Date,Ca (mg/L)\nA,2026-03-16,130\n')[0]).toContain(
      'Say of what: sampled, received or reported.',
    )
  })

  test('rows of samples without a name, one complaint however many analytes', () => {
    expect(complaints('pH,K (mg/L),Ca (mg/L)\n6.0,182,131\n6.6,203,188\n6.7,190,150\n')).toEqual([
      'report.csv:3:1  found 3 rows of results without the name of a sample, the first in line 2, allowed a name for ' +
        'every sample. Add a column sample, or keep only the row that is meant.',
    ])
  })

  test.each([
    ['PK\u0003\u0004\u0014', 'a packed spreadsheet'],
    ['%PDF-1.7', 'a PDF'],
    ['\ufeff <!DOCTYPE html><html>', 'a web page'],
    ['Analyte,Value\n\u0000\u0001\u0002\u0000', 'bytes that are no text in UTF-8'],
  ])('%j is told for what it is', (text, expected) => {
    expect(complaints(text)).toHaveLength(1)
    expect(complaints(text)[0]).toContain(`report.csv:1:1  found ${expected}`)
  })

  test('a quote that never ends', () => {
    expect(complaints('Analyte,Value,Unit\n"Ca,130,mg/L\n')[0]).toContain(
      'report.csv:2:1  found a quote that never ends',
    )
  })

  test('JSON with a comma too many, a key twice, or no figures', () => {
    expect(complaints('{"label": "a", "K": }}')[0]).toMatch(/^report\.csv:1:\d+ {2}found text that is not JSON/)
    expect(complaints('{"K (mg/L)": 1,\n "K (mg/L)": 2}')[0]).toBe(
      'report.csv:2:2  found a key for the second time, allowed JSON. Remove one of the two.',
    )
    expect(complaints('[]')[0]).toContain('found no figures')
    expect(complaints('[{"analyte":"K","valu":200}]').join('\n')).toContain(
      "report.csv:1:17  found 'valu', allowed analyte, value, unit",
    )
  })

  test('a sample of which nothing was measured', () => {
    expect(complaints('Sample,K (mg/L)\nA,200\nB,n/a\n')[0]).toContain('report.csv:3:3  found no value at all for B')
  })
})
