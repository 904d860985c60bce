/**
 * `npm run bench -- limits`: the model of other limits against the simulator run again with those limits, same seed.
 * Days, seed and limits may follow: `-- limits 28 2001 stocks.nitrate.dayMaxMl=20`.
 */

import { ELEMENTS } from '../../src/chemistry/element.ts'
import { loadPlant } from '../../src/cli/load-plant.ts'
import type { Configuration } from '../../src/config/configuration.ts'
import { withLimits } from '../../src/config/limit-path.ts'
import { runModel, withoutBottles } from '../../src/reservoir/band-model.ts'
import { reservoirSettings } from '../../src/reservoir/configure-reservoir.ts'
import type { LedgerRecord } from '../../src/reservoir/record.ts'
import { foldRecord } from '../../src/reservoir/recover.ts'
import { initialReservoirState } from '../../src/reservoir/state.ts'
import { runTrial } from '../../src/trial/run-trial.ts'

/** Hardly any potassium nitrate: what its elements do shows within weeks. */
const TRIED = { 'stocks.nitrate.shotMaxMl': 1, 'stocks.nitrate.hourMaxMl': 1, 'stocks.nitrate.dayMaxMl': 4 }

/** Prints in-band shares and litres, simulator beside model, before and after. */
export async function limitsBench(words: readonly string[]): Promise<void> {
  const [days = 28, seed = 2001] = words.filter((word) => !word.includes('=')).map(Number)
  const given = words.filter((word) => word.includes('=')).map((word) => word.split('='))
  const changes = given.length === 0 ? TRIED : Object.fromEntries(given.map(([path, value]) => [path, Number(value)]))
  const { configuration, scenario } = await loadPlant('config/scenarios/quarry-lane.yaml')
  const laboratory = { ...scenario.laboratory, firstDay: 0.3, everyDays: 7, lateDays: 0.3 }
  const tried = { ...configuration, limits: withLimits(configuration.limits, changes) }
  const trial = (by: Configuration) => {
    const records: LedgerRecord[] = []
    const setup = {
      configuration: by,
      scenario: { ...scenario, laboratory },
      controller: 'tarnward' as const,
      days,
      seed,
    }
    const { tally, truth } = runTrial({ ...setup, keep: (record) => records.push(record) }, () => 0)
    const shares = Object.entries(tally.elements).map(([name, one]) => [name, one.inBand / one.hours] as const)
    return { records, shares: Object.fromEntries(shares), topUpL: truth.topUpL }
  }
  const [was, then] = [trial(configuration), trial(tried)]
  const stated = withoutBottles(reservoirSettings(configuration))
  let state = initialReservoirState(stated)
  for (const record of was.records) state = foldRecord(stated, state, record)
  const core = state.core
  if (!core) throw new Error('the trial never started')
  const model = (by: Configuration) => {
    const settings = withoutBottles(reservoirSettings(by))
    const run = runModel({ settings, core, stretches: core.history.stretches, untilMs: core.history.filter.atMs })
    let next = run.next()
    while (!next.done) next = run.next()
    const { inside, hours, makeUpL } = next.value
    return { shares: Object.fromEntries(ELEMENTS.map((name, at) => [name, inside[at]! / hours])), topUpL: makeUpL }
  }
  const [modelWas, modelThen] = [model(configuration), model(tried)]
  console.log(`quarry-lane, seed ${seed}, ${days} days; in band as simulated / by the model`)
  for (const [name, share] of Object.entries(was.shares)) {
    const own = name === 'N' ? 'NO3-N' : name
    const row = [share, modelWas.shares[own], then.shares[name], modelThen.shares[own]].map((one) =>
      (one ?? 0).toFixed(3),
    )
    console.log(`${name.padEnd(3)} as it was ${row[0]} / ${row[1]}   with those limits ${row[2]} / ${row[3]}`)
  }
  console.log(
    `make-up ${was.topUpL.toFixed(0)} / ${modelWas.topUpL.toFixed(0)} L, then ${then.topUpL.toFixed(0)} / ${modelThen.topUpL.toFixed(0)} L`,
  )
}
