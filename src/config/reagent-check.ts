/** Acid and base alike: one shot cannot ruin a reservoir, worked out from the files before any pump runs. */

import type { ConfigurationError } from './configuration-error.ts'
import { faultAt, faultAtKey, type Item, itemsAt, type Look, numberAt, valueAt } from './look.ts'

type Kind = 'acid' | 'base'

/** Strengths on a label and in the limits may differ by rounding, not by more. */
const STRENGTH_TOLERANCE = 0.01

/** Stocks of the kind are all listed, of the strength that the site says, and small enough in every shot. */
export function checkReagent(site: Look, limits: Look, kind: Kind): ConfigurationError[] {
  const stocks = itemsAt(site, 'stocks').filter(({ fields }) => fields.kind === kind)
  // a file that is no map at all has been complained of already
  if (typeof limits.view !== 'object' || limits.view === null) return []
  if (valueAt(limits, kind) === undefined) return stocks.length === 0 ? [] : [missingSection(limits, kind, stocks)]
  return [
    ...listing(site, limits, kind, stocks),
    ...stocks.flatMap((stock) => strength(site, limits, kind, stock)),
    ...stocks.flatMap((stock) => shot(limits, kind, stock)),
    ...stocks.flatMap((stock) => mixing(site, limits, kind, stock)),
    ...volume(site, limits, kind),
  ]
}

function missingSection(limits: Look, kind: Kind, stocks: readonly Item[]): ConfigurationError {
  const found = `no section ${kind}`
  const allowed = `a section ${kind}, since the site has ${stocks.map(({ name }) => name).join(', ')}`
  return {
    ...faultAtKey(limits, [], { found, allowed, message: `Add it: without it no ${kind} is dosed.` }),
    path: kind,
  }
}

function listing(site: Look, limits: Look, kind: Kind, reagents: readonly Item[]): ConfigurationError[] {
  const stocks = valueAt(limits, kind, 'stocks')
  if (!Array.isArray(stocks) || !Array.isArray(valueAt(site, 'stocks'))) return []
  const names = reagents.map(({ name }) => name)
  const strangers = stocks.flatMap((name, at) =>
    names.includes(name)
      ? []
      : [
          faultAt(limits, [kind, 'stocks', at], {
            allowed: names.length === 0 ? `a stock of kind ${kind}; the site has none` : names.join(', '),
            message: 'Correct the name, or the kind of the stock in the site.',
          }),
        ],
  )
  const unlisted = names
    .filter((name) => !stocks.includes(name))
    .map((name) =>
      faultAtKey(limits, [kind, 'stocks'], {
        found: `no ${name}`,
        allowed: `every stock of kind ${kind}`,
        message: `Add it: ${kind} that is not listed escapes the rules for ${kind}.`,
      }),
    )
  return [...strangers, ...unlisted]
}

/** 1 eq/L is 1 meq/mL. */
function strength(site: Look, limits: Look, kind: Kind, { name, path }: Item): ConfigurationError[] {
  const bottle = numberAt(site, ...path, 'reagent', 'eqPerL')
  const limit = numberAt(limits, kind, 'strengthMeqPerMl')
  if (bottle === undefined || limit === undefined || Math.abs(bottle - limit) <= STRENGTH_TOLERANCE * bottle) return []
  const message = `${site.file.name} says that ${name} has ${bottle} eq/L, which is the same measure. Correct the wrong one.`
  return [faultAt(limits, [kind, 'strengthMeqPerMl'], { allowed: `${bottle}`, message })]
}

function shot(limits: Look, kind: Kind, { name }: Item): ConfigurationError[] {
  const shotMaxMl = numberAt(limits, 'stocks', name, 'shotMaxMl')
  const strengthMeqPerMl = numberAt(limits, kind, 'strengthMeqPerMl')
  const reservoirMinL = numberAt(limits, kind, 'reservoirMinL')
  const ceiling = numberAt(limits, kind, 'shotMaxMeqPerL')
  if (shotMaxMl === undefined || strengthMeqPerMl === undefined) return []
  if (reservoirMinL === undefined || ceiling === undefined) return []
  const most = (ceiling * reservoirMinL) / strengthMeqPerMl
  // the product of decimals may miss the round number by its last digit
  if (shotMaxMl <= most * (1 + 1e-9)) return []
  const message =
    `${ceiling} meq/L (${kind}.shotMaxMeqPerL) in ${reservoirMinL} L at ${strengthMeqPerMl} meq/mL leaves no more in one ` +
    `shot. Lower it, or dilute the ${kind} further.`
  return [
    faultAt(limits, ['stocks', name, 'shotMaxMl'], { allowed: `0 to ${Number(most.toPrecision(4))} mL`, message }),
  ]
}

function mixing(site: Look, limits: Look, kind: Kind, { name }: Item): ConfigurationError[] {
  const mixingMin = numberAt(site, 'reservoir', 'mixingMin')
  const gapMin = numberAt(limits, 'stocks', name, 'gapMin')
  if (mixingMin === undefined || gapMin === undefined || gapMin >= mixingMin) return []
  const allowed = `at least reservoir.mixingMin, which is ${mixingMin}`
  const message = `The pH after a shot of ${kind} is known only when it is mixed in.`
  return [faultAt(limits, ['stocks', name, 'gapMin'], { allowed, message })]
}

/** Where a level is read, safety counts on the lower of the two; where none is, this number is all it has. */
function volume(site: Look, limits: Look, kind: Kind): ConfigurationError[] {
  const counted = numberAt(limits, kind, 'reservoirMinL')
  const isLevelRead = itemsAt(site, 'probes').some(({ fields }) => fields.role === 'level')
  const key = isLevelRead ? 'volumeMaxL' : 'volumeMinL'
  const most = numberAt(site, 'reservoir', key)
  if (counted === undefined || most === undefined || counted <= most) return []
  const allowed = `at most reservoir.${key} of the site, which is ${most}`
  const message = isLevelRead
    ? 'So much is never there.'
    : 'No probe tells the level, so the least volume must be reckoned with.'
  return [faultAt(limits, [kind, 'reservoirMinL'], { allowed, message })]
}
