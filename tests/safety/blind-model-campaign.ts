/**
 * A large number of random wishes through the gate and through the model that was written blind. Prints how often each
 * row refused, alone and at all, and every difference with its seed.
 *
 *   npm run campaign -- gate 10000000
 *   nice node --import tsx tests/safety/blind-model-campaign.ts [wishes] [first seed]
 */

import { askMany, tellDifference } from './blind-model/compare.ts'

const [wishes, first] = [Number(process.argv[2] ?? 10_000_000), Number(process.argv[3] ?? 1)]
const began = performance.now()
const tally = askMany(first, wishes, 20)
console.log(tally.table())
for (const difference of tally.differences) console.log(tellDifference(difference))
console.log(`${tally.differences.length} differences, ${((performance.now() - began) / 1000).toFixed(0)} s`)
if (tally.differences.length > 0) process.exitCode = 1
