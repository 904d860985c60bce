/** Pages and blocks that name another report, client, bottle or day than those before them. */

import { quoted, type Trouble, troubleAt } from './cell.ts'
import { headingText } from './column.ts'
import { isNameOf } from './text-statement.ts'
import type { Vocabulary } from './vocabulary.ts'
import { wordsOf } from './word-list.ts'

const REPORTS = wordsOf(`
  report, dossier, file, order, work order, job, certificate, bericht, prüfbericht, auftrag, berichtsnummer,
  auftragsnummer, rapport, rapport d'analyse, commande, informe, informe de ensayo, expediente, pedido, rapporto,
  rapporto di prova, ordine, commessa, relatório, relatório de ensaio, boletim, boletim de análise, processo,
  sprawozdanie, sprawozdanie z badań, zlecenie, analyserapport, rapportnummer, opdracht, ordernummer, uppdrag`)
const CLIENTS = wordsOf(`
  client, client name, customer, grower, demandeur, auftraggeber, einsender, kunde, opdrachtgever, klant, inzender, cliente,
  solicitante, peticionario, committente, richiedente, requerente, requisitante, zleceniodawca, klient,
  uppdragsgivare, kund, beställare`)
const NUMBER = String.raw`(?:no\.?|n\.|nr\.?|n[°ºo]\.?|number|num\.?|nummer|núm\.?|numero|número|numer|id)?`
/** ‘Dossier 26-3310’, ‘Rapport n° 26-0592-A’, with nothing before it that says ‘previous’. */
const NUMBERED = new RegExp(
  String.raw`(?:^|[\t;,|]|\s{2,}|[-–—(]\s)"?\s*(?:continued, )?(${REPORTS.join('|')})\s*${NUMBER}\s*[:;,\t|#"]*\s*([\p{L}]{0,5}[-/]?\d[\p{L}\d/.-]*)`,
  'giu',
)
/** ‘Client : Serres du Moulin Bas’ in a line, or in cells of their own. */
const NAMED =
  /(?:^|[\t;,|]|\s{2,})"?\s*(\p{L}(?:(?!\s{2})[^:\t;|,]){2,30}?)\s*:\s*"?([^\t;|"]+?)"?(?=\s{2,}|[\t;|]|,,|,?$)/gu
const IN_CELLS = /^\s*"?(\p{L}[^:\t;|,"]{2,30}?)"?\s*[\t;,|]\s*"?([^\t;|,"]+)"?[\t;,|\s]*$/u

/** ‘Sample     Farm well’, set apart by blanks. */
const IN_COLUMNS = /^\s*(\p{L}[^:\t;|,"]{2,30}?)\s{2,}(\S+(?: \S+)*)\s*$/u

interface Said {
  readonly of: string
  /** the word by which a bottle was told */
  readonly by: string
  readonly text: string
  readonly line: number
  readonly column: number
}

/**
 * Where a later line names another report or client than an earlier one; of a report that comes to a single bottle, also
 * where it names another bottle or day.
 */
export function otherReports(text: string, isOneBottle: boolean, words: Vocabulary): Trouble[] {
  const known: Said[] = []
  const lines = text.split('\n')
  return lines.flatMap((content, at) =>
    saidIn(content, at + 1, isOneBottle, words).flatMap((said) => {
      const before = known.filter(({ of }) => of === said.of)
      const isSame = before.some((one) => plain(one.text) === plain(said.text))
      // ‘Client reference’ and ‘Sample’ in one paragraph are two names of one bottle
      const isOtherName = said.of === 'sample' && before.every(({ by }) => by !== said.by)
      const isBeside = isOtherName && before.every(({ line }) => isOneParagraph(lines.slice(line, at + 1)))
      if (before.length === 0 || isBeside) known.push(said)
      return before.length === 0 || isSame || isBeside ? [] : [another(said, before[0]!)]
    }),
  )
}

function isOneParagraph(lines: readonly string[]): boolean {
  return lines.every((line) => line.trim() !== '')
}

function saidIn(content: string, line: number, isOneBottle: boolean, words: Vocabulary): readonly Said[] {
  const whole = content.replaceAll(/[\r\ufeff]/g, '')
  const inCells = IN_CELLS.exec(whole)
  const numbered = [...whole.matchAll(NUMBERED)].map((match) => ({ match, of: headingText(match[1]!) }))
  const inColumns = IN_COLUMNS.exec(whole)
  const isNamed = isOneBottle && inColumns !== null && isNameOf(inColumns[1]!, inColumns[2]!, words)
  const matches = [...whole.matchAll(NAMED), ...(inCells === null ? [] : [inCells]), ...(isNamed ? [inColumns] : [])]
  const named = matches.flatMap((match) => {
    const of = kindNamed(match[1]!, isOneBottle ? words.roleOf(match[1]!) : undefined)
    return of === undefined ? [] : [{ match, of }]
  })
  return [...numbered, ...named].map(({ match, of }) => {
    const column = match.index + match[0].lastIndexOf(match[2]!) + 1
    return { of, by: headingText(match[1]!), text: match[2]!.trim(), line, column }
  })
}

function kindNamed(name: string, role: string | undefined): string | undefined {
  if (CLIENTS.includes(headingText(name))) return 'client'
  return role === 'sample' || role === 'sampled' ? role : undefined
}

function plain(text: string): string {
  return text
    .toLowerCase()
    .replaceAll(/[\s.]+/g, ' ')
    .trim()
}

function another({ text, line, column }: Said, first: Said): Trouble {
  const found = `${quoted(text)} where line ${first.line} says ${quoted(first.text)} for ${first.of}`
  const message = 'It may be a page of another report: ask the laboratory, or send each report as a file of its own.'
  return troubleAt({ text, line, column }, found, 'pages of one report', message)
}
