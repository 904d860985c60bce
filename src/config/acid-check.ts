/** Acid: what must agree before any pump runs, beside what goes for base as well. */

import type { ConfigurationError } from './configuration-error.ts'
import { faultAt, faultAtKey, itemsAt, type Look, type Looks, numberAt, textAt, valueAt } from './look.ts'
import { checkReagent } from './reagent-check.ts'

/** 100 mg/L as CaCO3 are 2.0 meq/L: 100.09 g/mol, two equivalents. */
const MG_CACO3_PER_MEQ = 50.04
/** What rounding of a laboratory’s figure explains. */
const ROUNDING_SHARE = 0.01
/** Trim beyond this would leave the hour’s make-up water without a say in the hour’s acid (our judgement, no source). */
const TRIM_SHOTS = 2

/** Faults of the acid section; none where the site has neither acid nor the section. */
export function checkAcid({ site, limits, salts }: Looks): ConfigurationError[] {
  const isThere = valueAt(limits, 'acid') !== undefined
  const own = isThere ? [...floor(limits), ...source(site, limits), ...trim(limits), ...unmetered(site, limits)] : []
  return [...checkReagent(site, limits, 'acid'), ...own, ...chlorine(site, salts)]
}

/** The alkalinity that acid counts on must be there: the limits’ figure is a lower bound. */
function source(site: Look, limits: Look): ConfigurationError[] {
  const counted = numberAt(limits, 'acid', 'buffering', 'sourceMeqPerL')
  const mgPerL = numberAt(site, 'source', 'alkalinityMgPerLCaco3')
  if (counted === undefined || mgPerL === undefined) return []
  const is = mgPerL / MG_CACO3_PER_MEQ
  if (counted <= is * (1 + ROUNDING_SHARE)) return []
  const allowed = `at most ${is.toFixed(2)} meq/L, the ${mgPerL} mg/L as CaCO3 of source.alkalinityMgPerLCaco3 in ${site.file.name}`
  const message = 'Acid would count on alkalinity that the make-up water does not bring.'
  return [faultAt(limits, ['acid', 'buffering', 'sourceMeqPerL'], { allowed, message })]
}

function trim(limits: Look): ConfigurationError[] {
  const trimMeq = numberAt(limits, 'acid', 'buffering', 'trimMeqPerHour')
  const ceiling = numberAt(limits, 'acid', 'shotMaxMeqPerL')
  const reservoirMinL = numberAt(limits, 'acid', 'reservoirMinL')
  if (trimMeq === undefined || ceiling === undefined || reservoirMinL === undefined) return []
  const most = TRIM_SHOTS * ceiling * reservoirMinL
  if (trimMeq <= most * (1 + 1e-9)) return []
  const allowed = `at most ${Number(most.toPrecision(4))} meq, ${TRIM_SHOTS} of the largest shots (acid.shotMaxMeqPerL in acid.reservoirMinL)`
  const message = 'With more, the hour’s make-up water would have no say in the hour’s acid.'
  return [faultAt(limits, ['acid', 'buffering', 'trimMeqPerHour'], { allowed, message })]
}

function unmetered(site: Look, limits: Look): ConfigurationError[] {
  const probes = itemsAt(site, 'probes')
  if (probes.length === 0 || probes.some(({ fields }) => fields.role === 'top-up')) return []
  if (valueAt(limits, 'acid', 'buffering') === undefined) return []
  if (valueAt(limits, 'acid', 'buffering', 'unmeteredMeqPerHour') !== undefined) return []
  const found = 'no unmeteredMeqPerHour'
  const allowed = 'what an hour’s make-up water takes up at the least, since the site has no meter; 0 is allowed'
  const message = 'Add it, or fit a meter: without either only the trim lets acid in, and nobody would know why.'
  return [
    {
      ...faultAtKey(limits, ['acid', 'buffering'], { found, allowed, message }),
      path: 'acid.buffering.unmeteredMeqPerHour',
    },
  ]
}

/** Hypochlorite and acid give chlorine; peroxide and peracid burn what acid sets free. By formula and by name. */
const OXIDISER = /OCl|ClO|(?:^|[·*\s\d.(])H2O2|hypochlor|chlorine dioxide|bleach|peroxid|perox(?:y|o)|peracet|peracid/i

/** What must never be in a bottle beside acid is refused by name, whatever kind the site calls it. */
function chlorine(site: Look, salts: Look): ConfigurationError[] {
  const stocks = itemsAt(site, 'stocks')
  if (!stocks.some(({ fields }) => fields.kind === 'acid')) return []
  return stocks.flatMap(({ name, path }) => {
    const reagent = textAt(site, ...path, 'reagent', 'name')
    const reagentAt = reagent === undefined ? [] : [{ text: reagent, at: [...path, 'reagent', 'name'] }]
    const salted = itemsAt(site, ...path, 'salts').flatMap((entry) =>
      typeof entry.fields.salt === 'string' ? [{ text: entry.fields.salt, at: [...entry.path, 'salt'] }] : [],
    )
    return [{ text: name, at: [...path, 'id'] }, ...reagentAt, ...salted]
      .filter(({ text }) => OXIDISER.test(text) || OXIDISER.test(formulaOf(salts, text)))
      .map(({ at }) => {
        const allowed = 'no hypochlorite, peroxide or peracid on a pump of a site that doses acid'
        const message =
          'With acid, hypochlorite gives off chlorine, which kills. Sanitise by hand, with the acid pumps held and rinsed; see the label.'
        return faultAt(site, at, { allowed, message })
      })
  })
}

function formulaOf(salts: Look, name: string): string {
  return textAt(salts, 'salts', name, 'formula') ?? textAt(salts, 'reagents', name, 'formula') ?? ''
}

function floor(limits: Look): ConfigurationError[] {
  const phFloor = numberAt(limits, 'acid', 'phFloor')
  const phMin = numberAt(limits, 'probes', 'phMin')
  if (phFloor === undefined || phMin === undefined || phFloor >= phMin) return []
  const allowed = `at least probes.phMin, which is ${phMin}`
  return [faultAt(limits, ['acid', 'phFloor'], { allowed, message: 'Below it nothing is dosed anyway.' })]
}
