/** Base: what must agree before any pump runs, beside what goes for acid as well. */

import type { ConfigurationError } from './configuration-error.ts'
import { faultAt, type Look, type Looks, numberAt } from './look.ts'
import { checkReagent } from './reagent-check.ts'

/** Faults of the base section; none where the site has neither base nor the section. */
export function checkBase({ site, limits }: Looks): ConfigurationError[] {
  return [...checkReagent(site, limits, 'base'), ...ceiling(limits), ...window(limits)]
}

function ceiling(limits: Look): ConfigurationError[] {
  const phCeiling = numberAt(limits, 'base', 'phCeiling')
  const phMax = numberAt(limits, 'probes', 'phMax')
  if (phCeiling === undefined || phMax === undefined || phCeiling <= phMax) return []
  const allowed = `at most probes.phMax, which is ${phMax}`
  return [faultAt(limits, ['base', 'phCeiling'], { allowed, message: 'Above it nothing is dosed anyway.' })]
}

/** Acid is given only above its floor, base only below its ceiling: neither may leave a pH that nothing mends. */
function window(limits: Look): ConfigurationError[] {
  const phCeiling = numberAt(limits, 'base', 'phCeiling')
  const phFloor = numberAt(limits, 'acid', 'phFloor')
  if (phCeiling === undefined || phFloor === undefined || phCeiling > phFloor) return []
  const allowed = `more than acid.phFloor, which is ${phFloor}`
  return [
    faultAt(limits, ['base', 'phCeiling'], {
      allowed,
      message: 'Between the two neither acid nor base could mend pH.',
    }),
  ]
}
