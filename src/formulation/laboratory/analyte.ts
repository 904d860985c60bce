/** What the names on a report mean: an element in a form, conductivity, pH, alkalinity, or nothing tracked here. */

import type { ElementName } from '../../chemistry/element.ts'
import { type AlkalinityForm, type ElementForm, elementOf, FORMS, isElementForm } from '../../chemistry/form.ts'
import { NAMES } from './analyte-names.ts'
import { spelledOut } from './identifier.ts'
import { type LaboratoryUnit, readUnit } from './unit.ts'
import { whyUntracked } from './untracked-names.ts'

export type Analyte =
  /** the name says the form too */
  | { readonly kind: 'form'; readonly form: ElementForm }
  /** the name says the element and leaves the form open: 'Nitrate' may be NO3 or NO3-N */
  | { readonly kind: 'open'; readonly element: ElementName; readonly forms: readonly ElementForm[] }
  /** `isAcid`: what was measured is the acid it took, a mole for an equivalent, whatever took it */
  | { readonly kind: 'alkalinity'; readonly form?: AlkalinityForm; readonly isAcid?: true }
  /** `atC` where the name says another temperature than 25 °C */
  | { readonly kind: 'conductivity'; readonly atC?: number }
  | { readonly kind: 'carbonate' }
  | { readonly kind: 'ph' }
  /** 'Nitrogen' and no more: nitrate, ammonium, or all of it */
  | { readonly kind: 'nitrogen' }
  /** 'Soluble salts': conductivity or a sum of solids, as the unit tells */
  | { readonly kind: 'salts' }
  | { readonly kind: 'untracked'; readonly why: string }

export interface AnalyteReading {
  readonly analyte: Analyte | undefined
  /** the unit that stands in the name, as in 'Ca (mg/L)' */
  readonly unit?: LaboratoryUnit
  /** a form that stands in the name, as in 'Nitrate as N' */
  readonly asForm?: string
}

const OPEN = {
  nitrate: { kind: 'open', element: 'NO3-N', forms: ['NO3-N', 'NO3'] },
  ammonium: { kind: 'open', element: 'NH4-N', forms: ['NH4-N', 'NH4'] },
  phosphate: { kind: 'open', element: 'P', forms: ['P', 'PO4', 'P2O5'] },
  sulfate: { kind: 'open', element: 'S', forms: ['S', 'SO4'] },
} as const satisfies Record<string, Analyte>

const MEANING = new Map(Object.entries(NAMES).flatMap(([key, names]) => names.map((name) => [name, key] as const)))

/** For messages: names that are understood. */
export const ANALYTES_SHOWN = `EC, pH, alkalinity, ${FORMS.join(', ')}`

/** Reads a name such as 'NO3-N', 'Nitrate as N (mg/L)', 'Ca2+', 'Potassium, total [ppm]', 'Sulphate (SO4--)'. */
export function readAnalyte(text: string): AnalyteReading {
  const { text: bare, atC } = withoutTemperature(spelledOut(text))
  const { name, inBrackets, unit, asForm } = takeApart(bare)
  const own = atTemperature(meaningOf(name) ?? meaningOfPair(name), atC)
  const isBracketLeft = inBrackets === undefined || (own === undefined && NO_RESULT.test(name))
  return {
    analyte: isBracketLeft ? own : refineAnalyte(own, inBrackets),
    ...(unit === undefined ? {} : { unit }),
    ...(asForm === undefined ? {} : { asForm }),
  }
}

const DEGREES_C = String.raw`(?:(?<!\p{L})(?:at|a|à|bei|bij|vid|w|przy|@)\s*)?(?<![\d.,])(\d{1,2}(?:[.,]\d)?)\s*(?:[°º]\s?C|deg\.? ?C|C)(?!\w)`
/** A bracket goes with what stands in it alone: that of 'EC (mS/cm @25C)' has a unit in it too. */
const TEMPERATURE = new RegExp(String.raw`\(\s*${DEGREES_C}\s*\)|,?\s*${DEGREES_C}`, 'iu')

/** 'pH (at 20 °C)', 'Leitfähigkeit bei 25 °C', 'EC 25': the temperature of a measurement, which only conductivity minds. */
function withoutTemperature(text: string): { readonly text: string; readonly atC?: number } {
  const match = TEMPERATURE.exec(text)
  if (match === null || match.index === 0) return { text }
  const left = `${text.slice(0, match.index)} ${text.slice(match.index + match[0].length)}`
  return { text: left.trim(), atC: Number((match[1] ?? match[2])!.replace(',', '.')) }
}

/** pH is what it is at its temperature; for anything else than the two a temperature is not understood. */
function atTemperature(own: Analyte | undefined, atC: number | undefined): Analyte | undefined {
  if (own === undefined || atC === undefined || atC === 25) return own
  if (own.kind === 'conductivity') return { ...own, atC }
  return own.kind === 'ph' || own.kind === 'untracked' ? own : undefined
}

/** 'Target (K)' and 'Uptake (Ca)' are about the element and not what was found of it. */
const NO_RESULT =
  /target|optim|ideal|guide|limit|lod|loq|min|max|range|ratio|uptake|suffic|deviation|uncertain|previous|last|recommend|normal|soll|ziel|index|%/

/**
 * A name together with the symbol or form that stands beside it: 'Boor (B)', 'Phosphorus (P2O5)', 'Nitrogen' as NO3-N.
 *
 * @returns undefined where the two contradict each other
 */
export function refineAnalyte(name: Analyte | undefined, by: Analyte): Analyte | undefined {
  if (name === undefined) return by
  if (name.kind === 'nitrogen') return by.kind === 'form' && /^N[OH]/.test(by.form) ? by : undefined
  if (name.kind === 'salts') return by.kind === 'conductivity' ? by : undefined
  // 'Chlor (Cl)' may be chlorine, which is not tracked, or chloride
  if (name.kind === 'untracked') return by.kind === 'untracked' ? name : undefined
  if (name.kind === 'form' || name.kind === 'open') {
    if (by.kind !== 'form' || elementOf(by.form) !== elementIn(name)) return undefined
    return name.kind === 'form' && isSettled(name.form) && name.form !== by.form ? undefined : by
  }
  return name.kind === by.kind ? by : undefined
}

/**
 * A reading with the form that is stated for it elsewhere: in a column of its own, or in a mapping file.
 *
 * @returns undefined where the text is no form of this analyte, or contradicts one already said
 */
export function withStatedForm(named: AnalyteReading, text: string): AnalyteReading | undefined {
  const { asForm, ...bare } = named
  const stated = text === 'N' ? undefined : readAnalyte(text).analyte
  if (stated !== undefined && saysNoMore(stated, named)) return named
  if (asForm !== undefined && asForm !== text) return undefined
  const analyte = stated === undefined ? undefined : refineAnalyte(named.analyte, stated)
  if (analyte !== undefined) return { ...bare, analyte }
  return stated === undefined && fitsForm(named.analyte, text) ? { ...named, asForm: text } : undefined
}

/** The symbol 'Alk' beside 'Alkalinity as CaCO3', and NO3-N beside 'Nitrate as N'. */
function saysNoMore(stated: Analyte, { analyte, asForm }: AnalyteReading): boolean {
  if (analyte?.kind === stated.kind && Object.keys(stated).length === 1) return true
  if (stated.kind !== 'form' || asForm === undefined) return false
  return (analyte?.kind === 'form' || analyte?.kind === 'open') && formOf(elementIn(analyte), asForm) === stated.form
}

function fitsForm(analyte: Analyte | undefined, text: string): boolean {
  if (analyte?.kind === 'alkalinity') return text === 'CaCO3' || text === 'HCO3'
  return (analyte?.kind === 'form' || analyte?.kind === 'open') && formOf(elementIn(analyte), text) !== undefined
}

/** 'Nitrate-N' says N already: 'as NO3' behind it contradicts. 'Phosphorus' may well be given as P2O5. */
export function isSettled(form: ElementForm): boolean {
  return form === 'NO3-N' || form === 'NH4-N'
}

function elementIn(analyte: Extract<Analyte, { kind: 'form' | 'open' }>): ElementName {
  return analyte.kind === 'form' ? elementOf(analyte.form) : analyte.element
}

function meaningOf(name: string): Analyte | undefined {
  const bare = name.replaceAll(QUALIFIER, ' ').replaceAll(/\s+/g, ' ').trim()
  for (const candidate of [name, bare]) {
    const key = keyOf(candidate)
    if (key !== undefined) return ofKey(key)
    const why = [...unsigned(candidate), candidate.replace(WORKED_OUT, '')].map(whyUntracked)
    const found = why.find((one) => one !== undefined)
    if (found !== undefined) return { kind: 'untracked', why: found }
  }
  return undefined
}

function ofKey(key: string): Analyte {
  if (isElementForm(key)) return { kind: 'form', form: key }
  if (Object.hasOwn(OPEN, key)) return OPEN[key as keyof typeof OPEN]
  if (key === 'acidCapacity') return { kind: 'alkalinity', isAcid: true }
  if (key === 'HCO3') return { kind: 'alkalinity', form: 'HCO3' }
  return { kind: key as 'alkalinity' | 'carbonate' | 'conductivity' | 'ph' | 'nitrogen' | 'salts' }
}

/** 'Calcium Ca', 'Sulfat SO4 2-', 'Fosfor total, P': a name and a symbol behind it that say the same. */
function meaningOfPair(name: string): Analyte | undefined {
  for (const candidate of unsigned(name)) {
    const at = candidate.lastIndexOf(' ')
    const [one, symbol] = [meaningOf(candidate.slice(0, Math.max(0, at))), meaningOf(candidate.slice(at + 1))]
    if (one !== undefined && symbol !== undefined) return refineAnalyte(one, symbol)
  }
  return undefined
}

/** Only of what is left aside: a conductivity worked out from the ions is none that was measured. */
const WORKED_OUT =
  / (?:%|calc\.?|calculated|computed|berechnet|est\.?|estimated|(?:as|als|en|como|come|jako|som) [a-z0-9-]+)$/

const QUALIFIER =
  /(?<![\w@])(?:total|totale|totaal|gesamt|ogolny|ogolna|ogolne|totais|totales|totalt|totali|dissolved|gelost|opgelost|dissous|disuelto|disciolto|dissolvido|rozpuszczony|lost|soluble|filtered|available|icp|ic|in water|vor ort|on site|in situ|field|sur site|titratable|(?:at|a|bei|bij|@)? ?25 ?°? ?c|ion)(?!\w)/g

interface NameParts {
  readonly name: string
  readonly inBrackets?: Analyte
  readonly unit?: LaboratoryUnit
  readonly asForm?: string
}

function takeApart(text: string): NameParts {
  let unit: LaboratoryUnit | undefined
  let asForm: string | undefined
  let inBrackets: Analyte | undefined
  let rest = plainText(text).replaceAll(/[([]([^)\]]*)[)\]]/g, (_whole, inside: string) => {
    const as = STATED_AS.exec(inside.trim())?.[1]
    const meaning = as === undefined && inside.trim() !== 'N' ? meaningOf(lookedUp(inside)) : undefined
    if (readUnit(inside) !== undefined) unit ??= readUnit(inside)
    if (unit?.kind === 'ph') inBrackets ??= { kind: 'ph' }
    if (readUnit(inside) !== undefined) return ' '
    if (meaning !== undefined) inBrackets ??= meaning
    else if (isFormText(as ?? inside.trim())) asForm ??= as ?? inside.trim()
    else return ` ${inside} `
    return ' '
  })
  const split = trailingUnit(rest)
  if (split !== undefined) [rest, unit] = [split.rest, unit ?? split.unit]
  const as = FORM_BEHIND.exec(rest.trim())
  if (as !== null && (as[2] === 'as' || isFormText(as[3]!)) && !isNotForm(as[3]!))
    [rest, asForm] = [as[1]!, asForm ?? as[3]]
  return {
    name: lookedUp(rest),
    ...(inBrackets === undefined ? {} : { inBrackets }),
    ...(unit === undefined ? {} : { unit }),
    ...(asForm === undefined ? {} : { asForm }),
  }
}

const AS_WORDS = [
  ...['as', 'als', 'en', 'como', 'come', 'jako', 'som', 'expressed as', 'reported as', 'given as', 'calculated as'],
  ...['ausgedrückt als', 'berechnet als', 'uitgedrukt als', 'berekend als', 'exprimé en', 'exprimés en', 'exprimée en'],
  ...['expresado como', 'expresados como', 'expresso como', 'expresso em', 'espresso come', 'espressi come'],
  ...['wyrażony jako', 'wyrażone jako', 'w przeliczeniu na', 'uttryckt som', 'beräknat som'],
]
const STATED_AS = new RegExp(`^(?:${AS_WORDS.join('|')}|of) (.+)$`, 'i')
/** Behind ‘as’ stands a form, right or wrong; the other words have other uses too. */
const FORM_BEHIND = new RegExp(`^(.*?)[, ]+(${AS_WORDS.join('|')}) ([A-Za-z0-9-]+)\\s*$`, 'i')

/** ‘as SiO2’ belongs to silica, which is known with it. */
function isNotForm(text: string): boolean {
  return meaningOf(lookedUp(text))?.kind === 'untracked'
}

/** As names are spelled in the lists: lower case, no accents, no stops. */
function lookedUp(text: string): string {
  return withoutAccents(text).toLowerCase().replaceAll(/[,:]/g, ' ').replaceAll(/\s+/g, ' ').trim()
}

/** 'Molybdän' and 'Molybdan', 'Résultat' and 'Resultat', 'złoty' and 'zloty' are the same word. */
export function withoutAccents(text: string): string {
  return text
    .normalize('NFD')
    .replaceAll(/\p{M}/gu, '')
    .replaceAll(/[łŁßøØæÆ]/g, (letter) => PLAIN_LETTERS[letter]!)
}

/** Letters that are no other letter with a mark. */
const PLAIN_LETTERS: Readonly<Record<string, string>> = {
  ...{ ł: 'l', Ł: 'L', ß: 'ss', ø: 'o', Ø: 'O', æ: 'ae', Æ: 'Ae' },
}

/** Subscripts and superscript charges off, dashes alike: 'SO₄²⁻' and 'NO3 – N' become 'SO4' and 'NO3-N'. */
function plainText(text: string): string {
  return text
    .replaceAll(/[₀-₉]/g, (digit) => String(digit.charCodeAt(0) - 0x2080))
    .replaceAll(/[²³]?[⁺⁻](?!¹)/g, '')
    .replaceAll(/(?<=[A-Za-z]\d)=/g, '')
    .replaceAll(/[–—−]/g, '-')
    .replaceAll('_', ' ')
    .replaceAll(/ ?- ?(?=[NPS]\b)/g, '-')
}

/** The key of a name, with or without a charge at its end: 'no3-' is no3, but 'ca2+', 'ca+2' and 'so4 2-' lose the digit. */
function keyOf(name: string): string | undefined {
  // 'nitrate n' and 'nitrogen - nitrate' are spelled with a bare dash in the list
  const dashed = name.replaceAll(/ - | /g, '-')
  return [...unsigned(name), dashed].map((candidate) => MEANING.get(candidate)).find((key) => key !== undefined)
}

function unsigned(name: string): readonly string[] {
  return [name, ...[/\s*[+-]+$/, /\s*\^?\d?[+-]+\d?$/].map((charge) => name.replace(charge, ''))]
}

function isFormText(text: string): boolean {
  return /^(?:N|NO3-N|NH4-N|PO4-P|SO4-S)$/.test(text) || (FORMS as readonly string[]).includes(text)
}

/** 'Ca mg/L', 'Ca, mg/L', 'EC mS/cm': the longest ending that is a unit. */
function trailingUnit(text: string): { rest: string; unit: LaboratoryUnit } | undefined {
  for (const match of text.matchAll(/[ ,;]+/g)) {
    const unit = readUnit(text.slice(match.index + match[0].length))
    const isTemperature = unit?.kind === 'other' && /\d$/.test(text.slice(0, match.index))
    // a name that is itself spelled like a unit ('pH', 'Mm') has nothing before it, and 'EC 25 °C' is no EC in °C
    if (unit !== undefined && match.index > 0 && !isTemperature) return { rest: text.slice(0, match.index), unit }
  }
  return undefined
}

/** The form meant by 'as N', 'as NO3', 'as P2O5' for an element, or undefined where that cannot be. */
export function formOf(element: ElementName, asked: string): ElementForm | undefined {
  const spelled = asked === 'N' ? (element === 'NO3-N' || element === 'NH4-N' ? element : asked) : asked
  const plain = spelled === 'PO4-P' ? 'P' : spelled === 'SO4-S' ? 'S' : spelled
  return isElementForm(plain) && elementOf(plain) === element ? plain : undefined
}
