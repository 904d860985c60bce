/** Numbers as people of several countries write them, read without guessing. */

import { withoutAccents } from './analyte.ts'
import type { Cell, Trouble } from './cell.ts'
import { quoted, troubleAt } from './cell.ts'
import { wordsOf } from './word-list.ts'

/** ‘7.1 ± 0.1’, ‘512 +/- 15’, ‘4.6 ± 6 %’: the figure stands before it. */
const UNCERTAINTY = /^(?:±|\+\/-|\+-)\s*\d[\d.,]*(?:\s*%)?\s*/
/** ‘12 - 34’, ‘12 to 34’. */
const TO_ANOTHER = /^(?:[-–—]|to |bis |tot |à |a )\s*\d/

export type DecimalStyle = 'point' | 'comma'

export type ValueReading =
  | { readonly kind: 'number'; readonly value: number; readonly rest: string }
  /** below a limit, which the text states or not */
  | { readonly kind: 'below'; readonly limit?: number; readonly rest: string }
  | { readonly kind: 'not-measured' }
  | { readonly kind: 'trouble'; readonly found: string; readonly allowed: string; readonly message: string }

const NOT_MEASURED =
  /^(?:|[-–—.]+|n\/?a|n\.a\.?|nm|n\.m\.?|nt|not (?:measured|tested|analy[sz]ed|determined|requested|reported))$/i
const NOT_DETECTED =
  /^(?:nd|n\.d\.?|bdl|bld|blq|b\.d\.l\.?|n\.?n\.?|n\. ?n\.|trace|tr\.?|not detected(?: (?:at|above|in|by) .*)?|below (?:the )?(?:detection|reporting|quantification)(?: limit)?|(?:<|under) ?(?:lod|loq|mdl|rl|dl|pql|lq|ld|bg|ng))$/i
/** The same in words of other languages, without accents. */
const NOT_MEASURED_WORDS = new Set(
  wordsOf(`
    nicht bestimmt, nicht gemessen, nicht untersucht, niet bepaald, niet gemeten, non mesure, non mesuree, non determine,
    non analyse, non determinato, non misurato, no determinado, no medido, no analizado, nao determinado, nao medido,
    nao analisado, nie oznaczono, nie badano, ej bestamt, ej analyserat, ej matt, ikke malt, ikke bestemt`),
)
const NOT_DETECTED_WORDS = new Set(
  wordsOf(`
    nicht nachweisbar, nicht nachgewiesen, niet aantoonbaar, niet aangetoond, niet gedetecteerd, non detecte, non detectee,
    no detectado, no detectable, non rilevato, non rilevata, non rilevabile, nao detectado, nao detetado, nie wykryto,
    ej pavisad, ej pavisat, ej detekterad, ej detekterat, ej detekterbar, ikke pavist, ikke detekteret`),
)

/** A number with one kind of mark only where a group of three follows: 1,234 or 1.234. */
const ONE_GROUP = /^[1-9]\d{0,2}([.,])\d{3}$/
const NUMBER = /^([+-]?)(\d[\d.,'\u2019 ]*|[.,]\d+)(e[+-]?\d+)?/i

/**
 * The value in a text.
 *
 * @param style how decimals are written in this file; undefined where nothing in it tells
 * @returns a number with the text after it (a unit), below a limit, not measured, or what is wrong
 */
export function readValue(text: string, style: DecimalStyle | undefined): ValueReading {
  const trimmed = text.trim()
  const words = withoutAccents(trimmed).toLowerCase()
  if (NOT_MEASURED.test(trimmed) || NOT_MEASURED_WORDS.has(words)) return { kind: 'not-measured' }
  if (isNotDetected(trimmed)) return { kind: 'below', rest: '' }
  const [, absent, inBrackets] = WITH_LIMIT.exec(trimmed) ?? []
  // a trace was found, be it ever so little
  if (absent !== undefined && isNotDetected(absent) && !/^tr/i.test(absent)) return readLimit(text, inBrackets!, style)
  const sign = /^(?:[<≤]|under |less than )\s*=?\s*/i.exec(trimmed)
  const read = readNumber(sign === null ? trimmed : trimmed.slice(sign[0].length), style)
  if ('found' in read) return { kind: 'trouble', ...read }
  if (read.value < 0) {
    return { kind: 'trouble', found: quoted(text), allowed: '0 or more', message: 'A concentration is never negative.' }
  }
  if (sign === null) return { kind: 'number', ...read }
  return read.value > 0
    ? { kind: 'below', limit: read.value, rest: read.rest }
    : { kind: 'trouble', found: quoted(text), allowed: 'a limit above 0', message: 'Nothing is below 0.' }
}

function isNotDetected(text: string): boolean {
  return NOT_DETECTED.test(text) || NOT_DETECTED_WORDS.has(withoutAccents(text).toLowerCase())
}

/** ‘ND (0.05)’, ‘Not detected (limit 0.1 mg/L)’: what stands in the bracket is the limit below which it lies. */
const WITH_LIMIT =
  /^([^()]+?)\s*[([]\s*(?:(?:(?:detection|reporting|quantification) limit|limit|limite|grenze|grens|lod|loq|rl|mdl|dl|lq|ld|bg|ng|of|[:=<≤])\s*)*(\d[^()[\]]*)[)\]]$/i

function readLimit(text: string, inBrackets: string, style: DecimalStyle | undefined): ValueReading {
  const read = readNumber(inBrackets, style)
  if ('found' in read) return { kind: 'trouble', ...read }
  if (read.value > 0) return { kind: 'below', limit: read.value, rest: read.rest }
  return { kind: 'trouble', found: quoted(text), allowed: 'a limit above 0', message: 'Nothing is below 0.' }
}

type NumberReading =
  | { readonly value: number; readonly rest: string }
  | { readonly found: string; readonly allowed: string; readonly message: string }

function readNumber(text: string, style: DecimalStyle | undefined): NumberReading {
  const match = NUMBER.exec(text)
  const allowed = 'a number, <number, ND, or blank where nothing was measured'
  if (match === null) {
    return { found: quoted(text), allowed, message: 'Write the figure as the laboratory gave it.' }
  }
  const digits = match[2]!.trimEnd()
  const group = ONE_GROUP.exec(digits)
  if (group !== null && style === undefined) {
    const joined = digits.replace(group[1]!, '')
    const message = `It may be ${joined} or ${digits.replace(',', '.')}, and nothing else in the file tells. Write it without a thousands mark.`
    return { found: quoted(text), allowed: 'a number that can be read in one way', message }
  }
  const plain = withoutMarks(digits, style ?? (digits.includes(',') ? 'comma' : 'point'))
  if (plain === undefined) {
    const message =
      style === 'point' && /^\d+,\d+$/.test(digits)
        ? 'Decimals are points in this file; separate the columns by ; where decimals are commas.'
        : 'Write it plainly, with one decimal mark.'
    return { found: quoted(text), allowed: `a number with a decimal ${style ?? 'point'}`, message }
  }
  const used = match[1]!.length + match[2]!.trimEnd().length + (match[3]?.length ?? 0)
  const rest = text.slice(used).trim()
  if (TO_ANOTHER.test(rest)) {
    const message = 'A range comes of several bottles, or is what ought to be: ask for the figure of one bottle.'
    return { found: `${quoted(text)}, a range,`, allowed: 'one number', message }
  }
  return { value: Number(`${match[1]}${plain}${match[3] ?? ''}`), rest: rest.replace(UNCERTAINTY, '') }
}

/** Digits with a point for the decimals, or undefined where the marks do not fit the style. */
function withoutMarks(digits: string, style: DecimalStyle): string | undefined {
  const [decimal, thousands] = style === 'point' ? ['\\.', ','] : [',', '\\.']
  const grouped = new RegExp(`^\\d{1,3}(?:[${thousands}'\u2019 ]\\d{3})+(?:${decimal}\\d*)?$`)
  const simple = new RegExp(`^(?:\\d+(?:${decimal}\\d*)?|${decimal}\\d+)$`)
  if (!grouped.test(digits) && !simple.test(digits)) return undefined
  const bare = digits.replaceAll(new RegExp(`[${thousands}'\u2019 ]`, 'g'), '')
  return bare.replace(',', '.')
}

/**
 * How decimals are written in a file, from the numbers that can be read in one way only. Cells that contradict the
 * first one found are troubles.
 *
 * @param preset known beforehand: a comma that separates columns cannot mark decimals
 */
export function decimalStyleOf(
  cells: readonly Cell[],
  preset?: DecimalStyle,
): { readonly style: DecimalStyle | undefined; readonly troubles: readonly Trouble[] } {
  let style = preset
  const troubles: Trouble[] = []
  for (const cell of cells) {
    const shown = evidence(cell.text)
    if (shown === undefined || shown === style) continue
    if (style === undefined) style = shown
    else troubles.push(contradiction(cell, style))
  }
  return { style, troubles }
}

function contradiction(cell: Cell, style: DecimalStyle): Trouble {
  const message =
    style === 'point'
      ? 'Elsewhere in this file decimals are points, or commas separate its columns. Write all of them in one way.'
      : 'Elsewhere in this file decimals are commas. Write all of them in one way.'
  return troubleAt(cell, quoted(cell.text), `numbers with a decimal ${style}`, message)
}

function evidence(text: string): DecimalStyle | undefined {
  const digits = NUMBER.exec(text.replace(/^[<≤]\s*/, '').trim())?.[2]?.trimEnd()
  if (digits === undefined || ONE_GROUP.test(digits)) return undefined
  const last = Math.max(digits.lastIndexOf('.'), digits.lastIndexOf(','))
  if (last < 0) return undefined
  const mark = digits[last]!
  if (digits.indexOf(mark) !== last) return mark === '.' ? 'comma' : 'point'
  return mark === '.' ? 'point' : 'comma'
}
