/**
 * A large number of random wishes through the gate and through the model that was written blind. Prints how often each
 * row refused, alone and at all, and every difference with its seed, as soon as it is found. One site is played again by
 * its seed and a single wish.
 *
 *   npm run campaign -- gate 10000000 [first seed]
 *   npm run campaign -- gate 1 10000578
 */

import { askMany, type Tally, tellDifference } from './blind-model/compare.ts'

const [wishes, first] = [Number(process.argv[2] ?? 10_000_000), Number(process.argv[3] ?? 1)]
const TOLD_EVERY = 1_000_000

let told = 0
let nextTold = TOLD_EVERY
function show({ asked, differences }: Tally, seed: number): void {
  for (const difference of differences.slice(told)) console.log(tellDifference(difference))
  told = differences.length
  if (asked < nextTold) return
  console.log(`${asked} wishes up to seed ${seed}, ${told} differences`)
  nextTold += TOLD_EVERY
}

const began = performance.now()
const tally = askMany(first, wishes, 20, show)
console.log(tally.table())
console.log(`${tally.differences.length} differences, ${((performance.now() - began) / 1000).toFixed(0)} s`)
if (tally.differences.length > 0) process.exitCode = 1
