/** What `tarnward init` asks, in the words it asks it, and how each answer is read. */

import { isZone } from '../config/site-schema.ts'

/** An answer as data, or what would be one. */
export type Read<Value> = { readonly value: Value } | { readonly wrong: string }

export interface Question {
  readonly key: string
  readonly ask: string
  /** taken for an empty answer; without it one must be given */
  readonly usual?: string
  /** asked again until an empty answer */
  readonly isList?: boolean
  readonly check: (answer: string) => string | undefined
}

export interface SaltAmount {
  readonly salt: string
  readonly gPerL: number
}

export interface StockAnswer {
  readonly id: string
  readonly kind: 'calcium' | 'phosphate-sulfate' | 'neutral'
  readonly salts: readonly SaltAmount[]
}

const ID = /^[a-z0-9][a-z0-9-]{0,47}$/

/** A number with an optional unit behind it, which must be the one asked for. */
export function readNumber(text: string, min: number, max: number, unit: string): Read<number> {
  const value = Number(text.replace(new RegExp(`\\s*${unit}$`, 'i'), '').replace(',', '.'))
  if (text.trim() !== '' && value >= min && value <= max) return { value }
  return { wrong: `a number from ${min} to ${max} ${unit}` }
}

/** `yes`, or the reason why not. */
export function readFitted(text: string): { readonly isFitted: boolean; readonly reason: string } {
  const answer = text.trim()
  return { isFitted: /^(y|yes)$/i.test(answer), reason: answer.replace(/^no[,:;]?\s*/i, '') }
}

/** `calcium, calcium, calcium nitrate tetrahydrate 100 + …`: name, kind, then salts with their g/L. */
export function readStock(text: string): Read<StockAnswer> {
  const [id = '', kind = '', ...rest] = text.split(',').map((part) => part.trim())
  if (!ID.test(id)) return { wrong: `a name of lower-case letters, digits and hyphens first, found "${id}"` }
  if (kind !== 'calcium' && kind !== 'phosphate-sulfate' && kind !== 'neutral')
    return { wrong: `calcium, phosphate-sulfate or neutral as its kind, found "${kind}"` }
  const salts: SaltAmount[] = []
  for (const part of rest.join(',').split('+')) {
    const found = part.trim().match(/^(.+?)\s+([\d.]+)\s*(?:g\/L)?$/)
    if (!found || !(Number(found[2]) > 0))
      return {
        wrong: `salts with their g/L, such as potassium nitrate 120 + iron DTPA 11 % 2.2; found "${part.trim()}"`,
      }
    salts.push({ salt: found[1]!, gPerL: Number(found[2]) })
  }
  return { value: { id, kind, salts } }
}

/** `nitric acid 1`: its chemical name and its strength as it stands in the bottle, eq/L. */
export function readAcid(text: string): Read<{ readonly name: string; readonly eqPerL: number } | null> {
  if (/^none$/i.test(text.trim())) return { value: null }
  const found = text.trim().match(/^(.+?)\s+([\d.]+)\s*(?:eq\/L)?$/)
  const eqPerL = Number(found?.[2])
  if (found && eqPerL >= 0.05 && eqPerL <= 2) return { value: { name: found[1]!, eqPerL } }
  return { wrong: 'a name with a strength of 0.05 to 2 eq/L, such as nitric acid 1, or none' }
}

const wrongOf = (read: Read<unknown>): string | undefined => ('wrong' in read ? read.wrong : undefined)
const matching = (pattern: RegExp, allowed: string) => (text: string) =>
  pattern.test(text.trim()) ? undefined : allowed
const between = (min: number, max: number, unit: string) => (text: string) => wrongOf(readNumber(text, min, max, unit))
const fitted = (text: string) => {
  const { isFitted, reason } = readFitted(text)
  return isFitted || reason !== '' ? undefined : 'yes, or the reason why there is none'
}

/** @param nowMs for the day that is offered as the day of transplanting */
export function questions(nowMs: number): readonly Question[] {
  return [
    {
      key: 'name',
      ask: 'Name of the site (lower-case, as it will stand in the topics)',
      check: matching(ID, 'lower-case letters, digits and hyphens'),
    },
    {
      ...{ key: 'zone', ask: 'Time zone', usual: Intl.DateTimeFormat().resolvedOptions().timeZone },
      check: (text) => (isZone(text.trim()) ? undefined : 'a time zone such as Europe/Lisbon'),
    },
    { key: 'volume', ask: 'Water in the reservoir and all that returns to it, L', check: between(15, 15000, 'L') },
    { key: 'circulation', ask: 'Circulation, L/min', check: between(0.5, 4000, 'L/min') },
    { key: 'level', ask: 'Is a level probe fitted? yes, or why not', check: fitted },
    { key: 'meter', ask: 'Is the make-up water metered? yes, or why not', check: fitted },
    { key: 'flow', ask: 'Is a flow probe fitted? yes, or why not', check: fitted },
    {
      ...{ key: 'stock', isList: true, check: (text: string) => wrongOf(readStock(text)) },
      ask: 'A stock: name, kind (calcium, phosphate-sulfate or neutral), salts with g/L joined by +; empty when done',
    },
    { key: 'bottle', ask: 'Each bottle of stock or acid holds, L', usual: '10', check: between(0.1, 200, 'L') },
    {
      key: 'acid',
      ask: 'Acid with its strength in the bottle in eq/L, such as nitric acid 1, or none',
      check: (text) => wrongOf(readAcid(text)),
    },
    {
      key: 'crop',
      ask: 'Crop, as the crops file names it',
      usual: 'butterhead-lettuce',
      check: matching(ID, 'the name of a crop'),
    },
    {
      key: 'plants',
      ask: 'Plants in the channels',
      check: (text) => (/^[1-9]\d{0,4}$/.test(text.trim()) ? undefined : 'a whole number from 1 to 99999'),
    },
    {
      ...{
        key: 'transplanted',
        ask: 'Day on which they came into the channels',
        usual: new Date(nowMs).toISOString().slice(0, 10),
      },
      check: matching(/^\d{4}-\d{2}-\d{2}$/, 'a day such as 2026-03-02'),
    },
    {
      key: 'water',
      ask: 'Source water: a name such as reverse-osmosis, or its laboratory’s file',
      check: matching(/\S/, 'a name or a file'),
    },
  ]
}
