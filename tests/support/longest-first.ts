/** The order in which test files begin: what takes longest first, so that no core idles while the last one runs alone. */

import { BaseSequencer, type TestSpecification } from 'vitest/node'

/** By how long they took when they were last timed; `npm test` tells the slowest. The others keep vitest’s own order. */
const LONGEST = [
  // two that drive a browser beside one that mostly waits
  ...['browser/page', 'browser/goals', 'acceptance/full-disk', 'acceptance/site-on-mosquitto'],
  ...['browser/technician', 'acceptance/clock-steps', 'browser/tasks', 'crash/kill', 'acceptance/demo'],
  ...['acceptance/second-plant-on-mosquitto', 'acceptance/second-daemon', 'acceptance/hanging-disk'],
  ...['acceptance/ledger-backup', 'browser/keyboard', 'edge/init', 'acceptance/site-on-serial'],
  ...['crash/dies-before', 'crash/dies-after', 'safety/blind-model', 'safety/blind-model-more'],
  ...['core/diagnosis/diagnosis', 'acceptance/bad-input', 'simulation/band-model', 'simulation/alarm-rate'],
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
