/** What remarks say against the figures: a dilution, a factor, another unit, a range that was exceeded. */

import { type Cell, type Entry, quoted, type Trouble, troubleAt } from './cell.ts'
import { isConcentration, readUnit } from './unit.ts'

const DILUTED = String.raw`dilut\p{L}*|(?:un)?verdünn\p{L}*|verduennt|verdun?n?d?\p{L}*|dilu[éeíi]\p{L}*|rozcieńcz\p{L}*|(?:ut)?spä[dt]\p{L}*`
const FACTOR = String.raw`1 ?[:/] ?(?!1(?!\d))\d+|1 ?\+ ?\d+|(?<![\p{L}\d])[x×] ?\d+|\d+ ?[x×](?![\p{L}\d])|\d+[ -]?(?:fold|times|fach\p{L}*|fois|voudig|veces|volte|vezes|krotn\p{L}*|gånger|faldig)`
const TIMES =
  'multipl(?:y|ied) (?:by|with)|multiplizier\\p{L}* mit|mal|multiplier par|multipliée?s? par|multiplicar(?:se)? por|multiplicad[oa]s? por|moltiplicar\\p{L}* per|moltiplicat[ioea] per|vermenigvuldig\\p{L}* met|pomnożyć przez|multiplicera\\p{L}* med'
/** ‘Values of the 1:5 dilution’, ‘diluted x10’, ‘multiply by 10’, and a cell of nothing but ‘x10’. */
const BY_A_FACTOR = [
  new RegExp(String.raw`(?<!\p{L})(?:${DILUTED})[^.;|\t]{0,40}?(?:${FACTOR})`, 'iu'),
  new RegExp(String.raw`(?<![\p{L}\d])(?:${FACTOR})[^.;|\t\d]{0,25}?(?<!\p{L})(?:${DILUTED})`, 'iu'),
  new RegExp(String.raw`(?<!\p{L})(?:${TIMES}) \d+(?:[.,]\d+)?`, 'iu'),
  /(?<=^|[,;\t|"] *)[x×] ?\d+(?= *(?:$|[\r,;\t|"]))/u,
]
const CORRECTED =
  /correct|account|includ|applied|considered|berücksicht|verrechnet|eingerechnet|korrig|compris|corrig|tenu|corregi|considera|corrett|tenut|incluíd|incluid|verrekend|gecorrig|skoryg|uwzględ|inräkn/iu
const NOT =
  /(?<!\p{L})(?:not|nicht|noch|niet|non|pas|no|não|nie|inte|ej|sin|sem|senza|sans|without|ohne|un|yet)(?!\p{L})/iu
const OUT_OF_RANGE =
  /(?<!\p{L})(?:over|above|outside|exceed\p{L}*|out of)(?: the| its)?(?: top| highest| upper)?(?: calibration| linear| measuring| instrument| working)* (?:range|standards?|curve|limit of linearity)|over-?range|saturat\p{L}*|(?:über|oberhalb|außerhalb)\p{L}*(?: (?:des|dem|der))?(?: \p{L}+)? ?(?:mess|kalibrier|arbeits)bereich\p{L}*|(?:buiten|boven)(?: het)? (?:meet|kalibratie)bereik|(?:hors|au-dessus de la) gamme|fuera de(?:l)? (?:rango|intervalo)|fuori (?:scala|campo|range)|fora d[ao] (?:gama|faixa|intervalo)|poza zakresem|powyżej zakresu|(?:utanför|över) mätområdet|(?:result|value|figure) (?:is )?(?:invalid|rejected|unreliable)|(?:ungültig|ongeldig|invalid|rejected)(?!\p{L})/iu

/** Doubts where a remark in the text would change the figures as they were read. */
export function doubtsOfRemarks(text: string, entries: readonly Entry[]): readonly Trouble[] {
  const figures = new Set(entries.map(({ value }) => value.line))
  const named = new Set(entries.flatMap(({ analyte, unit }) => [analyte.line, unit?.line ?? 0]))
  const borrowing = entries.filter(isUnitBorrowed)
  return text.split('\n').flatMap((content, at) => {
    const line = at + 1
    const isHeading = named.has(line) || figures.has(line)
    return [
      ...byAFactor(content, line),
      ...(figures.has(line) ? [...outOfRange(content, line), ...inCell(content, line, entries)] : []),
      ...(isHeading ? [] : otherUnit(content, line, borrowing)),
    ]
  })
}

function byAFactor(content: string, line: number): Trouble[] {
  const match = BY_A_FACTOR.map((pattern) => pattern.exec(content)).find((one) => one !== null)
  if (match === undefined || match === null || (CORRECTED.test(content) && !NOT.test(content))) return []
  const message = 'Ask the laboratory whether the figures are those of the bottle itself, and have them so.'
  return [troubleAt(placed(match, line), `${quoted(match[0])} in the text`, 'figures without a factor', message)]
}

function outOfRange(content: string, line: number): Trouble[] {
  const match = OUT_OF_RANGE.exec(content)
  if (match === null) return []
  const message = 'Beyond its range nothing was measured: ask the laboratory to dilute and measure again.'
  return [troubleAt(placed(match, line), `${quoted(match[0])} beside a figure`, 'a figure within the range', message)]
}

const FORM_OR_UNIT =
  /(?<=^|[,;\t|"] *)(?:[\p{L}]+ )?(?:as|in|als|en|em|como|come|jako|som|w) ((?:NO3|NH4|PO4|P2O5|K2O|CaO|MgO|SO4|SO3|[NPSK]|[Oo]x[iy]d\p{L}*|óxidos?|ossid[oi]|tlenk\p{L}*)|[^\s,;|"]+)(?= *(?:$|[\r,;\t|"]))/gu

/** ‘as K2O’ or ‘results in µg/L’ in a column of remarks: no cell of the form, the unit or the name. */
function inCell(content: string, line: number, entries: readonly Entry[]): Trouble[] {
  const cells = entries.flatMap(({ analyte, form, unit, sample }) => [analyte, form, unit, sample])
  const known = new Set(cells.map((cell) => (cell?.line === line ? cell.text : '')))
  return [...content.matchAll(FORM_OR_UNIT)].flatMap((match) => {
    const isForm = /^(?:[A-Z][A-Za-z]?[A-Z]?\d?O?\d?|[Oo]x[iy]d.*|óxid.*|ossid.*|tlenk.*)$/u.test(match[1]!)
    if (!(isForm || isConcentration(match[1]!)) || [...known].some((text) => text.includes(match[0]))) return []
    const message = 'Write it with the name, or in a column of forms or units of its own.'
    return [troubleAt(placed(match, line), `${quoted(match[0])} in a remark`, 'forms and units in one place', message)]
  })
}

function placed(match: RegExpExecArray, line: number): Cell {
  return { text: match[0], line, column: match.index + 1 }
}

/** One analyte a row whose unit stands in a heading or above the table. */
function isUnitBorrowed({ analyte, unit, value }: Entry): boolean {
  return unit !== undefined && analyte.line === value.line && unit.line !== value.line && !/\p{L}/u.test(value.text)
}

/** ‘Trace elements in µg/L’ between or below rows whose heading says mg/L. A unit behind a figure is that of a limit. */
function otherUnit(content: string, line: number, entries: readonly Entry[]): Trouble[] {
  const pieces = [...content.matchAll(/[^\s,;:()[\]"|=]+/g)]
  return pieces.flatMap((match, at) => {
    const said = match[0].replace(/\.$/, '')
    const isUnit = /\/|^pp[mb]$/i.test(said) && isConcentration(said) && !/\d$/.test(pieces[at - 1]?.[0] ?? '')
    const entry = isUnit ? entries.find(({ unit }) => !isSame(unit!.text, said)) : undefined
    if (entry === undefined) return []
    const found = `${quoted(said)} in the text and ${quoted(entry.unit!.text)} for ${entry.analyte.text}`
    const message = 'Give each row its own unit.'
    return [troubleAt({ text: said, line, column: match.index + 1 }, found, 'units in one place', message)]
  })
}

function isSame(one: string, other: string): boolean {
  return JSON.stringify(readUnit(one)) === JSON.stringify(readUnit(other))
}
