/** A person’s change of a limit against everything that the limits file itself would be held to. */

import { checkChangedLimits } from '../config/changed-limits-check.ts'
import type { Configuration } from '../config/configuration.ts'
import { configurationInForce } from '../reservoir/limit-change.ts'
import type { ReservoirState } from '../reservoir/state.ts'

/** What would be wrong with the limits, each a sentence; empty where they would pass as a file. */
export function faultsOfLimits(
  configuration: Configuration,
  state: ReservoirState,
  values: Readonly<Record<string, number>>,
): readonly string[] {
  const errors = checkChangedLimits(configurationInForce(configuration, state.changedLimits), values)
  return errors.map(({ path, found, allowed, message }) => `${path}: found ${found}, allowed ${allowed}. ${message}`)
}
