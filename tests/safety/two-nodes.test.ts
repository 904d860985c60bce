import { describe, expect, it } from 'vitest'
import type { Limits } from '../../src/safety/limits.ts'
import { onHeartbeat } from '../../src/safety/on-heartbeat.ts'
import { onNodeStatus } from '../../src/safety/on-node-status.ts'
import { onReadings } from '../../src/safety/on-readings.ts'
import { onReport } from '../../src/safety/on-report.ts'
import { initialSafetyState } from '../../src/safety/state.ts'
import { type Bench, LIMITS, MINUTE, readyBench, SECOND } from './bench.ts'

/** A second node that calls its pumps as the first does: nitrate is at pump-1 of the shed, calcium at pump-1 of the bench. */
const LIMITS_OF_TWO: Limits = {
  ...LIMITS,
  stocks: LIMITS.stocks.map((entry) =>
    entry.stock === 'nitrate' ? { ...entry, node: 'shed', pump: 'pump-1' } : entry,
  ),
  meter: { id: 'meter-1', node: 'bench', maxLPerMin: 5 },
}

function shedBeats(bench: Bench, totalRunMs = 500, id = 'pump-1') {
  const pumps = [{ id, totalRunMs, doubtMs: 0 }]
  const heartbeat = { boot: 'shed-1', uptimeMs: bench.uptimeMs, term: bench.term, pumps }
  return bench.take(onHeartbeat(bench.limits, bench.state, { atMs: bench.atMs, node: 'shed', heartbeat }))
}

function twoNodes(): Bench {
  const bench = readyBench(LIMITS_OF_TWO)
  const pumps = [{ id: 'pump-1', maxRunMs: 120_000 }]
  const status = { contract: 1, online: true, boot: 'shed-1', pumps }
  bench.take(onNodeStatus(bench.limits, bench.state, { atMs: bench.atMs, node: 'shed', status }))
  shedBeats(bench)
  return bench
}

describe('two nodes whose pumps have the same name', () => {
  it('dose at the same time, each its own shot', () => {
    const bench = twoNodes()
    bench.mustWish('calcium', 1000)
    expect(bench.refusals('nitrate')).toEqual([])
    expect(bench.refusals('acid')).toContain('one-at-a-time')
    expect(bench.refusals('calcium')).toContain('pump-settled')
  })

  it('settle each its own shot by heartbeat, and neither the other’s', () => {
    const bench = twoNodes()
    const shot = bench.mustWish('nitrate', 1000)
    bench.atMs += 61 * SECOND
    bench.beat()
    expect(bench.state.book.commands).toMatchObject([{ commandId: shot.id }])
    expect(shedBeats(bench, 2500)).toMatchObject([{ commandId: shot.id, stock: 'nitrate', delivered: { lowUl: 1000 } }])
  })

  it('trip for what each ran alone while the other’s shot is on its way, counted for its own stock', () => {
    const bench = twoNodes()
    bench.mustWish('nitrate', 1000)
    bench.run('pump-1', 3000)
    bench.atMs += SECOND
    expect(bench.beat()).toMatchObject([{ stock: 'calcium', outcome: 'done' }, { kind: 'tripped' }, {}, {}])
    expect(bench.state.trips[0]).toMatchObject({ subject: 'bench/pump-1' })
    expect(bench.state.trips[0]?.why).toContain('pump-1 (calcium) on bench ran 3 s')
    // what was counted is known from now on, and is not found twice
    bench.atMs += SECOND
    expect(bench.beat()).toEqual([])
  })

  it('draw each on its own stock for what it ran alone', () => {
    const bench = twoNodes()
    bench.atMs += SECOND
    expect(shedBeats(bench, 2500)).toMatchObject([{ stock: 'nitrate', delivered: { highUl: 1000 } }, {}, {}, {}])
    expect(bench.state.trips[0]?.why).toContain('pump-1 (nitrate) on shed ran 2 s')
  })

  it('do not believe each other’s reports', () => {
    const bench = twoNodes()
    const shot = bench.mustWish('calcium', 1000)
    const { state, atMs, boot, uptimeMs } = bench
    const report = { id: shot.id, boot, uptimeMs, state: 'done' as const, ranMs: 2000, totalRunMs: 3000 }
    expect(onReport(bench.limits, state, { atMs, node: 'shed', pump: 'pump-1', report }).state).toBe(state)
    expect(onReport(bench.limits, state, { atMs, node: 'bench', pump: 'pump-1', report }).state).not.toBe(state)
  })

  it('have the make-up water of their meter alone: no other counter, node or role', () => {
    const bench = twoNodes()
    const read = (node: string, id: string, role: 'top-up' | 'level') => {
      const readings = [{ id, role, value: 100, quality: 'good' as const }]
      return onReadings(bench.limits, bench.state, { atMs: bench.atMs, node, readings }).state.makeUp
    }
    const { makeUp } = bench.state
    expect(read('shed', 'meter-1', 'top-up')).toBe(makeUp)
    expect(read('bench', 'meter-2', 'top-up')).toBe(makeUp)
    expect(read('bench', 'meter-1', 'level')).toBe(makeUp)
    expect(read('bench', 'meter-1', 'top-up')).toMatchObject({ last: { counterL: 100, atMs: bench.atMs } })
  })
})

describe('a pump that no limit names', () => {
  it('trips when it runs, by its name alone, and draws on no stock', () => {
    const bench = twoNodes()
    bench.pumps['pump-9'] = { totalRunMs: 7, doubtMs: 0 }
    bench.atMs += SECOND
    expect(bench.beat()).toEqual([])
    bench.run('pump-9', 2000)
    bench.atMs += SECOND
    expect(bench.beat()).toMatchObject([{ kind: 'tripped', trip: 'pump-ran-alone' }, {}, {}])
    expect(bench.state.trips[0]?.why).toMatch(/^pump-9 on bench ran 2 s without a command;/)
    expect(bench.state.book.stocks).toEqual({})
  })
})

describe('a shot of a node that the limits no longer name', () => {
  /** The site gave up its shed, and a shot of it is still in the book. */
  function given(): { bench: Bench; report: (totalRunMs: number) => ReturnType<typeof onReport> } {
    const bench = twoNodes()
    const shot = bench.mustWish('nitrate', 1000)
    const { book } = bench.state
    bench.limits = LIMITS
    bench.state = { ...initialSafetyState(LIMITS), book }
    const report = (totalRunMs: number) =>
      onReport(LIMITS, bench.state, {
        ...{ atMs: bench.atMs, node: 'shed', pump: 'pump-1' },
        report: { id: shot.id, boot: shot.boot, uptimeMs: 1, state: 'done', ranMs: 2000, totalRunMs },
      })
    return { bench, report }
  }

  it('is settled by its report, and what else the report says is of no node', () => {
    const { bench, report } = given()
    const { state, happenings } = report(2500)
    expect(happenings).toMatchObject([{ kind: 'settled', outcome: 'done', delivered: { lowUl: 1000, highUl: 1000 } }])
    expect(state.book.commands).toEqual([])
    expect(state.nodes).toEqual(bench.state.nodes)
  })

  it('trips where the count is below what it was before', () => {
    expect(given().report(499).happenings).toMatchObject([
      { kind: 'settled', delivered: { lowUl: 0, highUl: 1000 } },
      { kind: 'tripped', trip: 'totaliser-fell' },
    ])
  })
})

describe('a command of a node that is on its way', () => {
  it('keeps the other pumps still while it is open, though its last moment is past', () => {
    const bench = readyBench()
    bench.mustWish('nitrate', 1000)
    bench.atMs += 10 * MINUTE
    expect(bench.refusals('acid')).toContain('one-at-a-time')
  })

  it('and once it is unknown, to its last moment and not a millisecond longer', () => {
    const bench = readyBench()
    const shot = bench.mustWish('nitrate', 1000)
    const lastMs = bench.atMs + LIMITS.startWindowMs + shot.runMs
    bench.start(2)
    bench.atMs = lastMs
    expect(bench.refusals('acid')).toContain('one-at-a-time')
    expect(bench.ask('acid', 1000).verdict.figures).toMatchObject({ openOfNode: shot.id, openOfPump: null })
    bench.atMs += 1
    expect(bench.refusals('acid')).not.toContain('one-at-a-time')
  })

  it('of one stock says nothing of when another ran', () => {
    const bench = readyBench()
    bench.mustWish('nitrate', 1000)
    expect(bench.refusals('acid')).not.toContain('gap-kept')
    expect(bench.ask('acid', 1000).verdict.figures).toMatchObject({ sinceShotMs: null })
  })
})
