/** Bounds that must be in order among themselves and within what the site has. */

import type { ConfigurationError } from './configuration-error.ts'
import { faultAt, faultAtKey, itemsAt, type Look, type Looks, numberAt, outOfOrder, valueAt } from './look.ts'

/** Faults of the limits, those against the site’s own figures included; none where all is in order. */
export function checkLimits({ site, limits }: Looks): ConfigurationError[] {
  const probes = (key: string) => ['probes', key]
  return [
    ...outOfOrder(limits, probes('conductivityMinDsPerM'), probes('conductivityMaxDsPerM')),
    ...outOfOrder(limits, probes('phMin'), probes('phMax')),
    ...outOfOrder(limits, probes('temperatureMinC'), probes('temperatureMaxC')),
    ...outOfOrder(limits, ['water', 'levelMinL'], ['water', 'levelMaxL']),
    ...levels(site, limits),
    ...plannedConductivity(site, limits),
    ...twins(site, limits),
  ]
}

function levels(site: Look, limits: Look): ConfigurationError[] {
  const lowest = numberAt(site, 'reservoir', 'volumeMinL')
  const highest = numberAt(site, 'reservoir', 'volumeMaxL')
  const min = numberAt(limits, 'water', 'levelMinL')
  const max = numberAt(limits, 'water', 'levelMaxL')
  const faults: ConfigurationError[] = []
  if (lowest !== undefined && min !== undefined && min < lowest) {
    const allowed = `at least reservoir.volumeMinL of the site, which is ${lowest}`
    faults.push(faultAt(limits, ['water', 'levelMinL'], { allowed, message: 'Below it nothing is reckoned with.' }))
  }
  if (highest !== undefined && max !== undefined && max > highest) {
    const allowed = `at most reservoir.volumeMaxL of the site, which is ${highest}`
    faults.push(faultAt(limits, ['water', 'levelMaxL'], { allowed, message: 'Above it the reservoir overflows.' }))
  }
  return faults
}

const TWIN_KEYS: Readonly<Record<string, string>> = {
  conductivity: 'conductivityDsPerM',
  ph: 'ph',
  temperature: 'temperatureC',
  level: 'levelL',
  flow: 'flowLPerMin',
}

/** Two probes of one role are only worth having when somebody says how far apart they may be. */
function twins(site: Look, limits: Look): ConfigurationError[] {
  const probes = itemsAt(site, 'probes')
  return Object.entries(TWIN_KEYS).flatMap(([role, key]) => {
    const ids = probes.filter(({ fields }) => fields.role === role).map(({ name }) => name)
    if (ids.length < 2 || valueAt(limits, 'probes', 'twinsWithin', key) !== undefined) return []
    const found = `no limit for how far ${ids.join(' and ')} may differ`
    const message = `Add probes.twinsWithin.${key}; without it nothing is dosed.`
    return [
      {
        ...faultAtKey(limits, ['probes'], { found, allowed: `a difference for two ${role} probes`, message }),
        path: `probes.twinsWithin.${key}`,
      },
    ]
  })
}

function plannedConductivity(site: Look, limits: Look): ConfigurationError[] {
  const planned = numberAt(site, 'planning', 'conductivityMaxDsPerM')
  const most = numberAt(limits, 'probes', 'conductivityMaxDsPerM')
  if (planned === undefined || most === undefined || planned <= most) return []
  const allowed = `at most probes.conductivityMaxDsPerM of the limits, which is ${most}`
  return [
    faultAt(site, ['planning', 'conductivityMaxDsPerM'], { allowed, message: 'Every dose above it would be refused.' }),
  ]
}
