/** A thousand wishes through gate and the model that was written blind: what a mutant of the gate that no other test sees must face. */

import { expect, it } from 'vitest'
import { askMany, tellDifference } from '../safety/blind-model/compare.ts'

const WISHES = 1000

it('gate and blind model answer a thousand wishes alike', () => {
  const { differences } = askMany(1, WISHES, 1)
  expect(differences.map(tellDifference)).toEqual([])
})
