/** What is left of one run once its plant is gone: plain data, for another thread or another file. */

import type { Trial } from './run-trial.ts'
import type { Tally } from './tally.ts'

export interface TrialOutcome {
  readonly seed: number
  readonly tally: Tally
  readonly dosedMl: Readonly<Record<string, number>>
  readonly waterL: number
  readonly dischargedL: number
  readonly saltG: number
  /** mass of tracked elements that left with discharged solution, g */
  readonly dischargedElementsG: number
  readonly shots: number
  readonly refused: number
  readonly unknown: number
  /** of the site’s limits; empty for a baseline, which keeps none */
  readonly violations: readonly string[]
  readonly alarms: readonly string[]
}

/** A run as data. Nothing of the clock on the wall is in it, so it is the same wherever and beside whatever it ran. */
export function outcomeOf({ tally, watch, controller, truth, dischargedElementsG }: Trial, seed: number): TrialOutcome {
  return {
    seed,
    tally,
    dosedMl: { ...watch.dosedMl },
    waterL: truth.topUpL,
    dischargedL: truth.dischargedL,
    saltG: truth.saltG,
    dischargedElementsG,
    shots: watch.shots,
    refused: controller.refused,
    unknown: controller.unknown,
    violations: controller.keepsLimits ? [...watch.violations] : [],
    alarms: [...controller.alarms],
  }
}
