import { describe, expect, it } from 'vitest'
import { recover } from '../../../src/reservoir/recover.ts'
import { initialReservoirState } from '../../../src/reservoir/state.ts'
import { LoopBench, recordsOf } from '../../support/loop/bench.ts'
import { quarryLane } from '../../support/loop/site.ts'

describe('an approved ration', () => {
  it('is on record with who and why, and is there again after a restart from records alone', async () => {
    const configuration = await quarryLane('automatic')
    const stocks = { nitrate: { mlPerL: 6, dayMaxMl: 120 } }
    const covers = ['conductivity' as const]
    const ration = { reason: 'seedlings', covers, daysMost: 2, makeUpMaxLPerMin: 4, stocks }
    const bench = new LoopBench({ ...configuration, limits: { ...configuration.limits, ration } })
    bench.start()
    bench.minutes(5)
    bench.instruct({ instruction: 'ration', decision: 'approve' }, 'away until Monday')
    bench.shown['ec-1'] = undefined
    for (let minute = 0; minute < 60; minute++) {
      bench.shown['meter-1'] = bench.shown['meter-1']! + 0.02
      bench.minutes(1)
    }
    const since = recordsOf(bench.log)
    expect(since).toContainEqual(
      expect.objectContaining({
        kind: 'instructed',
        by: 'Ines',
        instruction: { instruction: 'ration', decision: 'approve' },
      }),
    )
    expect(since).toContainEqual(expect.objectContaining({ kind: 'judged', verdict: 'permit', purpose: 'ration' }))
    const recovery = { snapshot: initialReservoirState(bench.settings), since, deliveries: since }
    expect(recover(bench.settings, recovery, bench.nowMs).safety.ration).toEqual(bench.state.safety.ration)
    expect(bench.state.safety.ration).toMatchObject({ by: 'Ines' })
  })
})
