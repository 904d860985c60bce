import { describe, expect, test } from 'vitest'
import { complaints, figure, samplesOf } from './report-text.ts'

const withColumn = (heading: string, ...cells: readonly string[]) =>
  `Analyte,Value,Unit,${heading}\nK,200,mg/L,${cells[0] ?? ''}\nCa,100,mg/L,${cells[1] ?? ''}\n`

describe('columns that are no results', () => {
  test.each([
    ...[
      'Previous',
      'Vorige uitslag (16-02-2026)',
      'Richtwert von',
      'Target max',
      'Change %',
      'Soglia d’uso',
      'Norma',
      'VMP',
    ],
    ...[
      'Intervalo recomendado (meq/L)',
      'REF. QUALITE',
      'Riktvärde',
      'Valeur cible',
      'Valor guía',
      'Limit',
      'Dil',
      'PREP_BATCH',
      'Técnica',
    ],
  ])('%s, with figures in it, is never taken for one', (heading) => {
    const [sample] = samplesOf(withColumn(heading.replace('’', "'"), '300', '90'))
    expect([figure(sample!, 'K'), figure(sample!, 'Ca')]).toEqual([200, 100])
  })

  test('beside the previous results stand the current ones', () => {
    const [sample] = samplesOf('Analyte,Unit,Previous,Current\nK,mg/L,180,200\n')
    expect(figure(sample!, 'K')).toBe(200)
  })

  test('under a heading that nobody knows words and ranges do no harm, and are noted', () => {
    expect(samplesOf(withColumn('Verdict', 'good', 'very good'))[0]!.noted).toEqual([])
    expect(samplesOf(withColumn('Zorro', 'good', 'very good'))[0]!.noted).toEqual([
      { analyte: 'column Zorro', asWritten: 'good', why: 'no result by all that stands in it' },
    ])
    expect(complaints(withColumn('Zorro', '150 - 250', '< 120'))).toEqual([])
  })

  test.each(['300', '<', 'U', 'J', 'ug/L', 'K2O', 'not detected', 'as oxide', 'estimated', '< 5'])(
    '%s under such a heading is asked about',
    (cell) => {
      expect(complaints(withColumn('Zorro', cell, 'good'))[0]).toContain(
        "report.csv:1:20  found an unknown heading 'Zorro'",
      )
    },
  )

  test('a date of nobody knows what is still asked about', () => {
    expect(complaints(withColumn('Date', '2026-03-04', '2026-03-04'))[0]).toContain('Say of what')
  })

  test('a column of an amount on the field is none of a solution', () => {
    const [sample] = samplesOf('Analyte,ppm,lbs/acre-ft\nK,200,544\n')
    expect(figure(sample!, 'K')).toBe(200)
  })
})

describe('rows that are no results', () => {
  test('guide values below the bottles are noted and no bottles', () => {
    const samples = samplesOf(
      'Lab No,Sample,K (mg/L),Ca (mg/L)\n1,north,200,100\nGuide: low,,150,80\n,Target,180,90\nAll is well.,,,\n',
    )
    expect(samples.map(({ label }) => label)).toEqual(['north'])
    expect(samples[0]!.noted.map(({ analyte }) => analyte)).toEqual(['row Guide: low', 'row Target'])
  })

  test('checks of the laboratory’s own are no bottles', () => {
    const rows = ['WELL,SMP,K,200', 'Method blank,MB,K,0.1', '26-1,LCS,K,50', 'North,MS,K,250']
    const samples = samplesOf(`Sample,Sample type,Analyte,Result (mg/L)\n${rows.join('\n')}\n`)
    expect(samples.map(({ label }) => label)).toEqual(['WELL'])
    expect(samples[0]!.noted).toHaveLength(3)
  })

  test('rows of forms, units, methods and limits below the headings', () => {
    const rows = [
      'form,,as N,as CaCO3,dissolved',
      'unit,mS/cm,mg/L,mg/L,ug/L',
      'method,W1,W2,W3,W4',
      'LOQ,0.1,1,1,20',
      'pond,1.2,5.1,212,<LOQ',
    ]
    const [sample, ...others] = samplesOf(`Site,EC,Nitrate,Alkalinity,Fe\n${rows.join('\n')}\n`)
    expect(others).toEqual([])
    expect(sample).toMatchObject({ label: 'pond', conductivityDsPerM: 1.2 })
    expect([figure(sample!, 'NO3-N'), figure(sample!, 'Fe')]).toEqual([5.1, '<0.02'])
    expect(sample!.alkalinityMeqPerL).toBeCloseTo(212 / 50.04, 3)
  })

  test('a row of forms needs no name', () => {
    const [sample] = samplesOf('Sample,Nitrate mg/L,Ca mg/L\n,as N,\nA,5,60\n')
    expect(figure(sample!, 'NO3-N')).toBe(5)
  })

  test('headings once more begin no analyte, and a new bottle where one is named between them', () => {
    const table = 'Analyte,Value,Unit'
    const same = samplesOf(`${table}\nK,200,mg/L\nTRACE ELEMENTS,,\n${table}\nFe,1.5,mg/L\n`)
    expect(same.map((sample) => [figure(sample, 'K'), figure(sample, 'Fe')])).toEqual([[200, 1.5]])
    const two = samplesOf(`Sample: A\nSampled: 2026-03-01\n${table}\nK,200,mg/L\nSample: B\n${table}\nK,250,mg/L\n`)
    expect(two.map(({ label, sampledAt }) => [label, sampledAt])).toEqual([
      ['A', '2026-03-01'],
      ['B', undefined],
    ])
  })

  test('a bottle named among the rows, without headings once more, has the rows below it', () => {
    for (const text of [
      'Sample: A\nAnalyte,Value,Unit\nK,200,mg/L\nSample: B\nMg,20,mg/L\n',
      'Sample: A\nK: 200 mg/L\nCa: 100 mg/L\nSample: B\nMg: 20 mg/L\n',
    ]) {
      const samples = samplesOf(text)
      expect(samples.map(({ label }) => label)).toEqual(['A', 'B'])
      expect(samples.map((sample) => figure(sample, 'Mg'))).toEqual([undefined, 20])
    }
  })

  test('a blank corner beside values and units is that of the analytes', () => {
    expect(figure(samplesOf(';Messwert;Einheit\nKalium;7,4;mg/l\n')[0]!, 'K')).toBe(7.4)
  })

  test('a bottle may have the name of its heading', () => {
    const [sample] = samplesOf('Probe;Parameter;Wert;Einheit\nProbe;K;200;mg/l\nProbe;Ca;100;mg/l\n')
    expect(sample!.label).toBe('Probe')
    expect([figure(sample!, 'K'), figure(sample!, 'Ca')]).toEqual([200, 100])
  })

  test('a bottle may be called Bottle', () => {
    expect(samplesOf('Analyte,Unit,Bottle,Drain\nK,mg/L,200,210\n').map(({ label }) => label)).toEqual([
      'Drain',
      'Bottle',
    ])
  })

  test('another text for each analyte names no bottles', () => {
    const rows = 'K,potassium ion,200,mg/L\nCa,calcium ion,100,mg/L\nMg,magnesium ion,20,mg/L\n'
    expect(complaints(`Analyte,Description,Value,Unit\n${rows}`)[0]).toContain(
      "report.csv:1:9  found 'Description', with another text for each analyte",
    )
  })
})
