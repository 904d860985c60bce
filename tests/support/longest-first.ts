/** The order in which test files begin: what takes longest first, so that no core idles while the last one runs alone. */

import { BaseSequencer, type TestSpecification } from 'vitest/node'

/** By how long they took when they were last timed; `npm test` tells the slowest. The others keep vitest’s own order. */
const LONGEST = [
  'browser/page',
  'browser/tasks',
  'browser/technician',
  'acceptance/full-disk',
  'acceptance/site-on-mosquitto',
  'browser/keyboard',
  'acceptance/hanging-disk',
  'crash/kill',
]

export class LongestFirst extends BaseSequencer {
  override async sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    const others = await super.sort(files)
    return others.toSorted((one, other) => rankOf(one.moduleId) - rankOf(other.moduleId))
  }
}

function rankOf(file: string): number {
  const rank = LONGEST.findIndex((name) => file.endsWith(`/tests/${name}.test.ts`))
  return rank === -1 ? LONGEST.length : rank
}
