// Units in a row of their own, in a line for groups of analytes, and limits in brackets.

import { describe, expect, test } from 'vitest'
import { complaints, figure, samplesOf } from './report-text.ts'

const text = (...lines: readonly string[]) => `${lines.join('\n')}\n`

describe('a row of units below the headings', () => {
  const table = (units: string) =>
    text('Sample,Collected,EC,K,Fe,E. coli', units, 'Well,2026-03-17,528,2.1,34,12', 'Canal,2026-03-17,421,3.4,188,3')

  test('with what bacteria are counted in, and how days are written', () => {
    const samples = samplesOf(table(',yyyy-mm-dd,uS/cm,mg/L,ug/L,MPN/100 mL'))
    expect(samples.map((sample) => [figure(sample, 'K'), sample.conductivityDsPerM])).toEqual([
      [2.1, 0.528],
      [3.4, 0.421],
    ])
    expect(figure(samples[0]!, 'Fe')).toBeCloseTo(0.034, 6)
    expect(samplesOf(table(',,uS/cm,mg/L,ug/L,colonies'))).toHaveLength(2)
  })

  test('a second row of other units is asked about', () => {
    const lines = text('Sample,K,Ca', ',mg/L,mg/L', 'Well,2.1,71', ',mmol/L,mmol/L', 'Tank,6.9,4.2')
    expect(complaints(lines)).toEqual([expect.stringContaining("'mmol/L' for K in a second row of units")])
  })

  test('a unit that is not known over a figure that is tracked is asked about', () => {
    expect(complaints(table(',,uS/cm,grains,ug/L,MPN/100 mL'))).toContainEqual(
      expect.stringContaining("'grains' for K"),
    )
  })
})

describe('a line that tells the units of groups', () => {
  const table = (line: string) => text(line, '', 'Sample\tEC\tK\tNO3\tFe', 'Drain\t2.3\t6.9\t15.2\t24')

  test('ions, trace elements and conductivity', () => {
    const [sample] = samplesOf(table('All ions in mmol/L, trace elements in umol/L, EC in mS/cm at 25 C'))
    expect(sample!.conductivityDsPerM).toBe(2.3)
    expect(figure(sample!, 'K')).toBeCloseTo(6.9 * 39.098, 1)
    expect(figure(sample!, 'NO3-N')).toBeCloseTo(15.2 * 14.007, 1)
    expect(figure(sample!, 'Fe')).toBeCloseTo(0.024 * 55.845, 3)
  })

  test('a group told in two units, a group left out, or exceptions are asked about', () => {
    const two = complaints(table('Ions in mmol/L, trace elements in umol/L, micronutrients in ug/L, EC in mS/cm'))
    expect(two).toContainEqual(expect.stringContaining("'ug/L' where line 1 says 'umol/L' for the same group"))
    expect(complaints(table('Trace elements in umol/L, EC in mS/cm'))).toContainEqual(
      expect.stringContaining('no unit for K'),
    )
    const except = complaints(table('Ions in mmol/L, trace elements in umol/L except iron in mg/L, EC in mS/cm'))
    expect(except).toContainEqual(expect.stringContaining('no unit for Fe'))
  })

  test('moles said of ions alone leave trace elements open, milligrams do not', () => {
    expect(complaints(table('All ions in mmol/L, EC in mS/cm'))).toEqual([expect.stringContaining('no unit for Fe')])
    expect(figure(samplesOf(text('Ions in mg/L', '', 'Sample\tK\tFe', 'Well\t6.9\t0.2'))[0]!, 'Fe')).toBe(0.2)
  })

  test('a unit of one analyte beside the groups is asked about', () => {
    const line = 'Ions in mmol/L, trace elements in umol/L, potassium in mg/L, EC in mS/cm'
    expect(complaints(table(line))).toContainEqual(expect.stringContaining('no unit for K'))
    const two = text(
      '"Cations in mmol/L, anions in meq/L, trace elements in umol/L"',
      'Sample\tK\tFe',
      'Drain\t6.9\t24',
    )
    expect(complaints(two)).toContainEqual(expect.stringContaining('no unit for K'))
  })

  test('a name with a unit of its own keeps it', () => {
    const line = 'Ions in mmol/L, trace elements in umol/L'
    const [sample] = samplesOf(text(line, '', 'Sample\tK\tFe (mg/L)', 'Drain\t6.9\t1.2'))
    expect(figure(sample!, 'Fe')).toBe(1.2)
  })
})

describe('not detected, with its limit in a bracket', () => {
  const iron = (value: string) => text('Analyte,Value,Unit', 'K,200,mg/L', `Fe,${value},ug/L`)

  test.each(['ND (10)', 'Not detected (limit 10)', 'BDL (<10)', 'n.d. [LOD 10]', 'nicht nachweisbar (10)'])(
    '%s',
    (value) => {
      expect(figure(samplesOf(iron(value))[0]!, 'Fe')).toBe('<0.01')
    },
  )

  test('another unit in the bracket, another word, or a bracket behind a figure are asked about', () => {
    expect(complaints(iron('ND (limit 0.01 mg/L)'))).toEqual([expect.stringContaining('two units that differ')])
    expect(complaints(iron('ND (estimated 10)'))).toEqual([expect.stringContaining("'ND (estimated 10)' for Fe")])
    expect(complaints(iron('trace (10)'))).toEqual([expect.stringContaining("'trace (10)' for Fe")])
    expect(complaints(iron('12 (10)'))).toEqual([expect.stringContaining("'12 (10)' for Fe")])
  })
})

test('a bracket that may hold the number of a note is asked about', () => {
  const table = text('Analyte,Value,Unit', 'K,200,mg/L', 'Fe,ND (1),mg/L')
  expect(figure(samplesOf(table)[0]!, 'Fe')).toBe('<1')
  expect(complaints(`${table}(1) sample was turbid\n`)).toEqual([
    expect.stringContaining("'ND (1)', with a limit or a note"),
  ])
})

test('a semicolon in one line of a short table of commas', () => {
  const rows = ['Ions in mg/L; EC in mS/cm,,,', 'Sample,EC,K,Ca', 'Well,0.5,2.1,71']
  expect(figure(samplesOf(text(...rows))[0]!, 'Ca')).toBe(71)
  // with decimal commas the semicolons separate
  expect(figure(samplesOf(text('Analyte;Value;Unit', 'K;2,1;mg/L', 'Ca;71,0;mg/L'))[0]!, 'Ca')).toBe(71)
})

describe('how days are written, in a heading', () => {
  const long = (heading: string, day: string) =>
    text(`Parameter,Station,${heading},Value,Unit`, `Potassium,Pond,${day},5.2,mg/L`, `Calcium,Pond,${day},38,mg/L`)

  test.each([
    ['Collected (UTC)', '2026-05-27T08:40', '2026-05-27T08:40Z'],
    ['Collected (UTC)', '2026-05-27T08:40+02:00', '2026-05-27T08:40+02:00'],
    ['Collected (UTC)', '2026-05-27', '2026-05-27'],
    ['Sampled (dd/mm/yyyy)', '06/05/2026', '2026-05-06'],
    ['Sampled (mm/dd/yyyy)', '06/05/2026', '2026-06-05'],
  ])('%s over %s', (heading, day, expected) => {
    expect(samplesOf(long(heading, day))[0]).toMatchObject({ label: 'Pond', sampledAt: expected })
  })

  test('another zone, or days against what is said, are asked about', () => {
    expect(complaints(long('Collected (AEST)', '2026-05-27T08:40'))).toEqual([
      expect.stringContaining("an unknown heading 'Collected (AEST)'"),
    ])
    expect(complaints(long('Sampled (mm/dd/yyyy)', '27/13/2026'))[0]).toContain('No calendar has this day')
  })
})
