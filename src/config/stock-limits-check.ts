/** Stocks and their limits: every stock has limits, every limit has its stock, and incompatible stocks are apart. */

import type { ConfigurationError } from './configuration-error.ts'
import {
  faultAt,
  faultAtKey,
  type Item,
  itemsAt,
  type Look,
  type Looks,
  listed,
  namesAt,
  numberAt,
  outOfOrder,
} from './look.ts'

/** A stock without a complete entry in the limits is never dosed, so it is refused here, by name. */
export function checkStockLimits({ site, limits }: Looks): ConfigurationError[] {
  const stocks = namesAt(site, 'stocks')
  const limited = namesAt(limits, 'stocks')
  if (limited === undefined) return []
  return [
    ...(stocks === undefined ? [] : [...stocks].filter((name) => name !== '' && !limited.has(name))).map((name) =>
      missingLimit(limits, name),
    ),
    ...itemsAt(limits, 'stocks').flatMap((entry) => [
      ...strangers(site, limits, entry, stocks),
      ...outOfOrder(limits, [...entry.path, 'shotMaxMl'], [...entry.path, 'hourMaxMl'], true),
      ...outOfOrder(limits, [...entry.path, 'hourMaxMl'], [...entry.path, 'dayMaxMl'], true),
      ...outOfOrder(limits, [...entry.path, 'bottle', 'firstShotMl'], [...entry.path, 'bottle', 'volumeMl'], true),
      ...outOfOrder(limits, [...entry.path, 'bottle', 'firstShotMl'], [...entry.path, 'shotMaxMl'], true),
      ...outOfOrder(limits, [...entry.path, 'bottle', 'sinceRefillMaxMl'], [...entry.path, 'bottle', 'volumeMl'], true),
    ]),
    ...itemsAt(site, 'stocks').flatMap((stock) => shotsTooSmall(site, limits, stock)),
    ...itemsAt(site, 'stocks').flatMap((stock) => firstTooSmall(site, limits, stock)),
    ...incompatible(site, limits),
  ]
}

function missingLimit(limits: Look, name: string): ConfigurationError {
  const message =
    `Missing limit: add an entry ${name} under stocks with shotMaxMl, hourMaxMl, dayMaxMl, gapMin and apart; ` +
    'a stock without limits is never dosed.'
  const fault = { found: `no limits for the stock ${name}`, allowed: 'an entry for every stock of the site', message }
  return { ...faultAtKey(limits, ['stocks'], fault), path: `stocks.${name}` }
}

function strangers(
  site: Look,
  limits: Look,
  { name, path }: Item,
  stocks: ReadonlySet<string> | undefined,
): ConfigurationError[] {
  if (stocks === undefined) return []
  const allowed = listed(stocks)
  const faults = stocks.has(name)
    ? []
    : [
        faultAtKey(limits, path, {
          found: 'limits for a stock the site has not',
          allowed,
          message: `Add the stock to ${site.file.name}, or remove its limits.`,
        }),
      ]
  for (const other of itemsAt(limits, ...path, 'apart')) {
    const from = other.fields.from
    if (typeof from !== 'string' || (stocks.has(from) && from !== name)) continue
    const message = from === name ? 'The wait between two shots of it is gapMin.' : 'Correct the name.'
    faults.push(faultAt(limits, [...other.path, 'from'], { allowed: 'another stock of the site', message }))
  }
  return faults
}

function shotsTooSmall(site: Look, limits: Look, { name, path }: Item): ConfigurationError[] {
  const least = numberAt(site, ...path, 'shotMinMl')
  const most = numberAt(limits, 'stocks', name, 'shotMaxMl')
  // 0 is how a person says that a stock must not be dosed
  if (least === undefined || most === undefined || most === 0 || least <= most) return []
  const allowed = `0, or at least shotMinMl of the stock, which is ${least}`
  const message = 'As it stands no shot is both large enough for the pump and small enough for the limit.'
  return [faultAt(limits, ['stocks', name, 'shotMaxMl'], { allowed, message })]
}

function firstTooSmall(site: Look, limits: Look, { name, path }: Item): ConfigurationError[] {
  const least = numberAt(site, ...path, 'shotMinMl')
  const first = numberAt(limits, 'stocks', name, 'bottle', 'firstShotMl')
  if (least === undefined || first === undefined || least <= first) return []
  const allowed = `at least shotMinMl of the stock, which is ${least}`
  const message = 'As it stands the pump could give no first shot after a refill.'
  return [faultAt(limits, ['stocks', name, 'bottle', 'firstShotMl'], { allowed, message })]
}

/** Calcium of one stock makes solids with phosphate and sulfate of another until both are mixed in. */
function incompatible(site: Look, limits: Look): ConfigurationError[] {
  const mixingMin = numberAt(site, 'reservoir', 'mixingMin')
  const stocks = itemsAt(site, 'stocks')
  const of = (kind: string) => stocks.filter(({ fields }) => fields.kind === kind).map(({ name }) => name)
  if (mixingMin === undefined) return []
  return of('calcium').flatMap((calcium) =>
    of('phosphate-sulfate').flatMap((other) => tooClose(limits, calcium, other, mixingMin)),
  )
}

/** Either of the two may say it; the longer wait holds. */
function tooClose(limits: Look, calcium: string, other: string, mixingMin: number): ConfigurationError[] {
  const limited = namesAt(limits, 'stocks')
  if (limited === undefined || !(limited.has(calcium) && limited.has(other))) return []
  const entries = [...apart(limits, calcium, other), ...apart(limits, other, calcium)]
  const waits = entries.map((entry) => numberAt(limits, ...entry.path, 'min') ?? Number.POSITIVE_INFINITY)
  if (waits.some((min) => min >= mixingMin)) return []
  const message = 'The calcium of one makes solids with the phosphate or sulfate of the other until both are mixed in.'
  if (entries[0] !== undefined) {
    const allowed = `at least reservoir.mixingMin, which is ${mixingMin}`
    return [faultAt(limits, [...entries[0].path, 'min'], { allowed, message })]
  }
  const found = `nothing that keeps ${calcium} apart from ${other}`
  const allowed = `{ from: ${other}, min: ${mixingMin} } or longer`
  return [faultAtKey(limits, ['stocks', calcium, 'apart'], { found, allowed, message })]
}

function apart(limits: Look, stock: string, from: string): Item[] {
  return itemsAt(limits, 'stocks', stock, 'apart').filter((entry) => entry.fields.from === from)
}
