/** The controllers a trial can compare, by name. */

import type { World } from '../../simulator/world.ts'
import type { Configuration } from '../config/configuration.ts'
import type { LedgerRecord } from '../reservoir/index.ts'
import { createConductivityController } from './conductivity-controller.ts'
import type { Controller } from './controller.ts'
import { createIdealController } from './ideal-controller.ts'
import { createTarnwardController } from './tarnward-controller.ts'

export const CONTROLLER_NAMES = ['tarnward', 'ec-only', 'ec-only-with-dump', 'ideal'] as const
export type ControllerName = (typeof CONTROLLER_NAMES)[number]

/**
 * - `tarnward`: this package
 * - `ec-only`: stocks in a ratio tuned to uptake, dosed by EC, acid by pH
 * - `ec-only-with-dump`: the same, and a new fill every 14 days
 * - `ideal`: knows the true composition and what the crop will take, and may let solution go
 *
 * @param keep hears every record that a daemon would write; the baselines write none
 */
export function createController(
  name: ControllerName,
  configuration: Configuration,
  world: World,
  keep?: (record: LedgerRecord) => void,
): Controller {
  switch (name) {
    case 'tarnward':
      return createTarnwardController(configuration, keep)
    case 'ec-only':
      return createConductivityController(configuration, { dumps: false })
    case 'ec-only-with-dump':
      return createConductivityController(configuration, { dumps: true })
    case 'ideal':
      return createIdealController(configuration, world)
  }
}
