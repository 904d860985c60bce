import { readFileSync } from 'node:fs'
import { fileURLToPath } from 'node:url'
import { describe, expect, it } from 'vitest'
import { createWorld } from '../../../simulator/world.ts'
import { bottleMinute, writeReport } from '../../../src/cli/demo-laboratory.ts'
import { loadPlant } from '../../../src/cli/load-plant.ts'
import { readUpload } from '../../../src/shell/laboratory-upload.ts'
import { scratchFolder } from '../ledger/scratch.ts'

const SCENARIO = fileURLToPath(new URL('../../../config/scenarios/quarry-lane.yaml', import.meta.url))
const MINUTE_MS = 60_000
const URL_OF_PAGE = 'http://127.0.0.1:8420'

async function world() {
  const { scenario } = await loadPlant(SCENARIO)
  return createWorld(scenario, 1)
}

describe('the report of the demo', () => {
  it('is of a bottle filled days ago, and its file is one that the daemon reads and believes', async () => {
    const bench = await world()
    const minute = bottleMinute(bench, 14)!
    bench.advanceTo(bench.startMs + minute * MINUTE_MS)
    const { mgPerL } = bench.truth()
    bench.sample(bench.startMs + minute * MINUTE_MS)
    bench.advanceTo(bench.startMs + 14 * 86_400_000)
    const command = await writeReport(bench, scratchFolder(), URL_OF_PAGE)
    const [, file = '', sampledAt = ''] = /lab add (\S+) --sampled-at (\S+) --url http/.exec(command!) ?? []
    expect(sampledAt).toBe('2026-03-10T08:00:00.000Z')
    const text = readFileSync(file, 'utf8')
    const read = readUpload({ fileName: file, text, sampledAtMs: Date.parse(sampledAt), by: 'test', isAccepted: false })
    if (read.kind !== 'result') throw new Error(JSON.stringify(read))
    const potassium = read.result.values.find(({ element }) => element === 'K') as { mgPerL: number }
    // Four deviations of the simulated laboratory: 4 % of the method, 1.5 % of the bottle.
    expect(Math.abs(potassium.mgPerL / mgPerL['K']! - 1)).toBeLessThan(4 * Math.hypot(0.04, 0.015))
  })

  it('does not come where the bench has not lived long enough', async () => {
    const bench = await world()
    expect(bottleMinute(bench, 5)).toBeUndefined()
    expect(await writeReport(bench, scratchFolder(), URL_OF_PAGE)).toBeUndefined()
  })
})
