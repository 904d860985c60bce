import { describe, expect, test } from 'vitest'
import { complaints, figure, samplesOf } from './report-text.ts'

const withNote = (note: string) => `Analyte;Value;Unit\nK;200;mg/L\n${note}\n`
const withRemark = (remark: string) => `Analyte,Value,Unit,Comment\nK,200,mg/L,${remark}\n`

describe('a factor that is told and not applied is asked about', () => {
  test.each([
    ...['Values are those of the 1:5 dilution.', 'Sample diluted x10', 'Run at dilution 1+4', 'Multiply by 10'],
    ...['10-fold diluted', 'Probe 1:10 verdünnt', 'In 1:5 Verdünnung gemessen', 'Monster 10x verdund'],
    ...['Échantillon dilué 10 fois', 'Multiplier par 10', 'Muestra diluida 1:10', 'Campione diluito 1:10'],
    ...[
      'Amostra diluída 1:10',
      'Próbka rozcieńczona 1:10',
      'Provet utspätt 10 gånger',
      'Dilution 1:5, factor not yet applied',
    ],
  ])('%s', (note) => {
    expect(complaints(withNote(note))).toEqual([expect.stringContaining('allowed figures without a factor')])
  })

  test.each(['Dilution 1:5 is corrected for.', 'Verdünnung 1:5 ist berücksichtigt.', 'Not diluted', 'Dilution 1:1'])(
    '%s is no such factor',
    (note) => expect(complaints(withNote(note))).toEqual([]),
  )

  test('in a remark beside the figure and in JSON', () => {
    expect(complaints(withRemark('x10'))[0]).toContain("report.csv:2:12  found 'x10' in the text")
    const row = '{ "analyte": "K", "value": 20, "unit": "mg/L", "comment": "read in the 1:10 dilution" }'
    expect(complaints(`{ "values": [${row}] }`)[0]).toContain("'1:10 dilution' in the text")
  })
})

describe('what a remark or a flag says against its figure', () => {
  test.each([
    ...['above calibration range', 'over range', 'exceeds the calibration curve', 'oberhalb des Messbereichs'],
    ...['hors gamme', 'fuera de rango', 'fuori scala', 'fora da gama', 'poza zakresem', 'buiten meetbereik'],
    ...['utanför mätområdet', 'rejected'],
  ])('%s is asked about', (remark) => {
    expect(complaints(withRemark(remark))[0]).toContain('allowed a figure within the range')
  })

  test.each(['E', 'OR', '>LR', 'over range', 'R'])('the flag %s is asked about', (flag) => {
    const text = `Analyte,Value,Unit,Flag\nK,200,mg/L,${flag}\n`
    expect(complaints(text)[0]).toContain(`the flag '${flag}' for K`)
  })

  test.each(['as K2O', 'given as oxide', 'in mmol/L', 'results in ug/L'])('%s is asked about', (remark) => {
    expect(complaints(withRemark(remark))[0]).toContain(`'${remark}' in a remark`)
    expect(complaints(`Sample,K (mg/L),Ca (mg/L),Comment\nnorth,200,90,${remark}\n`)[0]).toContain('in a remark')
  })

  test.each(['in duplicate', 'as agreed', 'taken in the morning'])('%s is not', (remark) => {
    expect(complaints(withRemark(remark))).toEqual([])
  })
})

describe('a unit told between the rows or below them', () => {
  test.each([
    'Analyte,Result (mg/L)\nK,200\nTrace elements in ug/L,\nFe,1200\n',
    'Analyte,Result (mg/L)\nK,200\nFe,1200\nTrace elements are given in ug/L.\n',
    'All values in mg/L\nAnalyte,Result\nK,200\nFe,1200\nIron in ug/L\n',
  ])('is asked about: %s', (text) => {
    expect(complaints(text)).toEqual([expect.stringContaining("found 'ug/L' in the text and 'mg/L' for K")])
  })

  test('the unit of a limit, or one that each row contradicts, is none', () => {
    const [sample] = samplesOf('Analyte,Result (mg/L)\nFe,1.2\nThe law of the land allows up to 200 ug/L\n')
    expect(figure(sample!, 'Fe')).toBe(1.2)
    expect(complaints(withNote('Trace elements are given in ug/L.'))).toEqual([])
  })
})
