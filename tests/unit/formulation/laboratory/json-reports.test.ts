// JSON with its units in the head of the report, and figures in groups of their own.

import { expect, test } from 'vitest'
import { complaints, figure, samplesOf } from './report-text.ts'

const json = (units: Readonly<Record<string, string>>, sample: object) =>
  JSON.stringify({ report: { number: 'Q-1', units }, samples: [{ name: 'Tank', sampled: '2026-02-19', ...sample }] })
const general = { pH: 6.3, conductivity: 2.71, alkalinity: 0.7 }
const results = [
  { analyte: 'Nitrate-N', value: 198 },
  { analyte: 'Iron (Fe)', value: '<0.1', limit: 0.1 },
]

test('units for concentration, conductivity and alkalinity, once at the head', () => {
  const units = { concentration: 'mg/L', conductivity: 'mS/cm', alkalinity: 'meq/L' }
  const [sample] = samplesOf(json(units, { general, results }))
  expect(sample).toMatchObject({
    ...{ label: 'Tank', sampledAt: '2026-02-19', ph: 6.3, conductivityDsPerM: 2.71, alkalinityMeqPerL: 0.7 },
  })
  expect([figure(sample!, 'NO3-N'), figure(sample!, 'Fe')]).toEqual([198, '<0.1'])
})

test('bicarbonate is a concentration, and no alkalinity that has a unit of its own', () => {
  const units = { concentration: 'mg/L', alkalinity: 'meq/L' }
  const [sample] = samplesOf(json(units, { results: [{ analyte: 'HCO3', value: 61.02 }] }))
  expect(sample!.alkalinityMeqPerL).toBeCloseTo(1, 3)
})

test('a unit for some that are not understood leaves the others open', () => {
  const units = { concentration: 'mmol/L', trace: 'umol/L' }
  expect(complaints(json(units, { results }))).toContainEqual(expect.stringContaining('no unit for Iron (Fe)'))
})

test('a group of another name may hold what results are compared with', () => {
  const units = { concentration: 'mg/L' }
  expect(complaints(json(units, { max: { 'NO3-N': 11, Cl: 250 }, results })).length).toBeGreaterThan(0)
})

test('a group with a key that is no analyte is asked about', () => {
  const units = { concentration: 'mg/L', conductivity: 'mS/cm', alkalinity: 'meq/L' }
  expect(complaints(json(units, { general: { pH: 6.3, mood: 5 }, results }))).toContainEqual(
    expect.stringContaining("'mood'"),
  )
})
