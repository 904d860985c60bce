/** Salts: formulas that can be read and tracked, and acids that are acids. */

import { readSalt } from '../chemistry/salt.ts'
import type { ConfigurationError } from './configuration-error.ts'
import { type Fields, faultAt, faultAtKey, type Item, itemsAt, type Look, type Looks } from './look.ts'
import { saltOf } from './salt-entry.ts'
import type { SaltEntry } from './salts-schema.ts'

/** Faults of every salt; none where all is in order. */
export function checkSalts({ salts }: Looks): ConfigurationError[] {
  return [
    ...itemsAt(salts, 'salts').flatMap((salt) => saltFaults(salts, salt)),
    ...itemsAt(salts, 'reagents').flatMap((reagent) => reagentFaults(salts, reagent)),
  ]
}

function saltFaults(salts: Look, { fields, path }: Item): ConfigurationError[] {
  const hasFormula = typeof fields.formula === 'string'
  const hasLabel = typeof fields.label === 'object' && fields.label !== null
  if (hasFormula === hasLabel) {
    const found = hasFormula ? 'both a formula and a label' : 'neither a formula nor a label'
    const message = 'State what it is in one of the two ways.'
    return [faultAtKey(salts, path, { found, allowed: 'either formula or label', message })]
  }
  const strays = hasFormula ? ['alkalinityMeqPerG'] : ['purityPercent']
  const stray = strays
    .filter((key) => fields[key] !== undefined)
    .map((key) => {
      const message = hasFormula
        ? 'The formula says it already; remove it.'
        : 'A label states what is in it; remove it.'
      return faultAtKey(salts, [...path, key], {
        allowed: `no ${key} beside a ${hasFormula ? 'formula' : 'label'}`,
        message,
      })
    })
  return [...stray, ...contentFault(salts, path, hasFormula ? 'formula' : 'label', fields)]
}

function contentFault(
  salts: Look,
  path: readonly PropertyKey[],
  key: 'formula' | 'label',
  fields: Fields,
): ConfigurationError[] {
  const numeric = Object.values((fields.label ?? {}) as object).every((value) => typeof value === 'number')
  const purity = fields.purityPercent ?? 100
  if (!numeric || !(typeof purity === 'number' && purity > 0 && purity <= 100)) return []
  const read = readSalt(saltOf(fields as Partial<SaltEntry>))
  if (read.kind === 'salt') {
    if (Object.keys(read.mmolPerG).length > 0) return []
    return [faultAt(salts, [...path, key], { allowed: 'at least one nutrient', message: 'It brings nothing tracked.' })]
  }
  return [faultAt(salts, [...path, key], { allowed: 'what can be read and tracked', message: `${read.problem}.` })]
}

function reagentFaults(salts: Look, { fields, path }: Item): ConfigurationError[] {
  const { formula, kind } = fields
  if (typeof formula !== 'string') return []
  const at = [...path, 'formula']
  const read = readSalt({ kind: 'formula', formula, purity: 1 })
  if (read.kind !== 'salt') return [faultAt(salts, at, { allowed: 'a chemical formula', message: `${read.problem}.` })]
  const is = read.alkalinityMeqPerG < -1e-9 ? 'acid' : read.alkalinityMeqPerG > 1e-9 ? 'base' : 'neither'
  if (is === kind || (kind !== 'acid' && kind !== 'base')) return []
  const message = is === 'neither' ? 'It is a neutral salt.' : `It is ${is === 'acid' ? 'an acid' : 'a base'}.`
  return [faultAt(salts, at, { allowed: `the formula of ${kind === 'acid' ? 'an acid' : 'a base'}`, message })]
}
