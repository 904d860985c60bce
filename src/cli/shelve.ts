/** `tarnward shelve`: an alarm put aside until a time. */

import { createRealClock } from '../shell/clock.ts'
import { CommandFailure } from './command-failure.ts'
import { durationMs } from './foreground.ts'
import { type InstructOptions, instruct } from './instruct.ts'

/** @throws CommandFailure where the time cannot be read or the daemon refuses it */
export async function shelve(alarm: string, options: InstructOptions & { readonly for: string }): Promise<void> {
  const lengthMs = durationMs(options.for)
  if (lengthMs === undefined) throw new CommandFailure('usage', '--for says how long, e.g. 30m or 2h')
  await instruct({ instruction: 'shelve', alarm, untilMs: createRealClock().wallMs() + lengthMs }, options)
}
