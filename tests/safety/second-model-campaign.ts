/**
 * The long comparison of gate and second model. Prints what was asked, which rules refused alone, and every difference
 * made as short as it gets.
 *
 *   nice npx tsx tests/safety/second-model-campaign.ts [wishes] [seed]
 *   nice npx tsx tests/safety/second-model-campaign.ts edges      writes second-model/seeds.json anew
 */

import { writeFileSync } from 'node:fs'
import { SETTLED } from './second-model/answers.ts'
import { campaign } from './second-model/compare.ts'
import { minimise } from './second-model/minimise.ts'
import { firstSeedOf, VARIANTS } from './second-model/variants.ts'

if (process.argv[2] === 'edges') writeSeeds()
else compare(Number(process.argv[2] ?? 10_000_000), Number(process.argv[3] ?? 1))

function compare(wishes: number, seed: number): void {
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
}

function writeSeeds(): void {
  const seeds = Object.entries(VARIANTS).map(([name, model]) => [name, firstSeedOf(model, 5_000_000)])
  const text = `${JSON.stringify(Object.fromEntries(seeds), null, 2)}\n`
  writeFileSync(new URL('./second-model/seeds.json', import.meta.url), text)
  console.log(text)
}
