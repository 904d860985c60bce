import { describe, expect, it } from 'vitest'
import { adoptBoot } from '../../src/safety/node-boot.ts'
import { nodeFacts } from '../../src/safety/node-facts.ts'
import { onHeartbeat } from '../../src/safety/on-heartbeat.ts'
import { type NodeStatus, onNodeStatus } from '../../src/safety/on-node-status.ts'
import { onReadings } from '../../src/safety/on-readings.ts'
import { LIMITS, MINUTE, readyBench, SECOND } from './bench.ts'

describe('a node', () => {
  it('tells a new boot once, whether by status or by heartbeat', () => {
    const bench = readyBench()
    bench.reboot('boot-2')
    expect(bench.status()).toContainEqual({ kind: 'node-boot', node: 'bench', boot: 'boot-2' })
    expect(bench.beat()).toEqual([])
    bench.reboot('boot-3')
    expect(bench.beat()).toContainEqual({ kind: 'node-boot', node: 'bench', boot: 'boot-3' })
  })

  it('on a new boot is as unknown as at its first: its contract, its clock and its pumps must be heard anew', () => {
    const bench = readyBench()
    expect(bench.state.nodes['bench']?.pastBoots).toEqual([])
    const { bench: node } = adoptBoot(bench.state, 'bench', 'boot-2').state.nodes
    expect(node).toMatchObject({ online: false, contractKnown: false, heartbeat: null, pastBoots: ['boot-1'] })
    expect(node?.pumps['pump-1']).toMatchObject({ maxRunMs: null, group: null, runningId: null })
  })

  it('that starts over and over is remembered for its last thousand boots', () => {
    let { state } = readyBench()
    for (let boot = 2; boot <= 1002; boot += 1) state = adoptBoot(state, 'bench', `boot-${boot}`).state
    const { pastBoots } = state.nodes['bench']!
    expect([pastBoots.length, pastBoots[0], pastBoots.at(-1)]).toEqual([1000, 'boot-1001', 'boot-2'])
  })

  it('is not made absent by the late will of an old boot', () => {
    const bench = readyBench()
    bench.reboot('boot-2')
    bench.status()
    bench.beat()
    bench.status(false, 'boot-1')
    expect(bench.refusals('nitrate')).toEqual([])
  })

  it('is not taken back to an old boot by a retained message or a late heartbeat', () => {
    const bench = readyBench()
    bench.reboot('boot-2')
    bench.status()
    bench.beat()
    const { state } = bench
    bench.status(true, 'boot-1')
    bench.boot = 'boot-1'
    bench.beat()
    expect(bench.state).toBe(state)
  })

  it('is not dosed on a new boot until its clock is heard', () => {
    const bench = readyBench()
    bench.reboot('boot-2')
    bench.status()
    expect(bench.refusals('nitrate')).toEqual(['heartbeat-fresh', 'term-ours'])
    bench.beat()
    expect(bench.refusals('nitrate')).toEqual([])
  })

  it('has its clock taken from the newest heartbeat, not from one that comes late', () => {
    const bench = readyBench()
    const { state } = bench
    bench.bootedAtMs += MINUTE
    bench.beat()
    expect(bench.state).toBe(state)
  })

  it('gets a deadline on its own clock: one start window from now, in its uptime', () => {
    const bench = readyBench()
    bench.atMs += 40 * SECOND
    const shot = bench.mustWish('nitrate', 1000)
    expect(shot.startBeforeUptimeMs).toBe(bench.uptimeMs + 60 * SECOND)
  })

  it('is not made absent by the will of a boot that nobody has heard of', () => {
    const bench = readyBench()
    const { state } = bench
    bench.status(false, 'boot-9')
    expect(bench.state).toBe(state)
  })

  it('tells of each pump its longest run and its group, and of one that it no longer names neither', () => {
    const bench = readyBench()
    const named = (pumps: NodeStatus['pumps']) => {
      const status = { contract: 1, online: true, boot: bench.boot, pumps }
      bench.take(onNodeStatus(bench.limits, bench.state, { atMs: bench.atMs, node: 'bench', status }))
      const told = bench.state.nodes['bench']!.pumps
      return ['pump-1', 'pump-2'].map((id) => [told[id]?.maxRunMs, told[id]?.group])
    }
    const [first, second] = [
      { id: 'pump-1', maxRunMs: 9000, group: 'left' },
      { id: 'pump-2', maxRunMs: 8000 },
    ]
    expect(named([first, second])).toEqual([
      [9000, 'left'],
      [8000, null],
    ])
    expect(named([second])).toEqual([
      [null, null],
      [8000, null],
    ])
  })

  it('that a state of before does not hold tells nothing of a stock', () => {
    const { limits, state, atMs } = readyBench()
    const facts = nodeFacts({ ...state, nodes: {} }, limits.stocks[0]!, atMs)
    const unknown = { boot: null, maxRunMs: Number.NaN, totalRunMs: Number.NaN, runningPump: null }
    expect(facts).toMatchObject({ node: 'bench', pump: 'pump-1', nodeOnline: false, ...unknown })
  })

  it('must be heard anew after a start: it is neither online nor of a known contract', () => {
    const bench = readyBench()
    bench.start(2)
    expect(bench.state.nodes['bench']).toMatchObject({ online: false, contractKnown: false, heartbeat: null })
  })

  it('keeps its pumps where a later status does not list them', () => {
    const bench = readyBench()
    const status = { contract: 1, online: true, boot: bench.boot }
    bench.take(onNodeStatus(bench.limits, bench.state, { atMs: bench.atMs, node: 'bench', status }))
    expect(bench.refusals('nitrate')).toEqual([])
  })

  it('that no limit names changes nothing', () => {
    const { limits, state, atMs } = readyBench()
    const heartbeat = { boot: 'boot-1', uptimeMs: 1, term: 9, pumps: [] }
    const status = { contract: 1, online: true, boot: 'boot-1' }
    const readings = [{ role: 'ph' as const, value: 1, quality: 'good' as const }]
    expect(onHeartbeat(limits, state, { atMs, node: 'shed', heartbeat }).state).toBe(state)
    expect(onNodeStatus(limits, state, { atMs, node: 'shed', status }).state).toBe(state)
    expect(onReadings(limits, state, { atMs, node: 'shed', readings }).state).toBe(state)
    expect(adoptBoot(state, 'shed', 'boot-1').state).toBe(state)
  })
})

describe('raw readings', () => {
  it('belong to the probe of that role on that node where no id is given', () => {
    const { limits, state, atMs } = readyBench()
    const readings = [{ role: 'ph' as const, value: 5.5, quality: 'good' as const }]
    const next = onReadings(limits, state, { atMs, node: 'bench', readings })
    expect(next.state.readings['ph-1']).toMatchObject({ value: 5.5, atMs, sameSinceMs: atMs })
  })

  it('of two pH probes must both be well, and the lower one guards the floor of acid', () => {
    const twin = { id: 'ph-2', node: 'bench', role: 'ph' as const, min: 4.8, max: 7.2 }
    const limits = { ...LIMITS, probes: [...LIMITS.probes, twin], twinsWithin: { ph: 2 } }
    const bench = readyBench(limits)
    const see = (value: number) => {
      const readings = [{ id: 'ph-2', role: 'ph' as const, value, quality: 'good' as const }]
      bench.take(onReadings(limits, bench.state, { atMs: bench.atMs, node: 'bench', readings }))
      return bench.refusals('acid')
    }
    expect(see(6)).toEqual([])
    expect(see(5.4)).toEqual(['acid-ph-above-floor'])
    expect(see(7.5)).toEqual(['probe-in-range'])
  })

  it('of a value that changes are not stuck, and of one that comes back start anew', () => {
    const bench = readyBench()
    bench.scan({ 'ph-1': 6.2 })
    const since = bench.atMs
    bench.atMs += MINUTE
    bench.scan({ 'ph-1': 6.2 })
    expect(bench.state.readings['ph-1']).toMatchObject({ sameSinceMs: since })
    bench.scan({ 'ph-1': 6.3 })
    bench.atMs += MINUTE
    bench.scan({ 'ph-1': 6.2 })
    expect(bench.state.readings['ph-1']).toMatchObject({ sameSinceMs: bench.atMs })
  })

  it('leave the state they were folded into as it was', () => {
    const bench = readyBench()
    const { state } = bench
    const before = JSON.stringify(state)
    bench.scan({ 'ph-1': 4 })
    expect(JSON.stringify(state)).toBe(before)
  })
})

describe('a person’s pump rate', () => {
  it('sizes the next runs, and a shot on its way keeps the rate it was judged by', () => {
    const bench = readyBench()
    const shot = bench.mustWish('nitrate', 10_000)
    bench.instruct({ instruction: 'pump-rate', stock: 'nitrate', rateMlPerMin: 24 })
    bench.run(shot.pump, shot.runMs)
    expect(bench.report(shot, 'done', shot.runMs)).toMatchObject([{ delivered: { lowUl: 10_000, highUl: 10_000 } }])
    bench.pass(5 * MINUTE)
    // 24 mL/min are 400 µL/s
    expect(bench.mustWish('nitrate', 10_000).runMs).toBe(25_000)
  })

  it.each([
    [15, true],
    [14.9, false],
    [60, true],
    [60.1, false],
    [Number.NaN, false],
    [-30, false],
  ])('of %s mL/min where the limits say 30', (rateMlPerMin, isTaken) => {
    const bench = readyBench()
    const told = bench.instruct({ instruction: 'pump-rate', stock: 'nitrate', rateMlPerMin })
    expect(told.length).toBe(isTaken ? 0 : 1)
    expect(bench.state.ratesUlPerS['nitrate'] !== undefined).toBe(isTaken)
  })

  it('is refused in words for a stock without limits, as is the reset of a trip that is not latched', () => {
    const bench = readyBench()
    expect(bench.instruct({ instruction: 'pump-rate', stock: 'silicate', rateMlPerMin: 30 })).toMatchObject([
      { kind: 'instruction-refused', why: expect.stringContaining('silicate has no limits') },
    ])
    expect(bench.instruct({ instruction: 'reset', trip: 'pump-overran' })).toEqual([
      { kind: 'instruction-refused', instruction: 'reset', why: 'pump-overran is not latched; nothing is' },
    ])
  })
})

describe('a person’s word on other things', () => {
  it('is none of safety’s business', () => {
    const bench = readyBench()
    const { state } = bench
    expect(bench.instruct({ instruction: 'acknowledge' })).toEqual([])
    expect(bench.instruct({ instruction: 'calibrate' })).toEqual([])
    expect(bench.state).toBe(state)
  })
})
