import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import type { Limits } from '../../src/safety/limits.ts'
import { LIMITS, MINUTE, readyBench } from './bench.ts'
import { campaign } from './second-model/compare.ts'
import { VARIANTS } from './second-model/variants.ts'

/** `npm run campaign -- second 10000000` asks more; this many take about half a minute. */
const WISHES = 200_000

/** For each wrong model a seed that shows it; `npx tsx tests/safety/second-model-campaign.ts edges` finds them anew. */
const SEEDS: Readonly<Record<string, number | null>> = JSON.parse(
  readFileSync(new URL('./second-model/seeds.json', import.meta.url), 'utf8'),
)

describe('the dosing gate and a second model of it, which recomputes all from what was told', () => {
  it('answer two hundred thousand wishes alike', { timeout: 300_000 }, () => {
    const tally = campaign(1, WISHES)
    const told = [...tally.differences.values()].map(({ count, first }) => `${first.why}: ${count}, seed ${first.seed}`)
    expect(told).toEqual([])
    expect(tally.asked).toBeGreaterThanOrEqual(WISHES)
    expect(tally.permitted).toBeGreaterThan(WISHES / 20)
    expect(tally.judged).toBeGreaterThan(WISHES / 50)
  })

  it.each(Object.keys(VARIANTS))('would differ if the gate were too lax by the least: %s', (name) => {
    const { differences } = campaign(SEEDS[name] ?? Number.NaN, 1, VARIANTS[name])
    expect([...differences.keys()].filter((why) => why.startsWith('laxer'))).not.toEqual([])
  })
})

describe('what the second model found in the gate', () => {
  it('no pump is started while a shot from before a restart is not settled, however long ago its last moment was', () => {
    // Where the flow need not be steady first, nothing else holds the dosing back that long after a start.
    const bench = readyBench({ ...LIMITS, flowSteadyMs: 0 })
    const shot = bench.mustWish('calcium', 10_000)
    bench.edge({ edge: 'command-sent', commandId: shot.id })
    const judgedAtMs = bench.atMs
    bench.start(2)
    bench.pass(MINUTE / 2)
    bench.status()
    bench.beat()
    expect(bench.refusals('nitrate')).toEqual(['one-at-a-time', 'settled-since-start'])
    // 60 s in which it may start and the 20 s of its run.
    bench.atMs = judgedAtMs + 80_000
    bench.scan()
    expect(bench.refusals('nitrate')).toEqual(['one-at-a-time', 'settled-since-start'])
    bench.atMs += 1
    expect(bench.refusals('nitrate')).toEqual(['settled-since-start'])
    expect(bench.refusals('calcium')).toContain('pump-settled')
  })

  it.each([Number.NaN, 0, -1, Number.POSITIVE_INFINITY])(
    'nothing is dosed where the time in which a command may start is %d, since no node could obey it',
    (startWindowMs) => {
      expect(readyBench({ ...LIMITS, startWindowMs }).refusals('nitrate')).toEqual(['limits-complete'])
    },
  )

  it.each([-1, Number.NEGATIVE_INFINITY])(
    'a wait between two stocks of %d ms stops both, whoever declares it',
    (ms) => {
      const stocks: Limits['stocks'] = LIMITS.stocks.map((entry) => ({
        ...entry,
        apart: entry.stock === 'calcium' ? [{ from: 'phosphate', ms }] : [],
      }))
      const bench = readyBench({ ...LIMITS, stocks })
      expect(bench.refusals('calcium')).toEqual(['limits-complete'])
      expect(bench.refusals('phosphate')).toEqual(['limits-complete'])
      expect(bench.refusals('nitrate')).toEqual([])
    },
  )
})
