// What a report says once for many figures: units in the names of columns, a unit for all, days above the table.

import { expect, test } from 'vitest'
import { complaints, samplesOf } from './report-text.ts'

const text = (...lines: readonly string[]) => `${lines.join('\n')}\n`

test.each([
  ['nitrate_n_mg_per_l', { element: 'NO3-N', mgPerL: 12 }],
  ['NO3_N_mg_l', { element: 'NO3-N', mgPerL: 12 }],
  ['iron_ug_per_l', { element: 'Fe', mgPerL: 0.012 }],
  ['calciumMgPerL', { element: 'Ca', mgPerL: 12 }],
  ['k_mmol_per_l', { element: 'K', mgPerL: expect.closeTo(12 * 39.098, 1) }],
  ['phosphorus_mg_per_l_as_p2o5', { element: 'P', mgPerL: expect.closeTo(12 * 0.4364, 2) }],
])('a name as programs spell it: %s', (name, value) => {
  const [sample] = samplesOf(text(`sample,ph,${name}`, 'Tank,6.1,12'))
  expect(sample!.values).toMatchObject([value])
  expect(samplesOf(JSON.stringify([{ sample: 'Tank', ph: 6.1, [name]: 12 }]))[0]!.values).toMatchObject([value])
})

test('conductivity and alkalinity so spelled', () => {
  const [sample] = samplesOf(text('sample,ec_us_cm,alkalinity_mg_per_l_as_caco3', 'Well,820,100.09'))
  expect(sample).toMatchObject({ conductivityDsPerM: expect.closeTo(0.82, 9), alkalinityMeqPerL: expect.closeTo(2, 2) })
})

test('a unit said of every figure, and a figure in another kind of unit', () => {
  const table = ['Sample,Ca (mmol/L),K (mmol/L)', 'Tank,4.0,0.1']
  expect(complaints(text('"All ions in meq/L"', ...table))).toEqual([
    expect.stringContaining("'Ca (mmol/L)' where line 1 says that all are in meq/L"),
  ])
  expect(samplesOf(text('"All ions in meq/L unless stated otherwise"', ...table))).toHaveLength(1)
  expect(samplesOf(text('"All ions in mmol/L"', ...table))).toHaveLength(1)
  expect(samplesOf(text('"All ions in mg/L"', 'Sample,Ca,Fe (ug/L)', 'Tank,120,900'))).toHaveLength(1)
})

test('two days beside each other above the bottles they are of', () => {
  const table = ['Analyte\tUnit\tFeed\tDrain', 'Potassium\tmg/L\t210\t230', 'Calcium\tmg/L\t120\t150']
  expect(complaints(text('Sampled\t2026-05-04\t2026-05-06', ...table))).toEqual([
    expect.stringContaining("'2026-05-06' beside '2026-05-04' above the headings"),
  ])
  expect(samplesOf(text('Sampled\t2026-05-04\t2026-05-04', ...table)).map(({ sampledAt }) => sampledAt)).toEqual([
    '2026-05-04',
    '2026-05-04',
  ])
})

test.each([
  ['Received: 27/04/2026', '2026-05-06'],
  ['Received: 04/27/2026', '2026-06-05'],
  ['Datum monstername', '2026-05-06'],
])('06/05/2026 beside ‘%s’ is %s', (beside, day) => {
  const [sample] = samplesOf(text(beside, 'Analyte,Result,Unit,Sampled', 'Potassium,210,mg/L,06/05/2026'))
  expect(sample!.sampledAt).toBe(day)
})

test('06/05/2026 alone, or beside days of either order, is asked about', () => {
  const table = ['Analyte,Result,Unit,Sampled', 'Potassium,210,mg/L,06/05/2026']
  const asked = [expect.stringContaining('2026-06-05 or 2026-05-06')]
  expect(complaints(text(...table))).toEqual(asked)
  expect(complaints(text('Received: 27/04/2026, reported 04/28/2026', ...table))).toEqual(asked)
})

test('columns and rows that no bottle is in: ranges, ratios, what lives in water', () => {
  const table = ['Analyte,Result,Unit,Range low,Range high', 'Potassium,210,mg/L,180,260', 'K:Ca ratio,1.4,,1,2']
  const [sample] = samplesOf(text(...table, 'Coliform bacteria,0,CFU/100 mL,,'))
  expect(sample!.values).toHaveLength(1)
  expect(sample!.noted.map(({ analyte }) => analyte)).toEqual(['K:Ca ratio', 'Coliform bacteria'])
})

test('a corner left blank above the names, beside units and bottles', () => {
  const samples = samplesOf(text('\tUnit\tFeed\tDrain', 'pH\t\t5.6\t6.4', 'Potassium (K)\tmmol/L\t6.4\t6.9'))
  expect(samples).toMatchObject([
    { label: 'Feed', ph: 5.6 },
    { label: 'Drain', ph: 6.4 },
  ])
})
