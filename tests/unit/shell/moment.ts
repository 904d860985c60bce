/** The test bench up to the input that brings its first command, so that a test can hand that very input to a loop. */

import type { Configuration } from '../../../src/config/configuration.ts'
import type { Effect } from '../../../src/reservoir/effect.ts'
import type { Input } from '../../../src/reservoir/input.ts'
import type { ReservoirSettings, ReservoirState } from '../../../src/reservoir/state.ts'
import { LoopBench } from '../../support/loop/bench.ts'

export interface Moment {
  readonly settings: ReservoirSettings
  /** as it stands before the input */
  readonly state: ReservoirState
  /** makes `step` permit a shot */
  readonly input: Input
}

/** Hours in which the crop has always eaten enough for a first shot. */
const HOURS_MOST = 24

class Watched extends LoopBench {
  found: { readonly state: ReservoirState; readonly input: Input } | undefined

  override give(input: Input): readonly Effect[] {
    const { state } = this
    const effects = super.give(input)
    if (!this.found && effects.some(({ kind }) => kind === 'command')) this.found = { state, input }
    return effects
  }
}

/** The first command of the bench in automatic mode. */
export function momentOfDose(configuration: Configuration): Moment {
  const bench = new Watched(configuration)
  bench.start()
  for (let minute = 0; minute < HOURS_MOST * 60 && !bench.found; minute++) bench.minutes(1)
  if (!bench.found) throw new Error(`the bench has not dosed within ${HOURS_MOST} h`)
  return { settings: bench.settings, ...bench.found }
}
