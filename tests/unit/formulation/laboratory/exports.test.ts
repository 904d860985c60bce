import { describe, expect, test } from 'vitest'
import { textOfReport } from '../../../../src/shell/api/schema/report-bytes.ts'
import { complaints, figure, oneRow, samplesOf } from './report-text.ts'

describe('flags beside a result', () => {
  const flagged = (flag: string, value: string, limit = '') =>
    `Analyte,Qualifier,Result,Unit,RL\nFe,${flag},${value},mg/L,${limit}\nCa,,60,mg/L,\n`

  test.each(['<', 'U', 'ND', 'UJ'])('a figure flagged %s is the limit and was not found', (flag) => {
    expect(figure(samplesOf(flagged(flag, '0.05'))[0]!, 'Fe')).toBe('<0.05')
  })

  test('a figure flagged for something else was found', () => {
    expect(figure(samplesOf(flagged('J', '0.05', '0.1'))[0]!, 'Fe')).toBe(0.05)
  })

  test('not found, above its own limit: one of the two is wrong', () => {
    expect(complaints(flagged('U', '0.5', '0.1'))[0]).toContain("report.csv:2:6  found the flag 'U' beside '0.5'")
  })

  test('above the range nothing was measured', () => {
    expect(complaints(flagged('>', '300'))[0]).toContain("found the flag '>' for Fe")
  })

  test('in JSON too, with the limit in a place of its own', () => {
    const rows = [
      { analyte: 'Mn', value: 0.05, qualifier: '<', unit: 'mg/L' },
      { analyte: 'Fe', value: null, qualifier: '<', unit: 'mg/L', 'detection limit': 0.02 },
    ]
    const [sample] = samplesOf(JSON.stringify({ label: 'A', results: rows }))
    expect([figure(sample!, 'Mn'), figure(sample!, 'Fe')]).toEqual(['<0.05', '<0.02'])
  })

  test('of a limit of detection and one of reporting the wider holds', () => {
    const text = 'Analyte,MDL,RL,Result,Unit\nFe,0.01,0.05,ND,mg/L\n'
    expect(figure(samplesOf(text)[0]!, 'Fe')).toBe('<0.05')
  })
})

describe('alkalinity in parts', () => {
  const alkalinity = (rows: string) => samplesOf(`Analyte,Unit,Result\nCa,mg/L,60\n${rows}`)[0]!.alkalinityMeqPerL

  test('carbonate counts with bicarbonate', () => {
    expect(alkalinity('Bicarbonate,meq/L,3.2\nCarbonate,meq/L,1\n')).toBeCloseTo(4.2)
    expect(alkalinity('Bicarbonate,meq/L,3.2\nCarbonate,mg/L,30.004\n')).toBeCloseTo(4.2)
  })

  test('and is in a total alkalinity already', () => {
    expect(alkalinity('Alkalinity,meq/L,4.2\nCarbonate,meq/L,1\n')).toBeCloseTo(4.2)
  })

  test('bicarbonate alkalinity in mg/L may be CaCO3 or HCO3, and is asked about', () => {
    expect(complaints(oneRow('Bicarbonate alkalinity', '100', 'mg/L'))[0]).toContain('As CaCO3 it is 2 meq/L')
  })

  test('acid taken up to pH 4.3 is alkalinity, to pH 8.2 it is not', () => {
    expect(alkalinity('"Säurekapazität bis pH 4,3",mmol/l,5.1\n')).toBeCloseTo(5.1)
    expect(complaints(oneRow('Säurekapazität bis pH 8,2', '0.2', 'mmol/l'))[0]).toContain('an unknown analyte')
  })

  test('a French degree is a fifth of an equivalent', () => {
    expect(alkalinity('TAC,°f,25\n')).toBeCloseTo(5, 1)
  })
})

describe('one figure in several columns of units', () => {
  const text = (ca: string) => `Element,meq/L,mg/L\nCa,${ca},120\nNitrate,0.08,5\nEC (dS/m),,0.9\n`

  test('mass is taken where it is clear, else what says the form', () => {
    const [sample] = samplesOf(text('5.99'))
    expect(figure(sample!, 'Ca')).toBe(120)
    expect(figure(sample!, 'NO3-N')).toBeCloseTo(0.08 * 14.007, 3)
    expect(sample!.conductivityDsPerM).toBe(0.9)
  })

  test('two that differ by more than their rounding are refused', () => {
    expect(complaints(text('6.9'))[0]).toContain("found '6.9' for Ca, which is not what the column beside it says")
  })
})

describe('headings', () => {
  test('a unit may stand in the heading of the results, for concentrations alone', () => {
    const [sample] = samplesOf('Element,Result (ppm),Optimum (ppm)\nCa,120,150\npH,6,5.8\n')
    expect([figure(sample!, 'Ca'), sample!.ph]).toEqual([120, 6])
    expect(complaints('Element,Result (ppm)\nEC,2\n')[0]).toContain('no unit for EC')
  })

  test('in two places it is refused', () => {
    expect(complaints('Element,Result (mg/L),Unit\nCa,3,mmol/L\n')[0]).toContain("found the unit 'mg/L' in a heading")
  })

  test('a form in the heading is not lost', () => {
    const text = 'Analyte,Unit,Result (as CaCO3)\nCa,mg/L,120\n'
    expect(complaints(text)[0]).toContain("an unknown heading 'Result (as CaCO3)'")
  })

  test.each(['Streefwaarde', 'Sollwert', 'Grenzwert', 'Previous result', 'Target range (ppm)', 'Regulatory limit'])(
    '%s is no result and no bottle',
    (heading) => {
      const samples = samplesOf(`Analyte,Unit,${heading},Tank 1\nCa,mg/L,100,60\n`)
      expect(samples.map(({ label }) => label)).toEqual(['Tank 1'])
    },
  )

  test('a bottle may be called after what others compare with', () => {
    const samples = samplesOf('Analyte,Unit,Normal feed,Reference\nCa,mg/L,100,60\n')
    expect(samples.map(({ label }) => label)).toEqual(['Normal feed', 'Reference'])
  })

  test('headings between the rows and remarks below them are no analytes', () => {
    const [sample] = samplesOf('Analyte,Unit,Result\nMETALS,,\nCa,mg/L,60\nTested as received.,,\n')
    expect(figure(sample!, 'Ca')).toBe(60)
  })

  test('a line above the table may begin as its headings do', () => {
    const [sample] = samplesOf('Analysis,Nutrient solution,\nParameter,Result,Unit\nCa,60,mg/L\n')
    expect(figure(sample!, 'Ca')).toBe(60)
  })

  test('columns of a fixed width without headings are told as such', () => {
    const lines = ['County laboratory', 'Calcium (Ca)    38.0', 'Sodium (Na)     84.1']
    expect(complaints(lines.join('\n'))[0]).toContain('report.csv:2:1  found columns set apart by blanks alone')
  })
})

describe('figures with more beside them', () => {
  test.each(['60 ± 5', '60 +/- 5', '60 ± 8 %'])('%s: the uncertainty is left aside', (value) => {
    expect(figure(samplesOf(oneRow('Ca', value, 'mg/L'))[0]!, 'Ca')).toBe(60)
  })

  test.each(['20 - 60', '20 to 60', '20–60'])('%s is a range and no figure', (value) => {
    expect(complaints(oneRow('Ca', value, 'mg/L'))[0]).toContain(`found '${value}', a range`)
  })

  test('conductivity at 20 °C is brought to 25 °C, at other temperatures it is refused', () => {
    const [sample] = samplesOf(oneRow('Conductivity at 20 °C', '500', 'µS/cm'))
    expect(sample!.conductivityDsPerM).toBeCloseTo(0.558, 3)
    expect(complaints(oneRow('Conductivity at 18 °C', '500', 'µS/cm'))[0]).toContain('found 18 °C')
  })

  test('a conductivity that was worked out is none', () => {
    expect(complaints(oneRow('Conductivity (calculated)', '500', 'µS/cm'))[0]).toContain('an unknown analyte')
  })

  test('what is not tracked is noted in mg/L, whatever its unit', () => {
    const [sample] = samplesOf('Analyte,Unit,Result\nCa,mg/L,60\nFluoride,µg/L,680\n')
    expect(sample!.noted[0]!.mgPerL).toBeCloseTo(0.68)
  })
})

describe('the bytes of a file', () => {
  const text = 'Analyte;Unit;Result\nLeitfähigkeit;µS/cm;500\n'
  const utf16 = (isLittle: boolean) => {
    const bytes = Buffer.from(`\ufeff${text}`, 'utf16le')
    return isLittle ? bytes : bytes.swap16()
  }

  test.each([
    ['UTF-8', Buffer.from(text)],
    ['UTF-8 with its mark', Buffer.from(`\ufeff${text}`)],
    ['Latin-1', Buffer.from(text, 'latin1')],
    ['UTF-16, little end first', utf16(true)],
    ['UTF-16, big end first', utf16(false)],
  ])('%s is read', (_name, bytes) => {
    expect(textOfReport(bytes)).toBe(text)
  })
})
