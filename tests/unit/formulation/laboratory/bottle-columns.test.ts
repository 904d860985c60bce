// A bottle in each column: named above the headings or in their place, beside columns of guide values.

import { describe, expect, test } from 'vitest'
import { complaints, figure, samplesOf } from './report-text.ts'

const text = (...lines: readonly string[]) => `${lines.join('\n')}\n`
const both = (lines: string) => samplesOf(lines).map((sample) => [sample.label, sample.sampledAt, figure(sample, 'K')])

describe('bottles named above the headings of results', () => {
  const table = (sample: string, sampled: string) =>
    text(sample, sampled, 'Détermination;Unité;Résultat;Résultat', 'Potassium;mg/L;287;246', 'Calcium;mg/L;262;172')

  test('with the day of each', () => {
    expect(both(table('Échantillon;;Drainage;Apport', 'Prélevé le;;26/03/2026;27/03/2026'))).toEqual([
      ['Drainage', '2026-03-26', 287],
      ['Apport', '2026-03-27', 246],
    ])
  })

  test('in a text, each below its heading', () => {
    const lines = (names: string) =>
      text(
        names,
        '',
        'Parameter        Result     Result     Unit',
        'K                250        280        mg/L',
        'Ca               160        230        mg/L',
      )
    expect(both(lines('Sample           Feed       Drain'))).toEqual([
      ['Feed', undefined, 250],
      ['Drain', undefined, 280],
    ])
    expect(complaints(lines('Sample           Feed')).length).toBeGreaterThan(0)
    expect(complaints(lines('Sample      Feed     Drain')).length).toBeGreaterThan(0)
  })

  test.each([
    ['one name for two columns', 'Échantillon;;Drainage;'],
    ['the same name twice', 'Échantillon;;Drainage;Drainage'],
    ['a name over the units', 'Échantillon;Eau;Drainage;Apport'],
  ])('%s is asked about', (_what, sample) => {
    const said = complaints(table(sample, ''))
    expect(said).toContainEqual(expect.stringContaining("a second column of this kind, 'Résultat'"))
  })
})

describe('bottles named in the place of the headings', () => {
  const rows = [
    'Datum bemonstering;;11-03-2026;12-03-2026',
    'Soort;;leidingwater;drain',
    'Labnummer;;4711;4712',
    'pH;-;6,5;6,1',
  ]

  test('with units below the blank', () => {
    const lines = text(
      'Monsteromschrijving;;Bassin;Drain',
      ...rows,
      'Hoofdelementen;;;',
      'K;mmol/l;0,06;8,2',
      'Ca;mmol/l;0,2;6',
    )
    const samples = samplesOf(lines)
    expect(samples.map(({ label, sampledAt, ph }) => [label, sampledAt, ph])).toEqual([
      ['Bassin', '2026-03-11', 6.5],
      ['Drain', '2026-03-12', 6.1],
    ])
    expect(figure(samples[1]!, 'K')).toBeCloseTo(8.2 * 39.098, 1)
  })

  test('with a blank corner, where nothing else can be meant', () => {
    const rows = ['Sampled;12.05.2026;13.05.2026', 'pH;5,8;6,1', 'K (mg/l);250;270']
    expect(both(text(';Tank north;Tank south', ...rows))).toEqual([
      ['Tank north', '2026-05-12', 250],
      ['Tank south', '2026-05-13', 270],
    ])
    for (const names of [';Tank north;', ';Tank north;7', ';Result;Limit', ';12.05.2026;13.05.2026']) {
      expect(complaints(text(names, ...rows)).length).toBeGreaterThan(0)
    }
  })

  test('with anything else below the blank, or with two blanks, they are no headings', () => {
    const other = text('Monsteromschrijving;;Bassin;Drain', 'K;0,5;0,06;8,2', 'Ca;0,5;0,2;6,1')
    expect(complaints(other)[0]).toContain('no headings in 3 rows')
    const two = text('Monsteromschrijving;;;Bassin', 'K;mmol/l;0,06;8,2', 'Ca;mmol/l;0,2;6,1')
    expect(complaints(two)[0]).toContain('no headings in 3 rows')
  })

  test('a row about the bottles that says something against one is asked about', () => {
    const lines = text(
      'Monsteromschrijving;;Bassin;Drain',
      'Status;;ok;rejected',
      'K;mmol/l;0,06;8,2',
      'Ca;mmol/l;0,2;6,1',
    )
    expect(complaints(lines)).toContainEqual(expect.stringContaining("an unknown analyte 'Status'"))
  })

  test('a row that is no result and holds a figure is asked about', () => {
    const lines = text(
      'Monsteromschrijving;;Bassin;Drain',
      'Verdunning;;10;1',
      'K;mmol/l;0,06;8,2',
      'Ca;mmol/l;0,2;6,1',
    )
    expect(complaints(lines)).toEqual([expect.stringContaining("an unknown analyte 'Verdunning'")])
  })
})

describe('guide values beside bottles', () => {
  const table = (heading: string, ...cells: readonly string[]) =>
    text(
      `Analyte;Tank A;Unit;${heading}`,
      `K;268;mg/l;${cells[0]}`,
      `Ca;164;mg/l;${cells[1]}`,
      `Mg;34;mg/l;${cells[2]}`,
    )

  test('a column of ranges is none of a bottle', () => {
    const [sample, ...others] = samplesOf(table('Crop 4', '220 - 320', '140 - 200', '< 45'))
    expect(others).toEqual([])
    expect(sample!.noted).toContainEqual(expect.objectContaining({ analyte: 'column Crop 4' }))
    expect(samplesOf(table('Target tomato', '220 - 320', '150', '45'))).toHaveLength(1)
  })

  test('a target with its unit beside a figure in two units is none', () => {
    const [sample] = samplesOf(text('Element,mg/L,mmol/L,Target mg/L', 'K,250,6.39,260', 'Ca,160,3.99,170'))
    expect(figure(sample!, 'K')).toBe(250)
  })

  test.each(['Guide values', 'Target tomato', 'Previous result'])('%s between the rows is asked about', (between) => {
    const rows = ['Analyte;Tank;Unit', 'K;268;mg/l', 'Ca;164;mg/l', `${between};;`]
    expect(complaints(text(...rows, 'Mg;50;mg/l'))).toEqual([expect.stringContaining(`'${between}' above figures`)])
    expect(samplesOf(text(...rows))).toHaveLength(1)
    expect(samplesOf(text(...rows.slice(0, 3), 'Micronutrients;;', 'Fe;2;mg/l'))).toHaveLength(1)
  })

  test('one range among figures, or a word as target over plain figures, is asked about', () => {
    expect(complaints(table('Crop 4', '220 - 320', '150', '45'))).toEqual([
      expect.stringContaining("'220 - 320', a range"),
    ])
    expect(complaints(table('Target tomato', '220', '150', '45'))).toEqual([
      expect.stringContaining("'Target tomato' above a column, a bottle or what bottles are compared with"),
    ])
    // without a column of a bottle they are told as ranges
    const alone = text('Analyte;Unit;Found', 'K;mg/l;22 - 30', 'Ca;mg/l;14 - 20')
    expect(complaints(alone)[0]).toContain("'22 - 30', a range")
  })
})
