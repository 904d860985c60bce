/** A few thousand wishes through gate and second model: what a mutant of the gate that no other test sees must face. */

import { expect, it } from 'vitest'
import { campaign } from '../safety/second-model/compare.ts'

const WISHES = 4000

it('gate and second model answer a few thousand wishes alike', () => {
  const { differences } = campaign(1, WISHES, {}, (tally) => tally.differences.size > 0)
  expect([...differences.keys()]).toEqual([])
})
