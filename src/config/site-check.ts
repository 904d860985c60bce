/** What must agree within the site, and with the crops and salts it names. */

import type { ConfigurationError } from './configuration-error.ts'
import {
  duplicates,
  faultAt,
  type Item,
  itemsAt,
  type Look,
  type Looks,
  listed,
  namesAt,
  numberAt,
  outOfOrder,
  textAt,
  valueAt,
} from './look.ts'

/** ids, nodes, volumes, cohorts, and what the stocks are made of. */
export function checkSite(looks: Looks): ConfigurationError[] {
  const { site } = looks
  return [
    ...duplicateNodes(site),
    ...['probes', 'stocks', 'cohorts'].flatMap((list) => duplicates(site, list)),
    ...['probes', 'stocks'].flatMap((list) => itemsAt(site, list).flatMap((item) => unknownNode(site, item))),
    ...volumes(site),
    ...sharedPumps(site),
    ...daylight(site),
    ...itemsAt(site, 'stocks').flatMap((stock) => ingredients(looks, stock)),
    ...itemsAt(site, 'cohorts').flatMap((cohort) => cohortFaults(looks, cohort)),
    ...parityFaults(site),
  ]
}

function duplicateNodes(site: Look): ConfigurationError[] {
  const nodes = valueAt(site, 'nodes')
  if (!Array.isArray(nodes)) return []
  return nodes.flatMap((node, at) =>
    nodes.indexOf(node) === at
      ? []
      : [faultAt(site, ['nodes', at], { allowed: 'each node once', message: 'Remove it.' })],
  )
}

function unknownNode(site: Look, { fields, path }: Item): ConfigurationError[] {
  const nodes = valueAt(site, 'nodes')
  const node = fields.node
  if (!Array.isArray(nodes) || typeof node !== 'string' || nodes.includes(node)) return []
  const message = 'Add the node to nodes, or correct its name here.'
  return [faultAt(site, [...path, 'node'], { allowed: listed(nodes.map(String)), message })]
}

/** A pair with a name that no stock has would silently run apart. */
function parityFaults(site: Look): ConfigurationError[] {
  const pair = valueAt(site, 'planning', 'parity', 'stocks')
  const stocks = namesAt(site, 'stocks')
  if (!Array.isArray(pair) || stocks === undefined) return []
  const message = 'Name two stocks of this site.'
  return pair.flatMap((name, at) =>
    typeof name !== 'string' || (stocks.has(name) && pair.indexOf(name) === at)
      ? []
      : [faultAt(site, ['planning', 'parity', 'stocks', at], { allowed: listed([...stocks]), message })],
  )
}

function volumes(site: Look): ConfigurationError[] {
  const at = (key: string) => ['reservoir', key]
  const fill = numberAt(site, 'firstFill', 'volumeL')
  const most = numberAt(site, 'reservoir', 'volumeMaxL')
  const overfull =
    fill !== undefined && most !== undefined && fill > most
      ? [
          faultAt(site, ['firstFill', 'volumeL'], {
            allowed: `at most reservoir.volumeMaxL, which is ${most}`,
            message: 'It would overflow.',
          }),
        ]
      : []
  return [
    ...outOfOrder(site, at('volumeMinL'), at('volumeL'), true),
    ...outOfOrder(site, at('volumeL'), at('volumeMaxL'), true),
    ...outOfOrder(site, at('filmL'), at('volumeMinL')),
    ...overfull,
  ]
}

/** Moments of the day as text stand in the order of the day. */
function daylight(site: Look): ConfigurationError[] {
  const from = textAt(site, 'photoperiod', 'litFrom')
  const until = textAt(site, 'photoperiod', 'litUntil')
  if (from === undefined || until === undefined || from < until) return []
  const message = 'Light that burns over midnight is not understood yet.'
  return [faultAt(site, ['photoperiod', 'litUntil'], { allowed: `later than litFrom, which is ${from}`, message })]
}

function sharedPumps(site: Look): ConfigurationError[] {
  const owners = new Map<string, string>()
  return itemsAt(site, 'stocks').flatMap(({ name, fields, path }) => {
    const pump = `${String(fields.node)} ${String(fields.pump)}`
    const owner = owners.get(pump)
    if (typeof fields.pump !== 'string' || owner === undefined) {
      owners.set(pump, name)
      return []
    }
    const message = `${owner} has it already.`
    return [faultAt(site, [...path, 'pump'], { allowed: 'one pump for each stock', message })]
  })
}

function ingredients({ site, salts }: Looks, { fields, path }: Item): ConfigurationError[] {
  const known = namesAt(salts, 'salts')
  const unknown = itemsAt(site, ...path, 'salts').flatMap((entry) => {
    const salt = entry.fields.salt
    if (known === undefined || typeof salt !== 'string' || known.has(salt)) return []
    const message = `Add it to salts in ${salts.file.name}, or use one of those.`
    return [faultAt(site, [...entry.path, 'salt'], { allowed: listed(known), message })]
  })
  return [...unknown, ...repeatedSalts(site, path), ...reagentFault(site, salts, fields.kind, path)]
}

function repeatedSalts(site: Look, path: readonly PropertyKey[]): ConfigurationError[] {
  const entries = itemsAt(site, ...path, 'salts')
  const names = entries.map(({ fields }) => fields.salt)
  return entries.flatMap((entry, at) =>
    typeof names[at] !== 'string' || names.indexOf(names[at]) === at
      ? []
      : [
          faultAt(site, [...entry.path, 'salt'], {
            allowed: 'each salt once in a stock',
            message: 'Add the two amounts.',
          }),
        ],
  )
}

function reagentFault(site: Look, salts: Look, kind: unknown, path: readonly PropertyKey[]): ConfigurationError[] {
  const known = itemsAt(salts, 'reagents')
  const name = textAt(site, ...path, 'reagent', 'name')
  if (name === undefined || known.length === 0 || (kind !== 'acid' && kind !== 'base')) return []
  const fitting = known.filter(({ fields }) => fields.kind === kind).map((reagent) => reagent.name)
  if (fitting.includes(name)) return []
  const message = `Add it to reagents in ${salts.file.name} as kind ${kind}, or use one of those.`
  return [faultAt(site, [...path, 'reagent', 'name'], { allowed: listed(fitting), message })]
}

function cohortFaults({ site, crops }: Looks, { fields, path }: Item): ConfigurationError[] {
  const { crop, transplantedOn, harvestedOn } = fields
  const known = namesAt(crops, 'crops')
  const faults: ConfigurationError[] = []
  if (typeof crop === 'string' && known !== undefined && !known.has(crop)) {
    const message = `Add the crop to ${crops.file.name}, or correct its name here.`
    faults.push(faultAt(site, [...path, 'crop'], { allowed: listed(known), message }))
  }
  if (typeof transplantedOn === 'string' && typeof harvestedOn === 'string' && harvestedOn <= transplantedOn) {
    const allowed = `a day after ${transplantedOn}, when it was transplanted`
    faults.push(faultAt(site, [...path, 'harvestedOn'], { allowed, message: 'Correct one of the two days.' }))
  }
  return faults
}
