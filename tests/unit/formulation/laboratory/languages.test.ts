import { describe, expect, test } from 'vitest'
import { complaints, figure, oneRow, samplesOf } from './report-text.ts'

describe('names in several languages', () => {
  test.each([
    ['Azot azotanowy (N-NO3)', 'NO3-N', 1],
    ['Nitratkväve, NO3-N', 'NO3-N', 1],
    ['Nitrogênio nítrico', 'NO3-N', 1],
    ['Nitrates (en NO3)', 'NO3-N', 0.2259],
    ['Azotany (wyrażone jako NO3)', 'NO3-N', 0.2259],
    ['Nitratos como N', 'NO3-N', 1],
    ['Nitrato (expresso como N)', 'NO3-N', 1],
    ['Ammoniumkväve, NH4-N', 'NH4-N', 1],
    ['Jon amonowy (NH4)', 'NH4-N', 0.7765],
    ['Fosfor total, P', 'P', 1],
    ['Fosfatos (H2PO4-)', 'P', 30.974 / 96.987],
    ['Hydrogenphosphat HPO4 2-', 'P', 30.974 / 95.979],
    ['Potas', 'K', 1],
    ['Wapń (Ca)', 'Ca', 1],
    ['Calcio (Ca++)', 'Ca', 1],
    ['Enxofre', 'S', 1],
    ['Sulfat SO4 2-', 'S', 0.33376],
    ['Sulfatos (SO4=)', 'S', 0.33376],
    ['Solfati (SO4--)', 'S', 0.33376],
    ['Sód', 'Na', 1],
    ['Klorid, Cl', 'Cl', 1],
    ['Żelazo ogólne', 'Fe', 1],
    ['Manganês', 'Mn', 1],
    ['Miedź', 'Cu', 1],
  ])('%s', (name, element, share) => {
    expect(figure(samplesOf(oneRow(name, '100', 'mg/L'))[0]!, element)).toBeCloseTo(100 * share, 1)
  })

  test.each([
    ...[
      'Wassertemperatur (vor Ort)',
      'Kieselsäure (als SiO2)',
      'Durezza totale',
      'Twardość ogólna',
      'Nitrites (en NO2)',
    ],
    ...['Turbiditet', 'Somma cationi', 'Sólidos totais dissolvidos', 'Cloro libre', 'Coliformes totales', 'Totalkväve'],
  ])('%s is known and left aside', (name) => {
    expect(samplesOf(`${oneRow(name, '5', '')}K,200,mg/L\n`)[0]!.noted).toMatchObject([{ analyte: name }])
  })

  test('a name that is not tracked with a symbol that is may be either', () => {
    expect(complaints(oneRow('Chlor (Cl)', '20', 'mg/L'))[0]).toContain("found an unknown analyte 'Chlor (Cl)'")
  })

  test.each(['m-Wert', 'Säurekapazität KS 4,3', 'Zasadowość'])('%s is alkalinity', (name) => {
    expect(samplesOf(`Analyte;Value;Unit\n${name};4,5;meq/l\n`)[0]!.alkalinityMeqPerL).toBe(4.5)
  })

  test('a symbol that says no more than the name contradicts nothing', () => {
    const rows = 'Acidity,pH,,6.2\nAlkalinity as CaCO3,Alk,mg/L,50.04\nNitrate as N,NO3-N,mg/L,150\n'
    const [sample] = samplesOf(`Analyte,Symbol,Unit,Value\n${rows}`)
    expect(sample!.ph).toBe(6.2)
    expect(sample!.alkalinityMeqPerL).toBeCloseTo(1, 3)
    expect(figure(sample!, 'NO3-N')).toBe(150)
    expect(complaints('Analyte,Symbol,Unit,Value\nNitrate as N,NO3,mg/L,150\n')[0]).toContain("the form 'NO3'")
  })

  test('conductivity by its name in a bracket with the temperature', () => {
    for (const name of ['EC (mS/cm @25C)', 'C.E. a 25 °C (mS/cm)', 'Konduktivitet vid 25 °C, mS/cm']) {
      expect(samplesOf(`Analyte,Value\n"${name}",2.1\n`)[0]!.conductivityDsPerM).toBe(2.1)
    }
    const at20 = samplesOf('Analyte;Value;Unit\nEC bei 20 °C;2,0;mS/cm\n')[0]!
    expect(at20.conductivityDsPerM).toBeCloseTo(2 * 1.116, 3)
  })
})

describe('units in several spellings', () => {
  test.each([
    ['K', 'g/m3', 1],
    ['K', 'g/m³', 1],
    ['K', 'mg/m3', 0.001],
    ['K', 'mmol(+)/L', 39.098],
    ['Ca', 'mval/l', 20.039],
    ['H2PO4', 'mmol(-)/L', 30.974],
    ['HPO4', 'meq/L', 15.487],
    ['Nitrate', 'mg N/l', 1],
    ['Nitrate', 'mg/L (als N)', 1],
    ['Nitrate', 'mg/l como NO3', 0.2259],
  ])('1 of %s in %s', (name, unit, mgPerL) => {
    expect(samplesOf(oneRow(name, '1', unit))[0]!.values[0]).toMatchObject({ mgPerL: expect.closeTo(mgPerL, 3) })
  })

  test.each(['ud. pH', 'unités pH', 'pH-Einheiten', 'jednostki pH'])('%s is that of pH', (unit) => {
    expect(samplesOf(oneRow('pH', '6.1', unit))[0]!.ph).toBe(6.1)
  })
})

describe('days in several languages', () => {
  const sampled = (text: string) => `Sampled: ${text}\nAnalyte;Value;Unit\nK;200;mg/L\n`

  test.each([
    ['11.02.2026, 08:40 Uhr', '2026-02-11T08:40'],
    ['23/02/2026 à 09h15', '2026-02-23T09:15'],
    ['5. Mai 2026 um 8:40 Uhr', '2026-05-05T08:40'],
    ['5 marzo 2026', '2026-03-05'],
    ['9 de março de 2026', '2026-03-09'],
    ['1er août 2026', '2026-08-01'],
    ['12 października 2026', '2026-10-12'],
    ['04.03.2026 (Mittwoch, 4. März)', '2026-03-04'],
    ['09-03-2026 (9 maart)', '2026-03-09'],
    ['09-03-2026 (3 september)', '2026-09-03'],
  ])('%s', (text, iso) => {
    expect(samplesOf(sampled(text))[0]!.sampledAt).toBe(iso)
  })

  test.each([
    ['09-03-2026', 'It may be 2026-09-03 or 2026-03-09'],
    ['09-03-2026 (Monday)', 'Write the day of sampling'],
    ['2026-03-09 (10 March)', 'another than that in numbers'],
    ['12 listopada 2026', 'No calendar has this day'],
  ])('%s is asked about', (text, words) => {
    expect(complaints(sampled(text))[0]).toContain(words)
  })

  test('the day in a line that goes on', () => {
    const line = 'Data pobrania próbek: 2026-03-05. Data zakończenia badań: 2026-03-10.'
    expect(samplesOf(`${line}\nAnalyte;Value;Unit\nK;200;mg/L\n`)[0]!.sampledAt).toBe('2026-03-05')
  })
})

describe('abbreviations that the report explains', () => {
  const table = (value: string, legend: string) => `Analyte;Value;Unit\nK;200;mg/L\nMo;${value};mg/L\n${legend}\n`

  test('not detected in the words of the report', () => {
    const [sample] = samplesOf(table('n.r.', 'n.r. = non rilevato'))
    expect(sample!.values.find(({ element }) => element === 'Mo')).toMatchObject({ isLimitAssumed: true })
    expect(complaints(table('n.r.', 'See below.'))[0]).toContain("found 'n.r.' for Mo")
  })

  test.each(['não detectado', 'ej påvisad', 'non détecté', 'nie wykryto', '<LQ'])('%s is not detected', (value) => {
    expect(figure(samplesOf(table(value, ''))[0]!, 'Mo')).toBe('<0.05')
  })

  test.each(['non déterminé', 'nicht bestimmt', 'no analizado'])('%s is not measured', (value) => {
    expect(figure(samplesOf(table(value, ''))[0]!, 'Mo')).toBeUndefined()
  })

  test('its own words go before what is usual', () => {
    expect(figure(samplesOf(table('ND', 'ND = not determined'))[0]!, 'Mo')).toBeUndefined()
    expect(complaints(table('ND', 'ND = no idea'))[0]).toContain("found 'no idea' for Mo")
    expect(figure(samplesOf(table('ND', 'ND = not detected'))[0]!, 'Mo')).toBe('<0.05')
  })

  test('explained in two ways it is taken as usual', () => {
    expect(complaints(table('n.r.', 'n.r. = non rilevato\nn.r. = non richiesto'))[0]).toContain("'n.r.' for Mo")
  })
})

test('a conductivity off by its unit is told with what the ions come to', () => {
  const report = (ec: string) => `Analyte,Value,Unit\nEC,${ec}\nK,200,mg/L\nCa,150,mg/L\nNO3-N,150,mg/L\n`
  expect(complaints(report('1.8,uS/cm'))[0]).toMatch(/report\.csv:2:1 {2}found 0\.0018 mS\/cm for EC, where the ions/)
  expect(complaints(report('1.8,mS/cm'))).toEqual([])
  expect(complaints(report('1.8,mS/m'))[0]).toContain('found 0.018 mS/cm for EC')
  // with most of the ions missing a high conductivity tells nothing
  expect(complaints('Analyte,Value,Unit\nEC,1.8,mS/cm\nMg,1,mg/L\n')).toEqual([])
})

describe('JSON in other shapes', () => {
  test('units in an object of their own', () => {
    const text =
      '{"units": {"K": "ppm", "Fe": "ppb", "pH": ""}, "samples": [{"name": "A", "values": {"K": "200", "Fe": 1500, "pH": "6"}}]}'
    const [sample] = samplesOf(text)
    expect([figure(sample!, 'K'), figure(sample!, 'Fe'), sample!.ph]).toEqual([200, 1.5, 6])
  })

  test('groups of analytes, a temperature beside the figure, and rows with a name', () => {
    const groups =
      '{"results": {"cations": {"K": {"value": 200, "unit": "mg/L"}}, "EC": {"value": 2, "unit": "mS/cm", "at": "20 C"}}}'
    expect(samplesOf(groups)[0]!.conductivityDsPerM).toBeCloseTo(2.232, 3)
    expect(figure(samplesOf(groups)[0]!, 'K')).toBe(200)
    expect(figure(samplesOf('{"parameters": [{"name": "K", "result": 200, "unit": "mg/L"}]}')[0]!, 'K')).toBe(200)
  })
})
