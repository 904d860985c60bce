/** A ration is of nutrient stocks only, and of a site that measures what it goes by. */

import type { ConfigurationError } from './configuration-error.ts'
import { faultAt, faultAtKey, itemsAt, type Look, type Looks, listed, numberAt, valueAt } from './look.ts'

/** Faults of the limits’ section ration; none where there is no such section. */
export function checkRation({ site, limits }: Looks): ConfigurationError[] {
  const stocks = valueAt(limits, 'ration', 'stocks')
  if (typeof stocks !== 'object' || stocks === null) return []
  const names = Object.keys(stocks)
  return [
    ...names.flatMap((name) => stranger(site, limits, name)),
    ...names.flatMap((name) => overDay(limits, name)),
    ...unmeasured(site, limits),
  ]
}

function stranger(site: Look, limits: Look, name: string): ConfigurationError[] {
  const known = itemsAt(site, 'stocks')
  const kind = known.find((stock) => stock.name === name)?.fields.kind
  if (known.length === 0 || (kind !== undefined && kind !== 'acid' && kind !== 'base')) return []
  const nutrients = known
    .filter(({ fields }) => fields.kind !== 'acid' && fields.kind !== 'base')
    .map((stock) => stock.name)
  const message = 'Acid and base have no ration: without pH they would be dosed blind.'
  return [faultAtKey(limits, ['ration', 'stocks', name], { found: name, allowed: listed(nutrients), message })]
}

function overDay(limits: Look, name: string): ConfigurationError[] {
  const ration = numberAt(limits, 'ration', 'stocks', name, 'dayMaxMl')
  const most = numberAt(limits, 'stocks', name, 'dayMaxMl')
  if (ration === undefined || most === undefined || ration <= most) return []
  const allowed = `at most stocks.${name}.dayMaxMl, which is ${most}`
  return [
    faultAt(limits, ['ration', 'stocks', name, 'dayMaxMl'], {
      allowed,
      message: 'A ration is less than a day’s doses.',
    }),
  ]
}

function unmeasured(site: Look, limits: Look): ConfigurationError[] {
  const roles = itemsAt(site, 'probes').map(({ fields }) => fields.role)
  if (roles.length === 0) return []
  const missing = ['top-up', 'level', 'flow'].filter((role) => !roles.includes(role))
  if (missing.length === 0) return []
  const message = 'Fit it, or leave the section out: a ration goes by the make-up meter, the level and the flow.'
  return [
    faultAtKey(limits, ['ration'], {
      found: `no probe of role ${missing.join(', ')}`,
      allowed: 'a site with all three',
      message,
    }),
  ]
}
