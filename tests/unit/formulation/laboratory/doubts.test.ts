// What a report says against its own figures: marks explained as doubts, numbers in each other's place, forms that differ.

import { describe, expect, test } from 'vitest'
import { complaints, figure, oneRow, samplesOf } from './report-text.ts'

const text = (...lines: readonly string[]) => `${lines.join('\n')}\n`

describe('a mark beside a figure', () => {
  const table = (mark: string, note: string) =>
    text(
      'Parameter;Result;Unit;Obs.',
      'Potassium;4.7;mg/L;',
      `Nitrate (NO3);23.6;mg/L;${mark}`,
      'Colour;5;mg Pt/L;Q',
      '',
      note,
    )

  test.each([
    ['E', 'E: estimated value, holding time exceeded'],
    ['E', '"E: valor estimado; amostra analisada fora do prazo"'],
    ['#', '# not valid, sample contaminated'],
  ])('%s explained by ‘%s’ is asked about', (mark, note) => {
    expect(complaints(table(mark, note))).toEqual([
      expect.stringContaining(`report.csv:3:25  found the mark '${mark}'`),
    ])
  })

  test.each([
    ['another mark', 'A', 'E: estimated value'],
    ['no doubt', 'E', 'E: electrode'],
    ['no blank contamination', 'E', 'E: no blank contamination'],
    ['a small figure known roughly', 'J', 'J: estimated, below the reporting limit'],
    ['a figure that is not used', '', 'Q: estimated by eye'],
  ])('%s is not', (_what, mark, note) => {
    expect(samplesOf(table(mark, note))).toHaveLength(1)
  })

  test('nor a pH that was measured too late', () => {
    const rows = text('Parameter;Result;Unit;Obs.', 'pH;7.1;;H', 'K;5;mg/L;', '', 'H: holding time exceeded')
    expect(samplesOf(rows)).toHaveLength(1)
  })

  test('nor one whose analyte is to be ignored', () => {
    expect(samplesOf(table('E', 'E: estimated value'), ['Nitrate (NO3)'])).toHaveLength(1)
  })

  test('behind the figure, in a text', () => {
    const lines = [
      'Analyte          Result     Unit',
      'Potassium        4.7        mg/L',
      'Calcium          57.3 *     mg/L',
    ]
    expect(complaints(text(...lines, '', '* estimated, sample was frozen'))).toContainEqual(
      expect.stringContaining("report.csv:3:23  found the mark '*' beside a figure"),
    )
  })
})

describe('pH and conductivity in each other’s column', () => {
  const well = (ec: number, ph: number) =>
    text('Sample,EC (mS/cm),pH,HCO3 (mg/L),Cl (mg/L),Ca (mg/L),Na (mg/L)', `Well,${ec},${ph},184,30.8,58.9,22.7`)

  test('are told at the pH', () => {
    expect(complaints(well(7.4, 0.41))).toEqual([
      expect.stringContaining('report.csv:2:10  found a pH of 0.41 beside 7.4 mS/cm, which fit the ions better'),
    ])
  })

  test('not where they fit, nor where the pH may well be so low', () => {
    expect(samplesOf(well(0.41, 7.4))).toHaveLength(1)
    const acid = 'Sample,EC (mS/cm),pH,NO3-N (mg/L),K (mg/L)'
    expect(samplesOf(text(acid, 'Stock,4.4,3.6,450,1250'))).toHaveLength(1)
  })
})

describe('an oxide in the name and another form in the unit', () => {
  test.each([
    ['Kalium (K2O)', 'mg K/l'],
    ['P2O5', 'mg P/L'],
    ['Calcium (CaO)', 'mg/L as Ca'],
  ])('%s in %s', (name, unit) => {
    expect(complaints(oneRow(name, '312', unit))).toEqual([expect.stringContaining('two forms')])
  })

  test('a plain name takes the form of the unit, and an ion may be told by its element', () => {
    expect(figure(samplesOf(oneRow('Kalium', '100', 'mg K2O/l'))[0]!, 'K')).toBeCloseTo(83.01, 1)
    expect(figure(samplesOf(oneRow('Sulfate (SO4)', '30', 'mg S/L'))[0]!, 'S')).toBe(30)
    expect(figure(samplesOf(oneRow('Kalium (K2O)', '100', 'mg K2O/l'))[0]!, 'K')).toBeCloseTo(83.01, 1)
  })
})

describe('nitrogen as a total only', () => {
  const table = (...rows: readonly string[]) =>
    text('Analyte,Value,Unit', 'Phosphorus (P),42,mg/L', 'Potassium (K),258,mg/L', 'Calcium (Ca),168,mg/L', ...rows)

  test('is asked about in a report of the main ions', () => {
    expect(complaints(table('"Nitrogen, total (N)",182,mg/L'))).toEqual([
      expect.stringContaining('report.csv:5:1  found Nitrogen, total (N) 182 and no nitrate'),
    ])
  })

  test('is noted beside nitrate, where nothing was found, where it is no total, and where it is to be ignored', () => {
    expect(samplesOf(table('Total nitrogen,182,mg/L', 'Nitrate-N,175,mg/L'))).toHaveLength(1)
    expect(samplesOf(table('Total nitrogen,<1,mg/L'))).toHaveLength(1)
    expect(samplesOf(table('Kjeldahl nitrogen,3,mg/L'))).toHaveLength(1)
    expect(samplesOf(table('Total nitrogen,182,mg/L'), ['Total nitrogen'])).toHaveLength(1)
  })
})
