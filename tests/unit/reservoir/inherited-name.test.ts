import { beforeAll, describe, expect, it } from 'vitest'
import type { Act, Input, Instruction } from '../../../src/reservoir/input.ts'
import { LoopBench, NODE } from '../../support/loop/bench.ts'
import { quarryLane } from '../../support/loop/site.ts'

let bench: LoopBench
beforeAll(async () => {
  bench = new LoopBench(await quarryLane('automatic'))
  bench.start()
  bench.minutes(2)
})

const NAMES = ['constructor', 'valueOf', '__proto__', 'toString'] as const

/** Everything that people and nodes can name, named like what every object inherits. */
function inputsNaming(name: string): readonly Input[] {
  const atMs = bench.nowMs
  const doneAtMs = atMs - 60_000
  const acts: readonly Act[] = [
    { act: 'salt-added', doneAtMs, salt: name, massG: 5 },
    { act: 'stock-refilled', doneAtMs, stock: name, volumeMl: 1000 },
    { act: 'bottle-weighed', doneAtMs, stock: name, massG: 1000 },
    { act: 'transplanted', doneAtMs, crop: name, plants: 3, cohort: name },
    { act: 'harvested', doneAtMs, cohort: name },
    { act: 'changed', doneAtMs, drainedL: 5, filledL: 5, fill: { [name]: 3 } },
  ]
  const instructions: readonly Instruction[] = [
    { instruction: 'limit', limit: `stocks.${name}.shotMaxMl`, value: 3 },
    { instruction: 'limit', limit: name, value: 3 },
    { instruction: 'acknowledge', alarm: name },
    { instruction: 'approve', planId: name },
  ]
  const boot = 'b-1'
  const uptimeMs = 1000
  return [
    ...acts.map((act): Input => ({ kind: 'act', atMs, by: 'Ines', act })),
    ...instructions.map((instruction): Input => ({ kind: 'instruction', atMs, by: 'Ines', reason: 'x', instruction })),
    { kind: 'heartbeat', atMs, node: name, heartbeat: { boot, uptimeMs, term: 1, pumps: [] } },
    { kind: 'scan', atMs, node: name, scan: { boot, uptimeMs, readings: [{ id: name, value: 1, unit: 'mS/cm' }] } },
    { kind: 'scan', atMs, node: NODE, scan: { boot, uptimeMs, readings: [{ id: name, value: 1, unit: 'mS/cm' }] } },
    {
      ...{ kind: 'pump-report', atMs, node: NODE, pump: name },
      report: { id: name, boot, uptimeMs, state: 'done', ranMs: 5, totalRunMs: 5 },
    },
    { kind: 'node-status', atMs, node: name, status: { contract: 1, online: true, boot, pumps: [], probes: [] } },
    { kind: 'tick', atMs },
  ]
}

describe.each(NAMES)('a thing that is named "%s"', (name) => {
  it('is one that is not there, whoever names it: nothing is thrown, and a salt of that name is refused in words', () => {
    for (const input of inputsNaming(name)) {
      const effects = bench.give(input)
      if (input.kind === 'act' && input.act.act === 'salt-added')
        expect(JSON.stringify(effects)).toContain(`no salt \\"${name}\\" on the shelf`)
    }
    expect(bench.state.core?.history.filter.mean.every(Number.isFinite)).toBe(true)
  })
})
