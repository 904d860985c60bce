/** Acid: the rule that one shot cannot ruin a reservoir, worked out from the files before any pump runs. */

import type { ConfigurationError } from './configuration-error.ts'
import { faultAt, faultAtKey, type Item, itemsAt, type Look, type Looks, numberAt, valueAt } from './look.ts'

/** Strengths on a label and in the limits may differ by rounding, not by more. */
const STRENGTH_TOLERANCE = 0.01

/** Acid stocks are all listed, of the strength that the site says, and small enough in every shot. */
export function checkAcid({ site, limits }: Looks): ConfigurationError[] {
  const acids = itemsAt(site, 'stocks').filter(({ fields }) => fields.kind === 'acid')
  const section = valueAt(limits, 'acid')
  // a file that is no map at all has been complained of already
  if (typeof limits.view !== 'object' || limits.view === null) return []
  if (section === undefined) return acids.length === 0 ? [] : [missingSection(limits, acids)]
  return [
    ...listing(site, limits, acids),
    ...acids.flatMap((acid) => strength(site, limits, acid)),
    ...acids.flatMap((acid) => shot(limits, acid)),
    ...acids.flatMap((acid) => mixing(site, limits, acid)),
    ...volume(site, limits),
    ...floor(limits),
  ]
}

function missingSection(limits: Look, acids: readonly Item[]): ConfigurationError {
  const found = 'no section acid'
  const allowed = `a section acid, since the site has ${acids.map(({ name }) => name).join(', ')}`
  return {
    ...faultAtKey(limits, [], { found, allowed, message: 'Add it: without it no acid is dosed.' }),
    path: 'acid',
  }
}

function listing(site: Look, limits: Look, acids: readonly Item[]): ConfigurationError[] {
  const stocks = valueAt(limits, 'acid', 'stocks')
  if (!Array.isArray(stocks) || !Array.isArray(valueAt(site, 'stocks'))) return []
  const names = acids.map(({ name }) => name)
  const strangers = stocks.flatMap((name, at) =>
    names.includes(name)
      ? []
      : [
          faultAt(limits, ['acid', 'stocks', at], {
            allowed: names.length === 0 ? 'a stock of kind acid; the site has none' : names.join(', '),
            message: 'Correct the name, or the kind of the stock in the site.',
          }),
        ],
  )
  const unlisted = names
    .filter((name) => !stocks.includes(name))
    .map((name) =>
      faultAtKey(limits, ['acid', 'stocks'], {
        found: `no ${name}`,
        allowed: 'every stock of kind acid',
        message: 'Add it: acid that is not listed escapes the rules for acid.',
      }),
    )
  return [...strangers, ...unlisted]
}

/** 1 eq/L is 1 meq/mL. */
function strength(site: Look, limits: Look, { name, path }: Item): ConfigurationError[] {
  const bottle = numberAt(site, ...path, 'reagent', 'eqPerL')
  const limit = numberAt(limits, 'acid', 'strengthMeqPerMl')
  if (bottle === undefined || limit === undefined || Math.abs(bottle - limit) <= STRENGTH_TOLERANCE * bottle) return []
  const message = `${site.file.name} says that ${name} has ${bottle} eq/L, which is the same measure. Correct the wrong one.`
  return [faultAt(limits, ['acid', 'strengthMeqPerMl'], { allowed: `${bottle}`, message })]
}

function shot(limits: Look, { name }: Item): ConfigurationError[] {
  const shotMaxMl = numberAt(limits, 'stocks', name, 'shotMaxMl')
  const strengthMeqPerMl = numberAt(limits, 'acid', 'strengthMeqPerMl')
  const reservoirMinL = numberAt(limits, 'acid', 'reservoirMinL')
  const ceiling = numberAt(limits, 'acid', 'shotMaxMeqPerL')
  if (shotMaxMl === undefined || strengthMeqPerMl === undefined) return []
  if (reservoirMinL === undefined || ceiling === undefined) return []
  const most = (ceiling * reservoirMinL) / strengthMeqPerMl
  // the product of decimals may miss the round number by its last digit
  if (shotMaxMl <= most * (1 + 1e-9)) return []
  const message =
    `${ceiling} meq/L (acid.shotMaxMeqPerL) in ${reservoirMinL} L at ${strengthMeqPerMl} meq/mL leaves no more in one ` +
    'shot. Lower it, or dilute the acid further.'
  return [
    faultAt(limits, ['stocks', name, 'shotMaxMl'], { allowed: `0 to ${Number(most.toPrecision(4))} mL`, message }),
  ]
}

function mixing(site: Look, limits: Look, { name }: Item): ConfigurationError[] {
  const mixingMin = numberAt(site, 'reservoir', 'mixingMin')
  const gapMin = numberAt(limits, 'stocks', name, 'gapMin')
  if (mixingMin === undefined || gapMin === undefined || gapMin >= mixingMin) return []
  const allowed = `at least reservoir.mixingMin, which is ${mixingMin}`
  const message = 'The pH after a shot of acid is known only when it is mixed in.'
  return [faultAt(limits, ['stocks', name, 'gapMin'], { allowed, message })]
}

/** Where a level is read, safety counts on the lower of the two; where none is, this number is all it has. */
function volume(site: Look, limits: Look): ConfigurationError[] {
  const counted = numberAt(limits, 'acid', 'reservoirMinL')
  const isLevelRead = itemsAt(site, 'probes').some(({ fields }) => fields.role === 'level')
  const key = isLevelRead ? 'volumeMaxL' : 'volumeMinL'
  const most = numberAt(site, 'reservoir', key)
  if (counted === undefined || most === undefined || counted <= most) return []
  const allowed = `at most reservoir.${key} of the site, which is ${most}`
  const message = isLevelRead
    ? 'So much is never there.'
    : 'No probe tells the level, so the least volume must be reckoned with.'
  return [faultAt(limits, ['acid', 'reservoirMinL'], { allowed, message })]
}

function floor(limits: Look): ConfigurationError[] {
  const phFloor = numberAt(limits, 'acid', 'phFloor')
  const phMin = numberAt(limits, 'probes', 'phMin')
  if (phFloor === undefined || phMin === undefined || phFloor >= phMin) return []
  const allowed = `at least probes.phMin, which is ${phMin}`
  return [faultAt(limits, ['acid', 'phFloor'], { allowed, message: 'Below it nothing is dosed anyway.' })]
}
