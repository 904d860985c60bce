import { describe, expect, test } from 'vitest'
import { readMapping } from '../../../../src/formulation/laboratory/mapping.ts'
import { readLaboratoryReport } from '../../../../src/formulation/laboratory/read-report.ts'
import { formatReportError, type LaboratorySample } from '../../../../src/formulation/laboratory/report.ts'
import { complaints, figure } from './report-text.ts'

const MAPPING = `headings:
  Bottle ref: sample
  Filled: sampled
  Outcome: value
  What: analyte
analytes:
  Salpetre: { analyte: Nitrate, form: NO3, unit: mg/L }
  K-tot: { analyte: K2O, unit: mg/L }
  Grey salts: { analyte: EC, unit: uS/cm }
  Buffer: { analyte: Alkalinity, form: CaCO3, unit: mg/L }
  Lime: CaO
  Vigour index: ignore
`

const REPORT = `What,Outcome,Unit,Bottle ref,Filled
SALPETRE,620,,gully 3,2026-03-14
K-tot,240,mg/L,gully 3,2026-03-14
Grey  Salts,1760,,gully 3,2026-03-14
Buffer,25.02,,gully 3,2026-03-14
Lime,140,ppm,gully 3,2026-03-14
Mg,40,mg/L,gully 3,2026-03-14
Vigour index,83,,gully 3,2026-03-14
`

function samplesWith(mapping: string, report: string): readonly LaboratorySample[] {
  const read = readMapping('words.yaml', mapping)
  if (!read.ok) throw new Error(read.errors.map(formatReportError).join('\n'))
  const reading = readLaboratoryReport('report.csv', report, [], read.words)
  if (!reading.ok) throw new Error(reading.errors.map(formatReportError).join('\n'))
  return reading.report.samples
}

function mistakes(mapping: string): string[] {
  const read = readMapping('words.yaml', mapping)
  return read.ok ? [] : read.errors.map(formatReportError)
}

describe('a laboratory with words of its own', () => {
  test('is refused without a mapping file', () => {
    expect(complaints(REPORT)[0]).toContain('found no headings')
  })

  test('is read with one', () => {
    const [sample, ...others] = samplesWith(MAPPING, REPORT)
    expect(others).toEqual([])
    expect(sample).toMatchObject({ label: 'gully 3', sampledAt: '2026-03-14', conductivityDsPerM: 1.76 })
    // published conversion constants: NO3 to NO3-N 0.22590, K2O to K 0.83015, CaO to Ca 0.71470
    expect(figure(sample!, 'NO3-N')).toBeCloseTo(620 * 0.2259, 1)
    expect(figure(sample!, 'K')).toBeCloseTo(240 * 0.83015, 1)
    expect(figure(sample!, 'Ca')).toBeCloseTo(140 * 0.7147, 1)
    // what the mapping does not name is understood as ever
    expect(figure(sample!, 'Mg')).toBe(40)
    // 1 meq/L is 50.04 mg/L CaCO3
    expect(sample!.alkalinityMeqPerL).toBeCloseTo(0.5, 3)
    expect(sample!.noted).toEqual([{ analyte: 'Vigour index', asWritten: '83', why: 'left aside by the mapping file' }])
  })

  test('in the layout of one sample a row, and in JSON', () => {
    const [wide] = samplesWith(MAPPING, 'Bottle ref;Salpetre;Mg (mg/L)\nA;620,5;40,0\n')
    expect(wide!.label).toBe('A')
    expect(figure(wide!, 'NO3-N')).toBeCloseTo(620.5 * 0.2259, 1)
    const [json] = samplesWith(MAPPING, '{"Bottle ref": "B", "values": {"Salpetre": 620, "Vigour index": 3}}')
    expect(json!.label).toBe('B')
    expect(figure(json!, 'NO3-N')).toBeCloseTo(620 * 0.2259, 1)
  })

  test('a name may be given another meaning than its usual one', () => {
    const [sample] = samplesWith('analytes:\n  Nitrate: NO3-N\n', 'Analyte,Value,Unit\nNitrate,140,mg/L\n')
    expect(figure(sample!, 'NO3-N')).toBe(140)
  })

  test('a unit in the report that differs from the one in the mapping file is refused', () => {
    const read = readMapping('words.yaml', MAPPING)
    const words = read.ok ? read.words : undefined
    const reading = readLaboratoryReport('report.csv', 'Analyte,Value,Unit\nK-tot,5,mmol/L\n', [], words)
    expect(reading.ok ? [] : reading.errors.map(formatReportError)).toEqual([
      'report.csv:2:7  found two units that differ for K-tot, allowed one unit. Remove the wrong one.',
    ])
  })
})

describe('mistakes in a mapping file are told with their place', () => {
  test.each([
    ['', 'words.yaml:1:1  found no mapping, allowed headings, analytes'],
    ['- Salpetre\n', 'words.yaml:1:1  found no mapping'],
    ['analytes:\n  Salpetre: {', 'found text that is not YAML'],
    ['words:\n  a: b\n', "words.yaml:1:1  found 'words', allowed headings, analytes"],
    ['analytes:\n', 'words.yaml:1:1  found analytes without names'],
    ['headings:\n  Outcome: result\n', "words.yaml:2:12  found the role 'result', allowed analyte, form, value"],
    ['analytes:\n  Salpetre: Kryptonite\n', "words.yaml:2:13  found an unknown analyte 'Kryptonite'"],
    ['analytes:\n  Salpetre: { form: NO3 }\n', 'words.yaml:2:13  found no analyte'],
    ['analytes:\n  Salpetre: { analyte: Nitrate, form: P2O5 }\n', "words.yaml:2:39  found the form 'P2O5'"],
    ['analytes:\n  Salpetre: { analyte: NO3-N, form: NO3 }\n', "found the form 'NO3', allowed a form of NO3-N"],
    ['analytes:\n  Potash: { analyte: K, form: N }\n', "found the form 'N', allowed a form of K"],
    ['analytes:\n  Salpetre: { analyte: NO3, unit: mg/kg }\n', "words.yaml:2:35  found an unknown unit 'mg/kg'"],
    ['analytes:\n  Salpetre: { analyte: NO3, units: mg/L }\n', "words.yaml:2:29  found 'units', allowed analyte, form"],
    ['analytes:\n  Lime: CaO\n  LIME: Ca\n', "words.yaml:3:3  found 'LIME' for the second time"],
    ['headings:\n  Lime: value\nanalytes:\n  Lime: Ca\n', "words.yaml:4:3  found 'Lime' for the second time"],
    ['analytes:\n  Lime: CaO\n  Lime: Ca\n', 'words.yaml:3:3  found a name for the second time'],
  ])('%j', (mapping, expected) => {
    const found = mistakes(mapping)
    expect(found).toHaveLength(1)
    expect(found[0]).toContain(expected)
  })
})
