/** Forms that a report tells in a sentence and not with the names: ‘All nitrogen is given as N’, ‘K and P as oxides’. */

import type { ElementForm } from '../../chemistry/form.ts'
import { type Entry, quoted, type Trouble, troubleAt } from './cell.ts'
import type { Vocabulary } from './vocabulary.ts'

const BEFORE = `as|als|en|em|como|come|comme|jako|som|in|i|w|na|auf|naar|per|di|de|d['’]|of|til`
/** ‘Expressed as the ion’ and ‘in oxide form’ tell as much as ‘as ion’ and ‘as oxides’. */
const BETWEEN = `(?:the |den |der |het |l['’]|el |il |lo |o |a )?`
/** ‘Not as oxides’ tells nothing against an element. */
const DENIED = '(?:not|nicht|niet|non|pas|no|não|nie|inte|ej|nor|instead of|statt)'

const OXIDES = '[Oo]xid\\p{L}*|óxidos?|oxydes?|[Oo]xyd\\p{L}*|ossid[oi]|tlenk\\p{L}*|forma? d[ei] (?:óxido|ossid[oi])s?'
const IONS =
  'ions?|ionic form|[Ii]on(?:en|enform)?|ione|ioni|iones|íon|iões|ião|forma i[óo]nica|forme ionique|jon(?:y|er|ów)?'
/** What is said of ‘the rest’ leaves each name what it is. */
const ELEMENTS =
  '(?:elements?|elemental|(?:[Rr]ein)?[Ee]lement(?:e|en|form)?|éléments?|elementos?|elemento|elementi|pierwiastk\\p{L}*|grundämne\\p{L}*)(?!.*(?:unless|except|otherwise|sofern|außer|tenzij|sauf|salvo|excepto|eccetto|chyba|utom|om inte))'

/** ‘Metals as the element’, ‘nitrate as ion’: nothing of phosphorus or sulfur. */
const OTHERS = '(?:[Mm]etal|[Mm]étaux|[Mm]etais|[Mm]etaal|[Cc]ation|[Kk]ation|[Nn]itr|[Aa]zot|[Aa]mmon)[^.;,]*'

/** What a sentence says, and the forms by which a figure may have been read against it. */
const SENTENCES: readonly (readonly [RegExp, readonly ElementForm[]])[] = [
  [told('N|nitrogen|[Ss]tickstoff|stikstof|azote|nitr[óo]geno|nitrogênio|azoto|azotu?|kväve'), ['NO3', 'NH4']],
  [told('P|phosphorus|[Pp]hosphor|phosphore|f[óo]sforo|fosfor'), ['PO4', 'P2O5', 'H2PO4', 'HPO4']],
  [told('S|sul(?:f|ph)ur|[Ss]chwefel|zwavel|soufre|azufre|enxofre|zolfo|siark[ai]|svavel'), ['SO4', 'SO3']],
  [told(OXIDES), ['P', 'K', 'Ca', 'Mg']],
  [told(IONS, OTHERS), ['P', 'S']],
  [told(ELEMENTS, OTHERS), ['NO3', 'NH4', 'PO4', 'P2O5', 'H2PO4', 'HPO4', 'SO4', 'SO3', 'K2O', 'CaO', 'MgO']],
  [told('P2O5'), ['P', 'PO4']],
  [told('K2O'), ['K']],
  [told('CaO'), ['Ca']],
  [told('MgO'), ['Mg']],
  [told('NO3'), ['NO3-N']],
  [told('NH4'), ['NH4-N']],
  [told('PO4'), ['P', 'P2O5']],
  [told('SO4'), ['S']],
  [told('SO3'), ['S', 'SO4']],
]

function told(forms: string, unlessBefore = '(?!)'): RegExp {
  return new RegExp(
    `(?<!\\p{L})(?<!${DENIED} )(?<!${unlessBefore})(?:${BEFORE}) ?${BETWEEN}(?:${forms})(?![\\p{L}\\d]|-[\\p{L}\\d])`,
    'u',
  )
}

/**
 * Doubts where a sentence of the report tells another form than the one a figure was read in by its name alone.
 *
 * @param read the form an entry was read in; undefined where it is none of an element
 */
export function doubtsOfForm(
  text: string,
  entries: readonly Entry[],
  { words, read }: { readonly words: Vocabulary; readonly read: (entry: Entry) => ElementForm | undefined },
): readonly Trouble[] {
  const lines = new Set(entries.flatMap(({ analyte, value }) => [analyte.line, value.line]))
  const prose = text.split('\n').map((content, at) => ({ content, line: at + 1 }))
  return prose.flatMap(({ content, line }) =>
    SENTENCES.flatMap(([sentence, forms]) => {
      const match = lines.has(line) ? null : sentence.exec(content)
      if (match === null) return []
      const entry = entries.find((one) => !isStated(one, words) && forms.some((form) => form === read(one)))
      if (entry === undefined) return []
      const found = `${quoted(match[0])} in the text and ${quoted(entry.analyte.text)} among the figures`
      const message = 'Write the form with the name, as NO3-N or NO3, P or P2O5, so that it is sure which is meant.'
      const place = { text: content, line, column: match.index + 1 }
      return [troubleAt(place, found, 'forms in one place', message)]
    }),
  )
}

/** ‘Nitrate as NO3’ has its own form, whatever a sentence says of others. */
function isStated({ analyte, form, isSymbol, unit }: Entry, { analyteOf }: Vocabulary): boolean {
  return (
    (form !== undefined && isSymbol !== true) ||
    analyteOf(analyte.text).asForm !== undefined ||
    / \p{Lu}/u.test(unit?.text ?? '')
  )
}
