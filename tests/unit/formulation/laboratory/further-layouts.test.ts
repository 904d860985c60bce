import { describe, expect, test } from 'vitest'
import { complaints, figure, samplesOf } from './report-text.ts'

describe('what stands beside and around a table', () => {
  test('a column of symbols says the form of an open name', () => {
    const text = (symbol: string) => `Parameter;Kürzel;Ergebnis;Einheit\nNitrat;${symbol};62;mg/l\npH-Wert;pH;6;-\n`
    expect(figure(samplesOf(text('NO3'))[0]!, 'NO3-N')).toBeCloseTo(14, 1)
    expect(complaints(text(''))[0]).toContain('no form for Nitrat')
  })

  test('a row of days below the names of bottles', () => {
    const samples = samplesOf('Analyte;Unit;North;South\nDate sampled;;2026-03-30;2026-03-29\nK;mg/L;200;210\n')
    expect(samples.map(({ label, sampledAt }) => [label, sampledAt])).toEqual([
      ['North', '2026-03-30'],
      ['South', '2026-03-29'],
    ])
  })

  test('a semicolon in a sentence below columns set apart by commas', () => {
    const rows = ['K', 'Ca', 'Mg', 'Na', 'Cl', 'S'].map((name) => `${name},20,mg/L`)
    const text = ['Analyte,Value,Unit', ...rows, 'All is well; call on weekdays.', ''].join('\n')
    expect(figure(samplesOf(text)[0]!, 'K')).toBe(20)
  })

  test('a unit explained below columns set apart by blanks', () => {
    const rows = ['Analyte        Value    Unit', 'K                200    mg/L', 'Ca               100    mg/L']
    expect(figure(samplesOf([...rows, 'LQ : limite.   1 °f = 10 mg/L', ''].join('\n'))[0]!, 'Ca')).toBe(100)
  })

  test('the last letter of a name is no word before a temperature', () => {
    const said = (degrees: number) => `Prova;Valore;Unità\nConducibilità ${degrees} °C;1,00;mS/cm\n`
    expect(samplesOf(said(25))[0]!.conductivityDsPerM).toBe(1)
    expect(samplesOf(said(20))[0]!.conductivityDsPerM).toBeCloseTo(1.116, 3)
  })
})

test('a report in an object of its own, its figures in groups of rows', () => {
  const row = (name: string, value: number) => ({ parametro: name, valor: value, unidad: 'meq/L' })
  const determinaciones = { cationes: [row('Calcio', 5)], aniones: [row('Cloruros', 2)] }
  const muestra = { referencia: 'Pozo', fechaToma: '2026-02-11' }
  const [sample] = samplesOf(JSON.stringify({ informe: { numero: 'A-1', muestra, determinaciones } }))
  expect([sample!.label, sample!.sampledAt]).toEqual(['Pozo', '2026-02-11'])
  expect(figure(sample!, 'Ca')).toBeCloseTo(100.2, 1)
})
