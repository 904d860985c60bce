import { describe, expect, test } from 'vitest'
import { complaints, figure, oneRow, samplesOf } from './report-text.ts'

describe('names of analytes', () => {
  test.each([
    ['NO3-N', 'NO3-N', 1],
    ['Nitrate-N', 'NO3-N', 1],
    ['Nitrate Nitrogen', 'NO3-N', 1],
    ['nitrate (as N)', 'NO3-N', 1],
    ['NO3–N', 'NO3-N', 1],
    ['N-NO3', 'NO3-N', 1],
    ['NO3', 'NO3-N', 14.007 / 62.004],
    ['NO₃⁻', 'NO3-N', 14.007 / 62.004],
    ['NO3-', 'NO3-N', 14.007 / 62.004],
    ['Ammonia-N', 'NH4-N', 1],
    ['NH4+', 'NH4-N', 14.007 / 18.039],
    ['Phosphorus, total', 'P', 1],
    ['PO4-P', 'P', 1],
    ['PO4 3-', 'P', 30.974 / 94.97],
    ['K', 'K', 1],
    ['K+', 'K', 1],
    ['Potassium (ICP)', 'K', 1],
    ['Potash', 'K', 0.83015],
    ['Ca2+', 'Ca', 1],
    ['Ca+2', 'Ca', 1],
    ['Ca++', 'Ca', 1],
    ['Calcium (dissolved)', 'Ca', 1],
    ['SO4 2-', 'S', 0.33376],
    ['SO42-', 'S', 0.33376],
    ['SO₄²⁻', 'S', 0.33376],
    ['Sulphur', 'S', 1],
    ['Sulfate as S', 'S', 1],
    ['Chloride', 'Cl', 1],
    ['Cl-', 'Cl', 1],
    ['Calcium (Ca++)', 'Ca', 1],
    ['Calcium Ca', 'Ca', 1],
    ['Sulphate (SO4--)', 'S', 0.33376],
    ['Nitrate (NO3-)', 'NO3-N', 14.007 / 62.004],
    ['Nitrate N', 'NO3-N', 1],
    ['Nitrogen - nitrate', 'NO3-N', 1],
    ['Nitrogen (NO3-N)', 'NO3-N', 1],
    ['Phosphorus (P2O5)', 'P', 0.43643],
    ['Molybdän', 'Mo', 1],
    ['Azufre (S)', 'S', 1],
    ['Boor (B)', 'B', 1],
  ])('%s', (name, element, share) => {
    expect(figure(samplesOf(oneRow(name, '100', 'mg/L'))[0]!, element)).toBeCloseTo(100 * share, 2)
  })

  test.each([
    ['Nitrate', 'NO3-N', 'NO3', '45', '10.2'],
    ['Ammonium', 'NH4-N', 'NH4', '45', '34.9'],
    ['Sulphate', 'S', 'SO4', '45', '15'],
    ['Phosphate', 'P', 'PO4', '45', '14.7'],
  ])('%s in mg/L without a form is refused with both readings', (name, one, other, asOne, asOther) => {
    const [complaint] = complaints(oneRow(name, '45', 'mg/L'))
    expect(complaint).toContain(`report.csv:2:${name.length + 4}  found no form for ${name}`)
    expect(complaint).toContain(`s ${one} it is ${asOne} mg/L of`)
    expect(complaint).toContain(`as ${other} it is ${asOther} mg/L of`)
  })

  test('in moles the form does not matter', () => {
    expect(figure(samplesOf(oneRow('Nitrate', '10', 'mmol/L'))[0]!, 'NO3-N')).toBeCloseTo(140.07, 6)
  })

  test('a form may stand with the unit', () => {
    expect(figure(samplesOf(oneRow('Nitrate', '100', 'mg/L as N'))[0]!, 'NO3-N')).toBe(100)
    expect(figure(samplesOf(oneRow('Nitrate', '100', 'mg NO3/L'))[0]!, 'NO3-N')).toBeCloseTo(22.59, 2)
    expect(figure(samplesOf(oneRow('Potassium', '100', 'mg/L K2O'))[0]!, 'K')).toBeCloseTo(83.015, 2)
    expect(complaints(oneRow('Potassium', '100', 'mg/L P2O5'))[0]).toContain(
      'found the form P2O5 for Potassium, allowed a form of K',
    )
  })

  test.each(['Potassium (Ca)', 'Nitrate-N (NO3)', 'Target (K)', 'K uptake'])(
    '%s contradicts itself or is no result, and is refused',
    (name) => {
      expect(complaints(oneRow(name, '45', 'mg/L'))[0]).toContain(`found an unknown analyte '${name}'`)
    },
  )

  test('nitrate nitrogen as nitrate is two forms', () => {
    expect(complaints(oneRow('NO3-N as NO3', '45', 'mg/L'))[0]).toContain('found two forms, NO3-N and NO3, for')
  })

  test('a form may have a column of its own', () => {
    const row = (analyte: string, form: string) => `Analyte,Form,Value,Unit\n${analyte},${form},100,mg/L\n`
    expect(figure(samplesOf(row('Potassium', 'K2O'))[0]!, 'K')).toBeCloseTo(83.015, 2)
    expect(figure(samplesOf(row('N', 'NO3-N'))[0]!, 'NO3-N')).toBe(100)
    expect(figure(samplesOf(row('Nitrate', 'N'))[0]!, 'NO3-N')).toBe(100)
    expect(figure(samplesOf(row('Nitrate', 'NO3'))[0]!, 'NO3-N')).toBeCloseTo(22.59, 2)
    expect(samplesOf(row('Alkalinity', 'CaCO3'))[0]!.alkalinityMeqPerL).toBeCloseTo(100 / 50.04, 3)
    expect(complaints(row('Potassium', 'P2O5'))[0]).toContain("report.csv:2:11  found the form 'P2O5' for Potassium")
    expect(complaints(row('Potassium', 'dry matter'))[0]).toContain("found the form 'dry matter' for Potassium")
  })

  test('nitrogen and no more is refused, and noted where nitrate nitrogen stands beside it', () => {
    expect(complaints(`${oneRow('Nitrogen', '141', 'mg/L')}K,200,mg/L\n`)).toEqual([
      'report.csv:2:1  found no kind of nitrogen for Nitrogen 141, allowed NO3-N, NH4-N or total nitrogen. ' +
        'Ask the laboratory for NO3-N and NH4-N, or name it among the analytes to ignore.',
    ])
    const [sample] = samplesOf(`${oneRow('N', '141', 'mg/L')}NO3-N,135,mg/L\n`)
    expect(figure(sample!, 'NO3-N')).toBe(135)
    expect(sample!.noted).toMatchObject([{ analyte: 'N', asWritten: '141' }])
  })

  test('soluble salts are conductivity where the unit says so', () => {
    expect(samplesOf(oneRow('Soluble salts', '174', '10^-5 S/cm'))[0]!.conductivityDsPerM).toBeCloseTo(1.74, 9)
    const [sample] = samplesOf(`${oneRow('Soluble salts', '1100', 'mg/L')}K,200,mg/L\n`)
    expect(sample!.conductivityDsPerM).toBeUndefined()
    expect(sample!.noted[0]!.analyte).toBe('Soluble salts')
  })

  test('conductivity on two scales is one statement where they agree', () => {
    const both = (second: string) => `Analyte,Value,Unit\nEC,1.74,mS/cm\nSS,${second},10^-5 S/cm\n`
    expect(samplesOf(both('174'))[0]!.conductivityDsPerM).toBe(1.74)
    expect(complaints(both('190'))[0]).toContain("found 'SS' (1.9 mS/cm) after 'EC' (1.74 mS/cm) of line 2")
  })

  test('an unknown name is refused unless it is to be ignored', () => {
    const text = `${oneRow('Kryptonite', '3', 'mg/L')}K,200,mg/L\n`
    expect(complaints(text)[0]).toContain(
      "report.csv:2:1  found an unknown analyte 'Kryptonite', allowed EC, pH, alkalinity, NO3",
    )
    const [sample] = samplesOf(text, ['kryptonite'])
    expect(sample!.noted).toEqual([{ analyte: 'Kryptonite', asWritten: '3', why: 'left aside on request' }])
  })

  test.each(['Al', 'Nickel', 'Si', 'Turbidity', 'Fluoride', 'Total nitrogen', 'Hardness', 'TDS'])(
    '%s is known, noted and not used',
    (name) => {
      const [sample] = samplesOf(`${oneRow(name, '3', 'mg/L')}K,200,mg/L\n`)
      expect(sample!.noted[0]).toMatchObject({ analyte: name, asWritten: '3' })
      expect(sample!.values).toHaveLength(1)
    },
  )

  test('one element twice', () => {
    expect(complaints('Analyte,Value,Unit\nFe,1,mg/L\nIron,2,mg/L\n')).toEqual([
      "report.csv:3:1  found 'Iron' (2 mg/L of Fe) after 'Fe' (1 mg/L of Fe) of line 2, column 1, allowed one value for each element of a sample. Remove the wrong one.",
    ])
  })

  test('one element in two forms that agree is one statement, and two that do not are refused', () => {
    const [sample] = samplesOf('Analyte,Value,Unit\nK,200,mg/L\nK2O,241,mg/L\n')
    expect(figure(sample!, 'K')).toBe(200)
    expect(sample!.noted[0]!.why).toBe('says the same as another form of it')
    expect(complaints('Analyte,Value,Unit\nK,200,mg/L\nK2O,200,mg/L\n')).toHaveLength(1)
  })
})

describe('units', () => {
  test.each([
    ['mg/L', 40.078],
    ['mg/l', 40.078],
    ['MG/L', 40.078],
    ['ppm', 40.078],
    ['mg L-1', 40.078],
    ['mg L⁻¹', 40.078],
    ['mg·L⁻¹', 40.078],
    ['mg/dm3', 40.078],
    ['ug/L', 40078],
    ['µg/l', 40078],
    ['ppb', 40078],
    ['g/L', 0.040078],
    ['mmol/L', 1],
    ['umol/L', 1000],
    ['μmol/L', 1000],
    ['meq/L', 2],
    ['me/L', 2],
    ['mval/L', 2],
  ])('1 mmol/L of calcium in %s', (unit, value) => {
    expect(figure(samplesOf(oneRow('Ca', String(value), unit))[0]!, 'Ca')).toBeCloseTo(40.078, 6)
  })

  test.each([
    ['1.413', 'mS/cm'],
    ['1.413', 'dS/m'],
    ['1413', 'uS/cm'],
    ['1413', 'µS/cm'],
    ['141.3', 'mS/m'],
    ['1.413', 'mmho/cm'],
    ['1.413', 'dS m⁻¹'],
    ['1.413', 'dS m-1'],
    ['141.3', '10^-5 S/cm'],
  ])('the 0.01 mol/L potassium chloride standard is %s %s', (value, unit) => {
    expect(samplesOf(oneRow('EC', value, unit))[0]!.conductivityDsPerM).toBeCloseTo(1.413, 9)
  })

  test.each([
    ['Alkalinity', '50.04', 'mg/L as CaCO3'],
    ['Alkalinity (CaCO3)', '50.04', 'mg/L'],
    ['Total alkalinity as CaCO3', '50.04', 'ppm'],
    ['Alkalinity', '1', 'meq/L'],
    ['Alkalinity', '2.80', '°dH'],
    ['HCO3', '61.02', 'mg/L'],
    ['Bicarbonate', '1', 'mmol/L'],
    ['Bicarbonate as CaCO3', '50.04', 'mg/L'],
  ])('1 meq/L of alkalinity: %s %s %s', (name, value, unit) => {
    // 1 meq/L = 50.04 mg/L CaCO3 = 61.02 mg/L HCO3 = 2.80 °dH, published equivalents
    expect(samplesOf(oneRow(name, value, unit))[0]!.alkalinityMeqPerL).toBeCloseTo(1, 2)
  })

  test.each([
    ['Alkalinity', '130', 'mg/L', 'As CaCO3 it is 2.6 meq/L, as HCO3 2.13.'],
    ['Alkalinity', '1.3', 'mmol/L', 'As CaCO3 it is 2.6 meq/L, as HCO3 1.3.'],
    ['P', '1', 'meq/L', 'found P in equivalents for P'],
    ['P2O5', '1', 'mmol/L', 'found P2O5 in moles for P2O5'],
    ['Ca', '1', 'mS/cm', 'found a unit that is none of concentration for Ca'],
    ['Ca', '1', 'NTU', "found a unit that is none of concentration for Ca: 'NTU'"],
    ['EC', '1240', 'ppm', 'two scales are in use, 500 and 700'],
    ['EC', '1850', 'mS/cm', 'found 1850 mS/cm for EC, allowed 0 to 300 mS/cm'],
    ['K', '1e9', 'mg/L', 'found 1000000000 mg/L of K for K, allowed 0 to 500000 mg/L'],
    ['Fe', '<1e9', 'mg/L', 'A litre cannot hold so much'],
    ['Fe', '1', '\ufffdg/L', 'The file is not in UTF-8'],
    ['EC', '1', 'mg/L', 'found a unit that is none of conductivity for EC'],
    ['pH', '6', 'mg/L', 'found a unit for pH'],
    ['K', '200', 'mg/kg', "found an unknown unit 'mg/kg' for K"],
    ['K', '200', '', 'found no unit for K'],
    ['K (mmol/L)', '200', 'mg/L', 'found two units that differ for K (mmol/L)'],
  ])('%s %s %s is refused', (name, value, unit, expected) => {
    const found = complaints(oneRow(name, value, unit))
    expect(found).toHaveLength(1)
    expect(found[0]).toContain(expected)
  })
})

describe('figures', () => {
  const inPointFile = (value: string) => `Analyte,Value,Unit\nFe,"${value}",mg/L\nK,200.5,mg/L\n`
  const inCommaFile = (value: string) => `Analyte;Value;Unit\nFe;${value};mg/L\nK;200,5;mg/L\n`

  test.each([
    ['1.5', 1.5],
    ['1,234', 1234],
    ['1,234.5', 1234.5],
    ['1 234.5', 1234.5],
    ["1'234.5", 1234.5],
    ['1.5e-2', 0.015],
    ['.5', 0.5],
    ['0', 0],
    ['1.5 mg/L', 1.5],
    ['<0.01', '<0.01'],
    ['< 0.01', '<0.01'],
    ['≤0.01', '<0.01'],
    ['less than 0.01', '<0.01'],
    ['<0.01 mg/L', '<0.01'],
    ['ND', '<0.05'],
    ['n.d.', '<0.05'],
    ['BDL', '<0.05'],
    ['<LOD', '<0.05'],
    ['trace', '<0.05'],
    ['', undefined],
    ['n/a', undefined],
    ['-', undefined],
    ['not measured', undefined],
  ])('%s where decimals are points', (value, expected) => {
    expect(figure(samplesOf(inPointFile(value))[0]!, 'Fe')).toEqual(expected)
  })

  test.each([
    ['1,5', 1.5],
    ['1.234', 1234],
    ['1.234,5', 1234.5],
    ['1 234,5', 1234.5],
    ['<0,01', '<0.01'],
    [',5', 0.5],
  ])('%s where decimals are commas', (value, expected) => {
    expect(figure(samplesOf(inCommaFile(value))[0]!, 'Fe')).toEqual(expected)
  })

  test('not detected counts against the limit that stands beside it, else against a wide one of ours, and says so', () => {
    const text = 'Analyte,Value,Unit,LOD\nFe,ND,ug/L,10\nMn,ND,mg/L,\n'
    const [iron, manganese] = samplesOf(text)[0]!.values
    expect(iron).toEqual({ element: 'Fe', form: 'Fe', belowMgPerL: 0.01, asWritten: 'Fe ND' })
    expect(manganese).toEqual({
      element: 'Mn',
      form: 'Mn',
      belowMgPerL: 0.05,
      asWritten: 'Mn ND',
      isLimitAssumed: true,
    })
  })

  test.each([
    ['abc', "found 'abc' for Fe, allowed a number, <number, ND, or blank where nothing was measured"],
    ['-3', "found '-3' for Fe, allowed 0 or more"],
    ['>50', "found '>50' for Fe, allowed a number"],
    ['1.5 high', "found '1.5 high' for Fe, allowed a number, with a unit behind it or none"],
    ['1.2.3', "found '1.2.3'"],
    ['1,2', 'Decimals are points in this file'],
    ['<0', "found '<0' for Fe, allowed a limit above 0"],
    ['Infinity', "found 'Infinity' for Fe"],
  ])('%s is refused', (value, expected) => {
    const found = complaints(inPointFile(value))
    expect(found.join('\n')).toContain(expected)
    expect(found[0]).toContain('report.csv:2:4')
  })

  test('a number that can be read in two ways is refused with both', () => {
    expect(complaints('Analyte;Value;Unit\nK;1.234;mg/L\n')).toEqual([
      "report.csv:2:3  found '1.234' for K, allowed a number that can be read in one way. It may be 1234 or 1.234, and nothing " +
        'else in the file tells. Write it without a thousands mark.',
    ])
  })

  test('points and commas as decimals in one file are refused', () => {
    expect(complaints('Analyte;Value;Unit\nK;200,5;mg/L\nCa;130.25;mg/L\n').join('\n')).toContain(
      "report.csv:3:4  found '130.25', allowed numbers with a decimal comma",
    )
  })

  test.each(['0', '14.5', '-1', '<5'])('pH %s is refused', (value) => {
    expect(complaints(oneRow('pH', value, ''))).toHaveLength(1)
  })
})

describe('the time of sampling', () => {
  const sampled = (text: string) => `Analyte,Value,Unit,Sampled\nK,200,mg/L,"${text}"\n`

  test.each([
    ['2026-03-16', '2026-03-16'],
    ['2026-03-16 08:30', '2026-03-16T08:30'],
    ['2026-03-16T08:30:00Z', '2026-03-16T08:30Z'],
    ['2026-03-16 8:30 pm', '2026-03-16T20:30'],
    ['2026-03-16 12:05 am', '2026-03-16T00:05'],
    ['2026-03-16T08:30+0100', '2026-03-16T08:30+01:00'],
    ['16.03.2026', '2026-03-16'],
    ['16.3.2026 08:30', '2026-03-16T08:30'],
    ['16/03/2026', '2026-03-16'],
    ['03/16/2026', '2026-03-16'],
    ['16 Mar 2026', '2026-03-16'],
    ['16-Mar-2026', '2026-03-16'],
    ['March 16, 2026', '2026-03-16'],
    ['2024-02-29', '2024-02-29'],
  ])('%s', (text, expected) => {
    expect(samplesOf(sampled(text))[0]!.sampledAt).toBe(expected)
  })

  test.each([
    ['03/04/2026', 'It may be 2026-03-04 or 2026-04-03, by the custom of the country.'],
    ['2026-02-29', 'No calendar has this day.'],
    ['2026-13-01', 'No calendar has this day.'],
    ['2026-03-16 25:00', 'a time of day that no clock shows'],
    ['last Monday', 'Write the day of sampling as 2026-03-16.'],
  ])('%s is refused', (text, expected) => {
    const found = complaints(sampled(text))
    expect(found).toHaveLength(1)
    expect(found[0]).toContain(expected)
    expect(found[0]).toContain('report.csv:2:12')
  })

  test('two times for one sample are refused', () => {
    const text = 'Analyte,Value,Unit,Sampled\nK,200,mg/L,2026-03-16\nCa,130,mg/L,2026-03-17\n'
    expect(complaints(text)[0]).toContain("report.csv:3:13  found '2026-03-17' where line 2 says '2026-03-16'")
  })
})
