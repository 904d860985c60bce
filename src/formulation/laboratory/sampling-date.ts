/** When a bottle was filled, as reports write it. No clock and no calendar library: text in, text out. */

import { withoutAccents } from './analyte.ts'
import { wordsOf } from './word-list.ts'

export type DateReading =
  | { readonly kind: 'date'; readonly iso: string }
  | { readonly kind: 'trouble'; readonly message: string }

/** The months by their first letters, without accents. Listopad is missing: it is two months, by the country. */
const MONTHS = [
  'jan, gen, ene, sty',
  'feb, fev, lut',
  'mar, maa, mrt',
  'apr, avr, abr, kwi',
  'may, mai, mei, mag, maj',
  'jun, juin, giu, cze',
  'jul, juil, lug, lip',
  'aug, aou, ago, sie',
  'sep, set, wrz',
  'oct, okt, ott, out, paz',
  'nov',
  'dec, dez, dic, gru',
].map(wordsOf)
const TIME =
  /(?:[T ,]+(?:(?:at|um|om|a|à|as|às|alle|alle ore|ore|kl\.?|godz\.?)\s+)?(\d{1,2})[:.h](\d{2})(?::\d{2}(?:\.\d+)?)?\s*(?:uhr|uur|h)?\s*(am|pm)?\s*(Z|[+-]\d{2}:?\d{2})?)?$/i
/** ‘09-03-2026 (9 maart)’, ‘04.03.2026 (Mittwoch, 4. März)’: the day once more, in words. */
const IN_WORDS = /\s*\(([^)]*)\)\s*/
/** ‘21.04.2026, durch den Auftraggeber’: words behind the day that hold no figure. */
const BY_WHOM = /(?<=\d),\s+(?!(?:utc|gmt|[ap]\.?m\.?)(?!\p{L}))\p{L}[^\d]*$/iu
const NAMED_DAY = /(\d{1,2})(?:\.|er|st|nd|rd|th)?\s+(?:de\s+|of\s+)?(\p{L}{3,})/u

/** Which of the first two numbers of 03/04/2026 is the day. */
export type DayOrder = 'day-first' | 'month-first'

/** What only languages say whose countries all write the day first. English is of no help, since America writes it. */
const DAY_FIRST_WORDS =
  /(?<!\p{L})(?:monstername|bemonster\p{L}*|uitslag|eenheid|probenahme|entnahme|prüfbericht|messwert|einheit|prélèvement|prélevé|échantillon|unité|muestreo|muestra|unidad|prelievo|campione|unità|colheita|coleta|amostra|unidade|pobrania|próbki|jednostka)(?!\p{L})/iu
const ANY_SLASHED = /(?<![\d/-])(\d{1,2})[/-](\d{1,2})[/-](?:19|20)\d{2}(?!\d)/g

/** ‘dd/mm/yyyy’ below a heading or in it. */
const WRITTEN_DAY_FIRST = /(?<![a-z])dd? ?[-/.] ?mm? ?[-/.] ?yy/i
const WRITTEN_MONTH_FIRST = /(?<![a-z])mm? ?[-/.] ?dd? ?[-/.] ?yy/i

/**
 * The order of days in a report, by its other days, else by how it says that they are written, else by its language;
 * undefined where none of these tells, or they differ.
 */
export function dayOrderOf(text: string): DayOrder | undefined {
  const days = [...text.matchAll(ANY_SLASHED)].map(([, first, second]) => [Number(first), Number(second)] as const)
  const isDayFirst = days.some(([first]) => first > 12)
  const isMonthFirst = days.some(([, second]) => second > 12)
  if (isDayFirst !== isMonthFirst) return isDayFirst ? 'day-first' : 'month-first'
  const [saysDayFirst, saysMonthFirst] = [WRITTEN_DAY_FIRST.test(text), WRITTEN_MONTH_FIRST.test(text)]
  if (!isDayFirst && saysDayFirst !== saysMonthFirst) return saysDayFirst ? 'day-first' : 'month-first'
  return !isDayFirst && DAY_FIRST_WORDS.test(text) ? 'day-first' : undefined
}

/**
 * A day with or without a time of day as ISO text: 2026-03-16, 2026-03-16T08:30, 2026-03-16T08:30+01:00.
 *
 * Reads 2026-03-16, 16.03.2026, 16 Mar 2026, March 16, 2026, and days with slashes only where one of the first two
 * numbers is above 12 or the order is known: 03/04/2026 is two days, depending on the country.
 */
export function readSamplingDate(text: string, order?: DayOrder): DateReading {
  const inWords = IN_WORDS.exec(text)?.[1]
  const plain = text.replace(IN_WORDS, ' ').replace(BY_WHOM, '').trim()
  const time = TIME.exec(plain)!
  const dayText = plain.slice(0, time.index).trim()
  const day = inWords === undefined ? readDay(dayText, order) : readDayTwice(dayText, inWords)
  if (day.kind === 'trouble') return day
  const clock = readTime(time)
  if (clock === undefined) return trouble(`${text} has a time of day that no clock shows`)
  return { kind: 'date', iso: `${day.iso}${clock}` }
}

function readTime([, hours, minutes, half, offset]: RegExpExecArray): string | undefined {
  if (hours === undefined) return ''
  const afternoon = half?.toLowerCase() === 'pm' ? 12 : 0
  const hour = half === undefined ? Number(hours) : (Number(hours) % 12) + afternoon
  if (hour > 23 || Number(minutes) > 59 || (half !== undefined && Number(hours) > 12)) return undefined
  const zone = offset === undefined ? '' : offset.toUpperCase().replace(/^([+-]\d{2}):?(\d{2})$/, '$1:$2')
  return `T${two(hour)}:${minutes}${zone}`
}

/** What is said in words decides between two readings, and may not contradict the only one. */
function readDayTwice(text: string, inWords: string): DateReading {
  const [, day, month] = NAMED_DAY.exec(inWords) ?? []
  const year = /\d{4}/.exec(text)?.[0]
  if (day === undefined || month === undefined || year === undefined) return trouble(HOW)
  const named = isoDay(year, monthOf(month), day)
  if (named.kind === 'trouble') return named
  const numeric = readDay(text)
  const isSaid = numeric.kind === 'date' ? numeric.iso === named.iso : eitherDay(text).includes(named.iso)
  return isSaid ? named : trouble('The day in words is another than that in numbers. Ask which it is.')
}

const HOW = 'Write the day of sampling as 2026-03-16.'
const SLASHED = /^(\d{1,2})[/-](\d{1,2})[/-](\d{4})$/

/** The two readings of a day with slashes. */
function eitherDay(text: string): readonly string[] {
  const [, first, second, year] = SLASHED.exec(text) ?? []
  if (first === undefined || second === undefined || year === undefined) return []
  return [`${year}-${two(first)}-${two(second)}`, `${year}-${two(second)}-${two(first)}`]
}

function readDay(text: string, order?: DayOrder): DateReading {
  const iso = /^(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})$/.exec(text)
  if (iso !== null) return isoDay(iso[1]!, iso[2]!, iso[3]!)
  const dotted = /^(\d{1,2})\.\s?(\d{1,2})\.\s?(\d{4})$/.exec(text)
  if (dotted !== null) return isoDay(dotted[3]!, dotted[2]!, dotted[1]!)
  const named = /^(\d{1,2})(?:er|st|nd|rd|th)?[-. ]+(?:de )?(\p{L}{3,})[-., ]+(?:de )?(\d{4})$/u.exec(text)
  if (named !== null) return isoDay(named[3]!, monthOf(named[2]!), named[1]!)
  const american = /^(\p{L}{3,})\.? (\d{1,2}),? (\d{4})$/u.exec(text)
  if (american !== null) return isoDay(american[3]!, monthOf(american[1]!), american[2]!)
  const slashed = SLASHED.exec(text)
  if (slashed === null) return trouble(HOW)
  return slashedDay([slashed[1]!, slashed[2]!, slashed[3]!], order)
}

function slashedDay([first, second, year]: readonly [string, string, string], order?: DayOrder): DateReading {
  if (Number(first) > 12) return isoDay(year, second, first)
  if (Number(second) > 12 || first === second) return isoDay(year, first, second)
  if (order !== undefined) return order === 'day-first' ? isoDay(year, second, first) : isoDay(year, first, second)
  const [one, other] = eitherDay(`${first}/${second}/${year}`)
  return trouble(`It may be ${one} or ${other}, by the custom of the country. Write one of these.`)
}

function monthOf(name: string): string {
  const plain = withoutAccents(name).toLowerCase()
  return String(MONTHS.findIndex((beginnings) => beginnings.some((begin) => plain.startsWith(begin))) + 1)
}

function isoDay(year: string, month: string, day: string): DateReading {
  const [y, m, d] = [Number(year), Number(month), Number(day)]
  const isLeap = (y % 4 === 0 && y % 100 !== 0) || y % 400 === 0
  const days = [31, isLeap ? 29 : 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31][m - 1]
  if (days === undefined || d < 1 || d > days) return trouble('No calendar has this day. Write it as 2026-03-16.')
  return { kind: 'date', iso: `${year}-${two(m)}-${two(d)}` }
}

function two(value: number | string): string {
  return String(Number(value)).padStart(2, '0')
}

function trouble(message: string): DateReading {
  return { kind: 'trouble', message }
}
