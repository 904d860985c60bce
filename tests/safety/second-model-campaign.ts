/**
 * The long comparison of gate and second model: `nice npx tsx tests/safety/second-model-campaign.ts [wishes] [seed]`.
 * Prints what was asked, which rules refused alone, and every difference made as short as it gets.
 */

import { SETTLED } from './second-model/answers.ts'
import { campaign } from './second-model/compare.ts'
import { minimise } from './second-model/minimise.ts'

const wishes = Number(process.argv[2] ?? 10_000_000)
const seed = Number(process.argv[3] ?? 1)
const begun = performance.now()
const tally = campaign(seed, wishes)
const seconds = ((performance.now() - begun) / 1000).toFixed(1)

console.log(`${tally.asked} wishes in ${tally.sequences} sequences with ${tally.shots} shots, ${seconds} s`)
console.log(`${tally.judged} of these asked of judge itself, the others of its rows`)
console.log(`${tally.permitted} permitted; refused by one rule alone:`)
for (const [rule, count] of [...tally.alone].sort((a, b) => b[1] - a[1])) console.log(`  ${rule} ${count}`)
console.log(`${tally.differences.size} kinds of difference`)
const found = [...tally.differences.values()].sort((a, b) => b.count - a.count)
for (const { count, first } of found.slice(0, 12)) {
  console.log(`\n${first.why} (${count} times, seed ${first.seed})`)
  console.log(`  asked at ${first.atMs}: ${first.wish.volumeUl} uL of ${first.wish.stock} for ${first.wish.planId}`)
  for (const event of minimise(first, SETTLED)) console.log(`  ${JSON.stringify(event)}`)
}
if (found.length > 0) process.exitCode = 1
