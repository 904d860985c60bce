/**
 * `npm run bench -- limits`: the model of other limits against the simulator run again with those limits, same seed.
 * Days, seed and limits may follow: `-- limits 28 2001 stocks.nitrate.dayMaxMl=20`.
 */

import { type Compared, limitsAgain, loadQuarryLane } from '../support/limits-again.ts'

/** Hardly any potassium nitrate: what its elements do shows within weeks. */
const TRIED = { 'stocks.nitrate.shotMaxMl': 1, 'stocks.nitrate.hourMaxMl': 1, 'stocks.nitrate.dayMaxMl': 4 }

/** Prints in-band shares and litres, simulator beside model, before and after. */
export async function limitsBench(words: readonly string[]): Promise<void> {
  const [days = 28, seed = 2001] = words.filter((word) => !word.includes('=')).map(Number)
  const given = words.filter((word) => word.includes('=')).map((word) => word.split('='))
  const changes = given.length === 0 ? TRIED : Object.fromEntries(given.map(([path, value]) => [path, Number(value)]))
  const { was, wouldBe } = limitsAgain(await loadQuarryLane(), { days, seed, changes })
  console.log(`quarry-lane, seed ${seed}, ${days} days; in band as simulated / by the model (nine of ten truths)`)
  for (const [at, one] of was.elements.entries()) {
    console.log(`${one.name.padEnd(3)} as it was ${tell(one)}   with those limits ${tell(wouldBe.elements[at]!)}`)
  }
  const litres = [was, wouldBe].map(({ simulatedL, modelL }) => `${simulatedL.toFixed(0)} / ${modelL.toFixed(0)} L`)
  console.log(`make-up ${litres.join(', then ')}`)
}

function tell({ simulated, model }: Compared): string {
  const [said, share, low, high] = [simulated, model.share, model.low90, model.high90].map((one) => one.toFixed(3))
  return `${said} / ${share} (${low} to ${high})`
}
