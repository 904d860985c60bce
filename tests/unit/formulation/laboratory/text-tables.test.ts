import { describe, expect, test } from 'vitest'
import { complaints, figure, samplesOf } from './report-text.ts'

const text = (...lines: readonly string[]) => `${lines.join('\n')}\n`

describe('columns set apart by blanks', () => {
  const HEADING = 'Analyte        Unit      Previous      Result'

  test('each figure is read below its heading, whatever is blank beside it', () => {
    const [sample] = samplesOf(
      text(
        'Sample: Tank 1         Sampled : 2026-03-16',
        HEADING,
        'Potassium      mg/L           200         210',
        'Calcium        mg/L                       120',
        'Magnesium      mg/L            20',
        'Boron          mg/L           0.3       < 0.1',
        'End of the report.',
      ),
    )
    expect(sample).toMatchObject({ label: 'Tank 1', sampledAt: '2026-03-16' })
    expect(['K', 'Ca', 'Mg', 'B'].map((element) => figure(sample!, element))).toEqual([210, 120, undefined, '<0.1'])
  })

  test('a row that stands below two headings is asked about', () => {
    const rows = ['Potassium      mg/L           200         210', 'Calcium        mg/L      100    120']
    expect(complaints(text(HEADING, ...rows))[0]).toContain(
      "report.csv:3:1  found 'Calcium', which does not stand in the columns",
    )
  })

  test('without a gutter from row to row a figure may be of the column beside it', () => {
    const heading = 'Analyte    Unit    Result    Previous'
    const rows = [
      'Iron       mg/L        1.0000    1.1',
      'Zinc       mg/L    0.20    0.30',
      'Boron      mg/L    0.40      0.50',
    ]
    expect(complaints(text(heading, rows[0]!, rows[2]!, rows[2]!.replace('Boron', 'Zinc ')))).toEqual([])
    expect(complaints(text(heading, ...rows))[0]).toContain("report.csv:3:28  found '0.30', which does not stand in")
  })

  test('headings on the next page, with its head, go on with the same bottle', () => {
    const page = [
      'Hill Laboratory           Page 2/2',
      'Analyte        Result     Unit',
      'Calcium        120        mg/L',
    ]
    const [sample, ...others] = samplesOf(
      text(
        'Analyte        Result     Unit',
        'Potassium      210        mg/L',
        '',
        ...page,
        'Magnesium      20         mg/L',
      ),
    )
    expect(others).toEqual([])
    expect(['K', 'Ca', 'Mg'].map((element) => figure(sample!, element))).toEqual([210, 120, 20])
  })

  test('where no column is for units a unit behind the figure is its own', () => {
    const rows = ['Calcium (Ca)          38.0      1.90', 'Sodium (Na)           84.1      3.66']
    const [sample] = samplesOf(
      text('Analysis              ppm       meq/L', ...rows, 'Conductivity          648  umhos/cm'),
    )
    expect(sample!.conductivityDsPerM).toBeCloseTo(0.648)
    expect(figure(sample!, 'Na')).toBe(84.1)
  })

  test('one sample a row', () => {
    const samples = samplesOf(
      text('Sample     K mg/L    Ca mg/L', 'North      200       100', 'South      210       110'),
    )
    expect(samples.map((sample) => figure(sample, 'Ca'))).toEqual([100, 110])
  })

  test('a misspelt name is no remark', () => {
    const rows = ['Potassium      210        mg/L', 'Calcuim        120        mg/L', 'Magnesium      20         mg/L']
    expect(complaints(text('Analyte        Result     Unit', ...rows))[0]).toContain(
      "found an unknown analyte 'Calcuim'",
    )
  })

  test('a figure before the headings is one of the bottle, unless there are several', () => {
    const table = ['Analyte        Result     Unit', 'Potassium      210        mg/L', 'Magnesium      20         mg/L']
    const [sample] = samplesOf(text('Calcium     120 mg/L', 'pH          6.1', ...table))
    expect(sample).toMatchObject({
      ph: 6.1,
      values: [{ element: 'Ca', mgPerL: 120 }, { element: 'K' }, { element: 'Mg' }],
    })
    const bottles = [
      'Analyte     Unit     Feed     Drain',
      'Potassium   mg/L     210      230',
      'Magnesium   mg/L     20       25',
    ]
    expect(complaints(text('Calcium     120 mg/L', ...bottles))[0]).toContain("'Calcium' above the headings")
  })

  test('names below no heading, and groups headed by their units', () => {
    const blank = [
      '                       Result    Units',
      'Reaction (pH)          7.7',
      'Calcium (Ca)           4.80      meq/L',
    ]
    const [plain] = samplesOf(text(...blank, 'Potassium (K)          0.12      meq/L', 'Hardness               35'))
    expect(plain).toMatchObject({ ph: 7.7, values: [{ element: 'Ca' }, { element: 'K' }] })
    expect(plain!.values[0]).toMatchObject({ mgPerL: expect.closeTo(4.8 * 20.039, 1) })
    const groups = [
      'pH (20 °C)                   7,5',
      'CATIONES                mg/L     meq/L',
      'Calcio (Ca)             88,6      4,42',
    ]
    const micros = [
      'Potasio (K)              4,3      0,11',
      'MICROELEMENTOS          mg/L',
      'Boro (B)                0,21',
      'Hierro (Fe)             No detectado',
    ]
    const [grouped] = samplesOf(text(...groups, ...micros, 'Dureza (grados)                  34,9'))
    expect(grouped).toMatchObject({
      ph: 7.5,
      values: [{ element: 'Ca', mgPerL: 88.6 }, { element: 'K' }, { mgPerL: 0.21 }, { element: 'Fe' }],
    })
    expect(complaints(text(...groups, ...micros, 'Zinc                              0,05'))[0]).toContain(
      'does not stand in the columns',
    )
  })
})

test('tables in pipes', () => {
  const [sample] = samplesOf(
    text(
      'Monster : kas 5',
      '| Bepaling | Uitslag | Eenheid |',
      '|:--|--:|---|',
      '| Kalium | 8,2 | mmol/l |',
      '| Bor (B) | 68 | µmol/l |',
    ),
  )
  expect(sample!.label).toBe('kas 5')
  expect(figure(sample!, 'K')).toBeCloseTo(8.2 * 39.098, 2)
  expect(figure(sample!, 'B')).toBeCloseTo(0.068 * 10.81, 2)
})

describe('lists of names and figures', () => {
  test('with dots between, and the unit said above for all', () => {
    const lines = ['  pH ........ 5,9', '  Potássio ...... 212', '  Cálcio ...... 90', '  Boro ........ não detectado']
    const [sample] = samplesOf(text('Os valores estão em mg/L.', ...lines))
    expect(sample!.ph).toBe(5.9)
    expect([figure(sample!, 'K'), figure(sample!, 'Ca')]).toEqual([212, 90])
    expect(sample!.values.find(({ element }) => element === 'B')).toMatchObject({ isLimitAssumed: true })
  })

  test('with a colon between, after a line that says when', () => {
    const [sample] = samplesOf(
      text('Pobrano: 2026-03-12', 'pH: 5,8', 'K: 338 mg/l', 'Ca: 190 mg/l', 'Thanks: the laboratory'),
    )
    expect(sample).toMatchObject({ sampledAt: '2026-03-12', ph: 5.8 })
    expect(figure(sample!, 'Ca')).toBe(190)
  })

  test('of two units in the sentences above none goes for all', () => {
    const lines = ['Values are in mg/L, traces in ug/L.', 'K: 338', 'Ca: 190', 'Fe: 190']
    expect(complaints(text(...lines))[0]).toContain('no unit for K')
  })

  test('a name that is not known is asked about, and a figure without its mark is not passed over', () => {
    expect(complaints(text('K: 338 mg/l', 'Ca: 190 mg/l', 'Mgn: 40 mg/l', 'Na: 20 mg/l'))[0]).toContain("'Mgn'")
    expect(complaints(text('K: 338 mg/l', 'Ca: 190 mg/l', 'Boron 0.3 mg/l', 'Na: 20 mg/l'))[0]).toContain(
      "'Boron 0.3 mg/l'",
    )
  })

  test('notes with a colon below a table make no list of it', () => {
    const notes = ['Fe: see note', 'Ca: see note', 'Mg: see note']
    expect(figure(samplesOf(text('Analyte,Value,Unit', 'K,200,mg/L', ...notes))[0]!, 'K')).toBe(200)
  })
})

describe('forms that a sentence tells', () => {
  const table = (row: string, sentence: string) => text('Analyte,Value,Unit', row, 'Na,20,mg/L', sentence)

  test.each([
    ['NO3,150,mg/L', 'All nitrogen is reported as N.', "'as N'"],
    ['Phosphorus,98,mg/L', 'Phosphorus is given as oxide.', "'as oxide'"],
    ['K,402,mg/L', 'Potassium is expressed as K2O.', "'as K2O'"],
    ['SO4,90,mg/L', 'Sulphate results are shown as S.', "'as S'"],
    ['K,402,mg/L', 'Macronutrients are in oxide form.', "'in oxide'"],
    ['Kalium,402,mg/L', 'Angaben in Oxidform.', "'in Oxidform'"],
    ['Potassium,402,mg/L', 'Les cations sont exprimés en oxydes.', "'en oxydes'"],
    ['Potassio,402,mg/L', 'Riportati come ossidi.', "'come ossidi'"],
    ['Potasio,402,mg/L', 'Expresados en forma de óxidos.', "'en forma de óxidos'"],
    ['Potássio,402,mg/L', 'Expresso em óxidos.', "'em óxidos'"],
    ['Potas,402,mg/L', 'Wyniki w przeliczeniu na tlenki.', "'na tlenki'"],
    ['Kalium,402,mg/L', 'Uitgedrukt als oxiden.', "'als oxiden'"],
    ['Kalium,402,mg/L', 'Angivet som oxider.', "'som oxider'"],
    ['Phosphorus,98,mg/L', 'Results are expressed as the ion.', "'as the ion'"],
    ['Phosphor,98,mg/L', 'Ausgedrückt als Ionen.', "'als Ionen'"],
    ['NO3,98,mg/L', 'All results are given as elements.', "'as elements'"],
  ])('%s contradicts %s', (row, sentence, said) => {
    expect(complaints(table(row, sentence))[0]).toContain(`found ${said} in the text and '${row.split(',')[0]}'`)
  })

  test.each([
    ['Nitrate as NO3,150,mg/L', 'Ammonium is reported as N.'],
    ['NO3-N,150,mg/L', 'All nitrogen is reported as N.'],
    ['P2O5,98,mg/L', 'Phosphorus is given as oxide.'],
    ['Ca,98,mg/L', 'Nitrate is reported as NO3.'],
    ['Kalium,402,mg/L', 'Angaben nicht als Oxide.'],
    ['NO3,98,mg/L', 'Metals are given as the element.'],
    ['Phosphorus,98,mg/L', 'Nitrate is held as ion.'],
  ])('%s does not contradict %s', (row, sentence) => {
    expect(complaints(table(row, sentence))).toEqual([])
  })

  test('a symbol beside the name is no form against such a sentence; a form is', () => {
    const note = 'Riportati come ossidi.'
    const table = (heading: string) => text(`Elemento,${heading},Risultato,Unità`, 'Fosforo,P,92,mg/L', note)
    expect(complaints(table('Simbolo'))[0]).toContain("'come ossidi' in the text and 'Fosforo'")
    expect(complaints(table('Espresso come'))).toEqual([])
  })
})
