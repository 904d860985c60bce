import type { Salt } from '../chemistry/salt.ts'
import type { DeepReadonly } from './configuration.ts'
import type { SaltEntry } from './salts-schema.ts'

/** An entry of the salts file as the chemistry wants it. It has a formula or a label; the parser sees to that. */
export function saltOf(entry: DeepReadonly<Partial<SaltEntry>>): Salt {
  if (entry.formula !== undefined) {
    return { kind: 'formula', formula: entry.formula, purity: (entry.purityPercent ?? 100) / 100 }
  }
  const percent = Object.fromEntries(Object.entries(entry.label ?? {}).filter(([, value]) => value !== undefined))
  const { alkalinityMeqPerG } = entry
  return { kind: 'label', percent, ...(alkalinityMeqPerG === undefined ? {} : { alkalinityMeqPerG }) }
}
