import { describe, expect, it } from 'vitest'
import type { Limits } from '../../src/safety/limits.ts'
import { onHeartbeat } from '../../src/safety/on-heartbeat.ts'
import { initialSafetyState, nodeNamed, withNode, withPump } from '../../src/safety/state.ts'
import { Bench, DAY, LIMITS, MINUTE, readyBench } from './bench.ts'

const UNHEARD = {
  ...{ online: false, contractKnown: false, boot: null, pastBoots: [], heartbeat: null, pumps: {} },
  lease: { allowed: false, why: 'not started' },
}

describe('a site that was never started', () => {
  it('knows the mode of its limits and its nodes, and nothing else', () => {
    expect(initialSafetyState(LIMITS)).toEqual({
      ...{ started: false, controller: null, term: null, mode: 'automatic', held: null, trips: [], sanitise: null },
      ...{ switchHeld: null, approved: null, ration: null, readings: {}, nodes: { bench: UNHEARD }, ratesUlPerS: {} },
      ...{ linkUp: true, diskWritable: true, clockSane: true, book: { commands: [], stocks: {} }, bottles: {} },
      ...{ makeUp: { last: null, sumL: 0, marks: [] }, effectBins: [], effectQuietUntilMs: 0, effects: {} },
    })
    expect(initialSafetyState({ ...LIMITS, mode: 'observe' }).mode).toBe('observe')
  })

  it('has its nodes in the order of their names, of probes and of stocks', () => {
    const [probe, ...probes] = LIMITS.probes
    const [stock, ...stocks] = LIMITS.stocks
    const limits: Limits = {
      ...LIMITS,
      probes: [{ ...probe!, node: 'shed' }, ...probes],
      stocks: [{ ...stock!, node: 'attic' }, ...stocks],
    }
    expect(Object.keys(initialSafetyState(limits).nodes)).toEqual(['attic', 'bench', 'shed'])
  })

  it('counts a hold switch that was never read as held', () => {
    const holdSwitch = { id: 'switch-1', node: 'bench', role: 'hold-switch', min: 0, max: 1 } as const
    expect(initialSafetyState({ ...LIMITS, probes: [holdSwitch] }).switchHeld).not.toBeNull()
  })

  it('doses nothing', () => {
    expect(new Bench().refusals('nitrate')).toEqual(
      expect.arrayContaining(['started', 'node-online', 'contract-known']),
    )
  })
})

describe('a node', () => {
  it('that the limits do not name is none, whatever every object has by that name, and cannot change', () => {
    const state = initialSafetyState(LIMITS)
    for (const name of ['shed', 'constructor', 'toString']) {
      expect(nodeNamed(state, name)).toBeUndefined()
      const why = `node ${name} is not in the limits, so it cannot change`
      expect(() => withNode(state, name, { online: true })).toThrow(why)
      expect(() => withPump(state, name, 'pump-1', {})).toThrow(why)
    }
  })

  it('that tells of a pump for the first time tells its totals, and nothing else of it is known', () => {
    const bench = new Bench()
    bench.start()
    const pumps = [{ id: 'pump-3', totalRunMs: 700, doubtMs: 30 }]
    const heartbeat = { boot: 'boot-1', uptimeMs: 5, term: 1, pumps }
    bench.take(onHeartbeat(bench.limits, bench.state, { atMs: bench.atMs, node: 'bench', heartbeat }))
    expect(bench.state.nodes['bench']?.pumps).toEqual({
      'pump-3': {
        ...{ maxRunMs: null, group: null, totalRunMs: 700, doubtMs: 30, boot: 'boot-1', uptimeMs: 5, runningId: null },
        heard: { boot: 'boot-1', totalRunMs: 700, doubtMs: 30 },
      },
    })
    expect(withPump(initialSafetyState(LIMITS), 'bench', 'pump-9', {}).nodes['bench']?.pumps).toEqual({
      'pump-9': {
        ...{ maxRunMs: null, group: null, totalRunMs: null, doubtMs: null, boot: null, uptimeMs: 0, runningId: null },
        heard: null,
      },
    })
  })
})

describe('a permitted command', () => {
  it('keeps that it was for a person, and does not call a plan’s shot or a ration one', () => {
    const entry = { calibration: { runMaxUl: 5000, dayMaxUl: 9000 } }
    const bench = readyBench({
      ...LIMITS,
      stocks: LIMITS.stocks.map((stock) => (stock.stock === 'nitrate' ? { ...stock, ...entry } : stock)),
      meter: { id: 'meter-1', node: 'bench', maxLPerMin: 4 },
      ration: {
        ...{ reason: 'a crop starves', covers: ['estimator'], lastsMs: DAY },
        stocks: [{ stock: 'nitrate', ulPerL: 2000, dayMaxUl: 9000 }],
      },
    })
    const openOf = () => bench.ask('nitrate', 100).state.book.commands[0]
    expect(openOf()).toMatchObject({ stock: 'nitrate' })
    expect(openOf()).not.toHaveProperty('purpose')
    bench.instruct({ instruction: 'ration', decision: 'approve' })
    bench.meter(100)
    bench.pass(10 * MINUTE)
    bench.meter(101)
    bench.purpose = 'ration'
    expect(openOf()).toMatchObject({ stock: 'nitrate' })
    expect(openOf()).not.toHaveProperty('purpose')
    bench.instruct({ instruction: 'mode', mode: 'observe' })
    bench.purpose = 'calibration'
    expect(openOf()).toMatchObject({ stock: 'nitrate', purpose: 'calibration' })
  })
})
