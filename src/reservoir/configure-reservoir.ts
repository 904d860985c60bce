/** A parsed configuration resolved once for both rooms and the loop. */

import { toVector } from '../chemistry/element.ts'
import { readSalt } from '../chemistry/salt.ts'
import type { Configuration } from '../config/configuration.ts'
import { saltOf } from '../config/salt-entry.ts'
import { coreSettings, safetyLimits } from './configure.ts'
import { alarmSettings } from './configure-alarms.ts'
import type { SaltBook } from './salt-book.ts'
import type { ReservoirSettings } from './state.ts'

/** Settings of the core, limits of safety, and the shelf. */
export function reservoirSettings(configuration: Configuration): ReservoirSettings {
  return {
    core: coreSettings(configuration),
    limits: safetyLimits(configuration),
    alarms: alarmSettings(configuration),
    salts: saltBook(configuration),
    file: configuration,
  }
}

function saltBook({ salts }: Configuration): SaltBook {
  const book: Record<string, Float64Array> = {}
  for (const [name, entry] of Object.entries(salts.salts)) {
    const read = readSalt(saltOf(entry))
    if (read.kind === 'salt') book[name] = toVector(read.mmolPerG)
  }
  return book
}
