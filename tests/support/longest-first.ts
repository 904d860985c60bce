/** The order in which test files begin: what takes longest first, so that no core idles while the last one runs alone. */

import { BaseSequencer, type TestSpecification } from 'vitest/node'

/** By how long they took when they were last timed; `npm test` tells the slowest. The others keep vitest’s own order. */
const LONGEST = [
  ...['browser/goals', 'browser/page', 'browser/technician', 'browser/tasks'],
  ...['acceptance/site-on-mosquitto', 'acceptance/full-disk', 'acceptance/clock-steps', 'crash/kill'],
  ...['acceptance/demo', 'edge/init', 'acceptance/site-on-serial', 'acceptance/second-daemon'],
  ...['crash/dies-before', 'acceptance/second-plant', 'crash/dies-after', 'acceptance/bad-input'],
  ...['safety/blind-model', 'safety/blind-model-more', 'core/diagnosis/diagnosis', 'simulation/alarm-rate'],
]

export class LongestFirst extends BaseSequencer {
  override async sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    const others = await super.sort(files)
    return others.toSorted((one, other) => rankOf(one.moduleId) - rankOf(other.moduleId))
  }
}

function rankOf(file: string): number {
  const rank = LONGEST.findIndex((name) => file.endsWith(`/${name}.test.ts`))
  return rank === -1 ? LONGEST.length : rank
}
