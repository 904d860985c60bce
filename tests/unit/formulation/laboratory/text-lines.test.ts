// Text without bars: dots that lead to a figure, statements without a colon, lists set apart by blanks.

import { describe, expect, test } from 'vitest'
import { complaints, figure, samplesOf } from './report-text.ts'

const text = (...lines: readonly string[]) => `${lines.join('\n')}\n`

describe('dots that lead from a name to its figure', () => {
  const lines = (heading: string) => [
    heading,
    '  pH value ...................   7.7    6.5 - 9.5',
    '  Calcium as Ca, mg/l ........   31.6   -',
    '  Potassium as K, mg/l ..        1.7    12',
  ]

  test('stand between the columns of a table', () => {
    const [sample] = samplesOf(text(...lines('                                 Found  Limit')))
    expect([sample!.ph, figure(sample!, 'Ca'), figure(sample!, 'K')]).toEqual([7.7, 31.6, 1.7])
  })

  test('under a heading that is not understood nothing is read', () => {
    expect(complaints(text(...lines('                                 Found  Bylaw'))).length).toBeGreaterThan(0)
  })

  test('in sections headed by their unit', () => {
    const sections = ['CATIONS                meq/L', 'Calcium (Ca) ......... 5.0', 'Potassium (K) ........ 0.1']
    const [sample] = samplesOf(text(...sections, 'OTHERS                 mg/L', 'Boron (B) ............ 0.18'))
    expect(figure(sample!, 'Ca')).toBeCloseTo(100.2, 1)
    expect(figure(sample!, 'B')).toBe(0.18)
  })
})

describe('what a bottle is, without a colon', () => {
  const table = [
    'Test            Result   Unit',
    'pH              6.0',
    'Potassium (K)   254      mg/L',
    'Calcium (Ca)    189      mg/L',
  ]
  const said = (...lines: readonly string[]) => text(...lines, '', ...table)

  test('its name and its day', () => {
    const lines = [
      'Report          FA/26/15',
      'Sample          Basil tank 2',
      'Sampled         21.04.2026, by the grower',
    ]
    expect(samplesOf(said(...lines))[0]).toMatchObject({ label: 'Basil tank 2', sampledAt: '2026-04-21' })
  })

  test('a figure above the table, its symbol in a bracket of its own', () => {
    expect(samplesOf(text('Acidity  (pH)       5.7', ...table.filter((line) => !/^pH/.test(line))))[0]!.ph).toBe(5.7)
  })

  test('a day that no calendar has is asked about', () => {
    expect(complaints(said('Sampled         31 April 2026', 'Received        4 May 2026'))).toEqual([
      expect.stringContaining("report.csv:1:17  found '31 April 2026'"),
    ])
  })

  test('who took it is no day', () => {
    expect(samplesOf(said('Toma de muestra: por el cliente'))[0]!.sampledAt).toBeUndefined()
    expect(complaints(said('Toma de muestra: algún día'))).toHaveLength(1)
  })

  test('a zone behind a day is no remark about it', () => {
    expect(complaints(said('Sampled         21.04.2026 08:30, UTC'))).toHaveLength(1)
  })

  test('another bottle on the next page is asked about', () => {
    const next = ['Sample          Basil tank 3', ...table.map((line) => line.replace('Calcium (Ca)', 'Sodium (Na) '))]
    expect(complaints(text('Sample          Basil tank 2', '', ...table, '', ...next))).toContainEqual(
      expect.stringContaining("'Basil tank 3' where line 1 says 'Basil tank 2'"),
    )
  })

  test('two names of one bottle beside each other, and another name further down', () => {
    const names = ['Client reference:   House C', 'Sample:             Dripper']
    expect(samplesOf(said(...names))).toHaveLength(1)
    expect(complaints(said(names[0]!, '', names[1]!))).toEqual([
      expect.stringContaining("'Dripper' where line 1 says 'House C'"),
    ])
  })
})

describe('a list set apart by blanks alone', () => {
  const list = [
    'Sample ID       Hydrant',
    'Section A - General',
    '  pH                  7.8',
    '  EC                  0.69 dS/m',
  ]
  const ions = ['Page 2', '  Potassium (K)       1.4 mg/L', '  Boron (B)           Not detected (limit 0.05 mg/L)']

  test('each figure with its unit behind it', () => {
    const [sample] = samplesOf(text(...list, ...ions, '  Coliforms           absent', 'Comment: all is well.'))
    expect(sample).toMatchObject({ label: 'Hydrant', ph: 7.8, conductivityDsPerM: 0.69 })
    expect([figure(sample!, 'K'), figure(sample!, 'B')]).toEqual([1.4, '<0.05'])
  })

  test('or in lines of a name, a figure and its unit alone', () => {
    const mail = ['Hi,', 'your tank:', 'pH 6.1', 'EC 2.4 mS/cm', 'NO3-N 190 mg/L', 'Fe <0.02 mg/L', 'Best']
    const [sample] = samplesOf(text(...mail))
    expect([sample!.ph, sample!.conductivityDsPerM]).toEqual([6.1, 2.4])
    expect([figure(sample!, 'NO3-N'), figure(sample!, 'Fe')]).toEqual([190, '<0.02'])
    expect(complaints(text(...mail, 'K 250')).length).toBeGreaterThan(0)
    expect(complaints(text(...mail, 'K 250 mg/L in May')).length).toBeGreaterThan(0)
    expect(complaints(text(...mail, 'Target values', 'K 250 mg/L')).length).toBeGreaterThan(0)
  })

  test.each([
    ['a second figure beside it', '  Calcium (Ca)        54 mg/L     200 mg/L'],
    ['two lists beside each other', '  Calcium (Ca)        54 mg/L     Iron    0.1 mg/L'],
    ['words in the place of a figure', '  Calcium (Ca)        see below'],
  ])('%s is asked about', (_what, line) => {
    expect(complaints(text(...list, ...ions, line))).toHaveLength(1)
  })

  test('a name that is not known, or a figure without its room, is not passed over', () => {
    expect(complaints(text(...list, ...ions, '  Calzum              54 mg/L'))[0]).toContain("'Calzum'")
    expect(complaints(text(...list, ...ions, '  Calcium 54 mg/L is high'))[0]).toContain("'Calcium 54 mg/L is high'")
  })
})

describe('lines among the figures that may begin another bottle', () => {
  const lists = {
    blanks: ['pH 7.1', 'EC 0.6 mS/cm', 'Ca 82 mg/L', '?', 'Mg 12 mg/L', 'Na 30 mg/L'],
    dots: ['pH ........ 7.1', 'Ca ........ 82 mg/L', '?', 'Mg ........ 12 mg/L'],
    columns: ['Analyte    Result   Unit', 'Ca         82       mg/L', '?', 'Mg         12       mg/L'],
    csv: ['Analyte,Result,Unit', 'Ca,82,mg/L', '?,,', 'Mg,12,mg/L'],
  }
  const withLine = (name: keyof typeof lists, line: string, above = 'Farm report') =>
    text(above, ...lists[name].map((one) => one.replace('?', line)))

  test.each(Object.keys(lists) as (keyof typeof lists)[])('the name of a place, in a list of %s', (name) => {
    expect(complaints(withLine(name, 'South well')).length).toBeGreaterThan(0)
    expect(samplesOf(withLine(name, 'South well', 'South well'))).toHaveLength(1)
    expect(samplesOf(withLine(name, 'Cations'))).toHaveLength(1)
  })

  test('what ends with a colon', () => {
    expect(complaints(withLine('blanks', 'The limits are:')).length).toBeGreaterThan(0)
    expect(complaints(withLine('dots', 'What the law allows for water is this:')).length).toBeGreaterThan(0)
  })
})

describe('bars between the cells alone', () => {
  const head = ['Lab | Report 7', 'Sample: House 5 | Taken: 2026-03-11 | Previous sample: 2026-02-11', '']
  const rows = [
    'Analyte | Previous | This sample | Unit',
    'Nitrate [1] | 171 | 190 | mg/L',
    'Potassium | 247 | 262 | mg/L',
  ]

  test('the cells above are statements, and numbered notes tell forms', () => {
    const [sample] = samplesOf(text(...head, ...rows, '', '[1] expressed as N'))
    expect(sample).toMatchObject({ label: 'House 5', sampledAt: '2026-03-11' })
    expect([figure(sample!, 'NO3-N'), figure(sample!, 'K')]).toEqual([190, 262])
  })

  test('a number without its note, with two, or with one that is no form is asked about', () => {
    expect(complaints(text(...head, ...rows))).toEqual([expect.stringContaining("an unknown analyte 'Nitrate [1]'")])
    const two = complaints(text(...head, ...rows, '[1] expressed as N', '[1] expressed as NO3'))
    expect(two).toContainEqual(expect.stringContaining("an unknown analyte 'Nitrate [1]'"))
    expect(complaints(text(...head, ...rows, '[1] expressed as K')).length).toBeGreaterThan(0)
  })

  test('one bar in a sentence or two makes no table', () => {
    const lines = ['Analyte,Value,Unit', 'K,200,mg/L', 'Ca,100,mg/L', 'Lab | page 1', 'Lab | page 2']
    expect(figure(samplesOf(text(...lines))[0]!, 'Ca')).toBe(100)
  })
})

test('a row of units below the headings of a text, and one that does not stand below them', () => {
  const lines = (units: string) =>
    text(
      'Sample         pH     EC      K       Ca',
      units,
      'Feed tank      5.8    2.1     250     160',
      'Drain          6.3    2.9     280     230',
    )
  const samples = samplesOf(lines('                      mS/cm   mg/L    mg/L'))
  expect(samples.map((sample) => [sample.label, sample.conductivityDsPerM, figure(sample, 'K')])).toEqual([
    ['Feed tank', 2.1, 250],
    ['Drain', 2.9, 280],
  ])
  expect(complaints(lines('              mS/cm   mg/L    mg/L')).length).toBeGreaterThan(0)
})
