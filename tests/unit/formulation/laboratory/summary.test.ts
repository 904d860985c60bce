import { describe, expect, test } from 'vitest'
import { complaints, figure, samplesOf } from './report-text.ts'

const SUMMARY = 'a summary of many samples, not one bottle'
const withColumns = (...headings: readonly string[]) =>
  `Analyte;Unit;${headings.join(';')}\nK;mg/L;${headings.map((_, at) => 200 + at).join(';')}\nCa;mg/L;${headings.map((_, at) => 90 + at).join(';')}\n`

describe('figures of many samples are no bottle', () => {
  test.each([
    ...[
      ['Minimum', 'Mean', 'Maximum'],
      ['Mean'],
      ['Min.', 'Max.'],
      ['95th percentile'],
      ['P5', 'P50', 'P95'],
      ['Median'],
    ],
    ...[
      ['Mittelwert'],
      ['Kleinster Wert', 'Größter Wert'],
      ['Gemiddelde'],
      ['Laagste', 'Hoogste'],
      ['Moyenne', 'Maxi'],
    ],
    ...[
      ['Promedio', 'Máximo'],
      ['Media', 'Massimo'],
      ['Média', 'Mínimo'],
      ['Średnia', 'Maks.'],
      ['Medelvärde', 'Lägsta'],
    ],
    ...[
      ['Mean 2025', 'Max 2025'],
      ['Tank 1', 'Mean'],
    ],
  ])('a table of %s is asked about', (...headings) => {
    expect(complaints(withColumns(...headings))).toEqual([expect.stringContaining(SUMMARY)])
  })

  test('so it is in rows and in JSON', () => {
    expect(complaints('Sample,K (mg/L),Ca (mg/L)\nAverage,200,100\n')[0]).toContain(`'Average', ${SUMMARY}`)
    expect(complaints('{"label":"Mean","K":{"value":200,"unit":"mg/L"}}')[0]).toContain(`'Mean', ${SUMMARY}`)
  })

  test('a mean below or beside bottles is noted and no bottle', () => {
    const samples = samplesOf('Sample,K (mg/L),Ca (mg/L)\nnorth,200,100\nsouth,210,110\nMean,205,105\n')
    expect(samples.map(({ label }) => label)).toEqual(['north', 'south'])
    expect(samples[0]!.noted).toEqual([
      { analyte: 'Mean', asWritten: '205', why: 'worked out from several, no bottle' },
    ])
  })

  test('a minimum and a maximum beside a bottle are what it is compared with', () => {
    const [sample, ...others] = samplesOf(withColumns('Tank 1', 'Minimum', 'Maximum'))
    expect([figure(sample!, 'K'), others]).toEqual([200, []])
  })

  test('a column of results with a number of samples beside it', () => {
    const text = (count: number) => `Analyte,Unit,Number of samples,Result\nK,mg/L,${count},200\n`
    expect(complaints(text(24))[0]).toContain(`'Number of samples', ${SUMMARY}`)
    expect(complaints(text(1))).toEqual([])
  })

  test.each([
    ...['Annual averages 2025', 'Mean of 24 samples', 'Jahresmittelwerte', 'Jaargemiddelden', 'Moyenne annuelle'],
    ...['Promedio anual', 'Media annuale', 'Média anual', 'Średnia roczna', 'Årsmedelvärden'],
  ])('%s above the figures', (said) => {
    expect(complaints(`${said}\nAnalyte,Value,Unit\nK,200,mg/L\n`)[0]).toContain(SUMMARY)
  })
})
