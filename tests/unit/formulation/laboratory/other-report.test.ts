import { describe, expect, test } from 'vitest'
import { complaints, samplesOf } from './report-text.ts'

const page = (head: readonly string[], ...rows: readonly string[]) =>
  [...head, 'Analyte;Value;Unit', ...rows.map((row) => `${row};mg/L`), ''].join('\n')
const twoPages = (first: readonly string[], second: readonly string[]) =>
  page(first, 'K;200', 'Ca;100') + page(second, 'Fe;2', 'Mn;1')

describe('a page of another report is asked about', () => {
  test.each([
    ...[
      ['Report No. 26-10', 'Report No. 26-11', "'26-11' where line 1 says '26-10' for report"],
      ['Dossier 26-3310', 'Dossier 26-3301', "'26-3301' where line 1 says '26-3310' for dossier"],
      ['Auftrag: A-100', 'Auftrag: A-101', "'A-101' where line 1 says 'A-100' for auftrag"],
      ['Rapporto di prova n. 12/26', 'Rapporto di prova n. 13/26', "'13/26'"],
      ['Opdracht nr. 77', 'Opdracht nr. 78', "'78'"],
      ['Informe;2026-1', 'Informe;2026-2', "'2026-2'"],
      ['Boletim de análise 2026/1', 'Boletim de análise 2026/2', "'2026/2'"],
      ['Sprawozdanie nr 5/26', 'Sprawozdanie nr 6/26', "'6/26'"],
      ['Uppdrag 1001', 'Uppdrag 1002', "'1002'"],
    ],
    ...[
      [
        'Client : Serres du Moulin',
        'Client : Jardins du Val',
        "'Jardins du Val' where line 1 says 'Serres du Moulin' for client",
      ],
      ['Page 1/2   Auftraggeber: Gut Au', 'Page 2/2   Auftraggeber: Gut Tal', "'Gut Tal'"],
      ['Opdrachtgever;Kwekerij A', 'Opdrachtgever;Kwekerij B', "'Kwekerij B'"],
      ['Committente: Vivaio Alto', 'Committente: Vivaio Basso', "'Vivaio Basso'"],
    ],
  ])('%s, then %s', (first, second, found) => {
    expect(complaints(twoPages([first], [second]))).toContainEqual(expect.stringContaining(found))
    expect(complaints(twoPages([first], [first])).join()).not.toContain('pages of one report')
  })

  test('a page of another bottle with the other analytes is no rest of the first', () => {
    const said = complaints(twoPages(['Sample: north'], ['Sample: south']))
    expect(said[0]).toContain("'south' with none of the analytes of 'north' in line 1")
  })

  test('pages of several bottles with the same analytes are read', () => {
    const text = page(['Sample: north'], 'K;200', 'Ca;100') + page(['Sample: south'], 'K;210', 'Ca;90')
    expect(samplesOf(text).map(({ label }) => label)).toEqual(['north', 'south'])
  })

  test('a report that the new one replaces is none of its pages', () => {
    expect(complaints(twoPages(['Report No. 26-10', 'Replaces report 26-9'], ['Report No. 26-10']))).toEqual([])
  })
})
