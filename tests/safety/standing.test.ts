import { describe, expect, it } from 'vitest'
import type { OpenCommand } from '../../src/safety/book.ts'
import { capsOf, missingSensors } from '../../src/safety/caps.ts'
import { quietly } from '../../src/safety/happening.ts'
import { switchHeldBecause } from '../../src/safety/hold-switch.ts'
import { withLeases } from '../../src/safety/lease.ts'
import type { Limits, ProbeLimits } from '../../src/safety/limits.ts'
import type { NodeState, RawReading, SafetyState } from '../../src/safety/state.ts'
import { latch, relatch } from '../../src/safety/trip.ts'
import { twinsOf } from '../../src/safety/twins.ts'
import { waterFacts } from '../../src/safety/water-facts.ts'
import { LIMITS, readyBench } from './bench.ts'

const AT = 1_800_000_000_000

describe('a hold switch', () => {
  const SWITCH: ProbeLimits = { id: 'switch-1', node: 'bench', role: 'hold-switch', min: 0, max: 1 }
  const limits: Limits = { ...LIMITS, probes: [...LIMITS.probes, SWITCH, { ...SWITCH, id: 'switch-2' }] }
  const read = (change: Partial<RawReading>): RawReading => ({
    ...{ value: 0, quality: 'good', atMs: AT, sameSinceMs: 0, flowingSinceMs: null },
    ...change,
  })
  const heldBy = (change: Partial<RawReading>) => {
    const readings = { 'switch-1': read({}), 'switch-2': read(change) }
    return switchHeldBecause(limits, readings, AT)
  }

  it.each<[Partial<RawReading>, string | null]>([
    [{}, null],
    [{ value: 0.499 }, null],
    [{ value: 0.5 }, 'at the reservoir is on'],
    [{ value: -0.001 }, 'at the reservoir is on'],
    [{ value: Number.NaN }, 'at the reservoir is on'],
    [{ atMs: AT - LIMITS.scanAgeMaxMs }, null],
    [{ atMs: AT - LIMITS.scanAgeMaxMs - 1 }, 'no longer read'],
    [{ atMs: AT + 1 }, 'no longer read'],
    [{ quality: 'uncertain' }, 'calls its reading uncertain'],
  ])('read as %j says %s', (change, said) => {
    if (said === null) expect(heldBy(change)).toBeNull()
    else expect(heldBy(change)).toMatch(new RegExp(`^the hold switch switch-2 .*${said}`))
  })

  it('that was never read holds, and no other probe is one', () => {
    expect(switchHeldBecause(limits, {}, AT)).toMatch(/^the hold switch switch-1 has not been read/)
    expect(switchHeldBecause(LIMITS, {}, AT)).toBeNull()
  })
})

describe('sensors that are not fitted', () => {
  const without = (...roles: string[]) => LIMITS.probes.filter(({ role }) => !roles.includes(role))
  const entry = { ...LIMITS.stocks[0]!, shotMaxUl: 1001, hourMaxUl: 2003, dayMaxUl: 4005 }
  const caps = (share: number, ...roles: string[]) =>
    capsOf({ ...LIMITS, notFittedCapShare: share, probes: without(...roles) }, entry)

  it('tighten every cap once each, to whole microlitres', () => {
    expect(caps(0.5)).toEqual({ shotMaxUl: 1001, hourMaxUl: 2003, dayMaxUl: 4005 })
    expect(caps(0.5, 'level')).toEqual({ shotMaxUl: 500, hourMaxUl: 1001, dayMaxUl: 2002 })
    expect(caps(0.5, 'flow', 'temperature')).toEqual({ shotMaxUl: 500, hourMaxUl: 1001, dayMaxUl: 2002 })
    expect(caps(0.5, 'level', 'flow')).toEqual({ shotMaxUl: 250, hourMaxUl: 500, dayMaxUl: 1001 })
    expect([caps(0, 'flow').shotMaxUl, caps(1, 'flow').shotMaxUl]).toEqual([0, 1001])
    for (const share of [-0.001, 1.001, Number.NaN]) {
      expect(caps(share, 'flow').shotMaxUl).toBeNaN()
      expect(caps(share).shotMaxUl).toBe(1001)
    }
  })

  it('are missing unless a reason is given, and two of them whatever the reason', () => {
    const missing = (reason: string | null, ...roles: string[]) => {
      const notFitted = reason === null ? [] : roles.map((role) => ({ role: role as 'level', reason }))
      return missingSensors({ ...LIMITS, probes: without(...roles), notFitted })
    }
    expect(missing(null)).toEqual([])
    expect(missing(null, 'temperature')).toEqual([])
    expect(missing(null, 'ph', 'conductivity', 'level', 'flow')).toEqual(['conductivity', 'ph', 'level', 'flow'])
    expect(missing(' ', 'level')).toEqual(['level'])
    expect(missing('a pond', 'ph', 'conductivity', 'level', 'flow')).toEqual(['conductivity', 'ph'])
    const other = [{ role: 'flow' as const, reason: 'a pond' }]
    expect(missingSensors({ ...LIMITS, probes: without('level'), notFitted: other })).toEqual(['level'])
  })
})

describe('what the probes say', () => {
  const said = (...probes: readonly ProbeLimits[]) => waterFacts({ ...LIMITS, probes }, readyBench().state, AT)
  const probe = (role: ProbeLimits['role'], id: string): ProbeLimits => ({ id, node: 'bench', role, min: 0, max: 9 })

  it('has no level and no flow where neither is fitted', () => {
    expect(said(probe('ph', 'ph-1'))).toMatchObject({ levelFitted: false, flowFitted: false })
    expect(said(probe('level', 'level-1'))).toMatchObject({ levelFitted: true, flowFitted: false })
    expect(said(probe('flow', 'flow-1'))).toMatchObject({ levelFitted: false, flowFitted: true })
  })

  it('may be the same for ever only of a meter, a flow and a switch', () => {
    const roles = ['conductivity', 'ph', 'temperature', 'level', 'flow', 'top-up', 'hold-switch'] as const
    const still = said(...roles.map((role) => probe(role, role))).probes.filter(({ stuckMs }) => stuckMs === Infinity)
    expect(still.map(({ role }) => role)).toEqual(['flow', 'top-up', 'hold-switch'])
  })

  it('is compared where there are two of a role; meters each count their own water, and each switch speaks for itself', () => {
    const roles = ['ph', 'flow', 'top-up', 'hold-switch'] as const
    const facts = said(...roles.flatMap((role) => [probe(role, `${role}-1`), probe(role, `${role}-2`)]))
    expect(twinsOf(LIMITS, facts.probes).map(({ role }) => role)).toEqual(['ph', 'flow'])
  })
})

describe('a lease', () => {
  const told = (change: Partial<SafetyState>, node: Partial<NodeState> = {}) => {
    const { state } = readyBench()
    const nodes = { bench: { ...state.nodes['bench']!, ...node } }
    return withLeases(quietly({ ...state, nodes, ...change })).happenings
  }
  const hold = { by: 'ines', reason: 'a leak', atMs: 0 }

  it.each<[string, Partial<SafetyState>, Partial<NodeState>]>([
    ['not started', { started: false }, {}],
    ['the ledger’s disk cannot be written', { diskWritable: false }, {}],
    ['the clock is not to be trusted', { clockSane: false }, {}],
    ['the link to the nodes is down', { linkUp: false }, {}],
    ['held by ines: a leak', { held: hold }, {}],
    ['somebody stands there', { switchHeld: 'somebody stands there' }, {}],
    [
      'the system is being sanitised, or the rinse and probe check are not logged yet',
      { sanitise: { phase: 'to-check', sinceMs: 0 } },
      {},
    ],
    ['tripped, pump-overran: it ran', { trips: [{ trip: 'pump-overran', subject: '', why: 'it ran', atMs: 0 }] }, {}],
    ['the mode is observe', { mode: 'observe' }, {}],
    ['the node is not online', {}, { online: false }],
    ['the node speaks another version of the contract', {}, { contractKnown: false }],
  ])('is withdrawn once, with its reason: %s', (why, change, node) => {
    expect(told(change, node)).toEqual([{ kind: 'lease', node: 'bench', allowed: false, why }])
    expect(told(change, { ...node, lease: { allowed: false, why } })).toEqual([])
  })

  it('stands while nothing forbids it, in either mode that doses, and is given again once nothing does', () => {
    for (const mode of ['advise', 'automatic'] as const) {
      expect(told({ mode })).toEqual([])
      const why = `mode ${mode}, nothing held or tripped, node online`
      const lease = { allowed: false, why: 'held' }
      expect(told({ mode }, { lease })).toEqual([{ kind: 'lease', node: 'bench', allowed: true, why }])
    }
  })
})

describe('a lease in the mode observe', () => {
  const leased = (command: Partial<OpenCommand>) => {
    const { state } = readyBench()
    const node = { ...state.nodes['bench']!, lease: { allowed: false, why: 'the mode is observe' } }
    const book = { commands: [{ node: 'bench', status: 'open', ...command } as OpenCommand], stocks: {} }
    const next = withLeases(quietly({ ...state, mode: 'observe', nodes: { bench: node, shed: node }, book })).state
    return Object.keys(next.nodes).filter((name) => next.nodes[name]!.lease.allowed)
  }

  it('is for the node of a run that a person asked for, and for no other node', () => {
    expect(leased({ purpose: 'calibration' })).toEqual(['bench'])
    expect(leased({ purpose: 'calibration', node: 'shed' })).toEqual(['shed'])
  })

  it('is for no dose, and for no run of which nobody knows what became', () => {
    expect(leased({})).toEqual([])
    expect(leased({ purpose: 'calibration', status: 'unknown' })).toEqual([])
  })
})

describe('a tick', () => {
  it('at which nothing is over changes nothing at all', () => {
    const bench = readyBench()
    bench.dose('nitrate', 1000)
    const { state } = bench
    expect(bench.tick()).toEqual([])
    expect(bench.state).toBe(state)
  })
})

describe('a ledger that is damaged', () => {
  it('trips once and stops every pump, since nobody can say what was given', () => {
    const bench = readyBench()
    const why = 'entry 7 does not follow entry 6'
    expect(bench.edge({ edge: 'ledger-damaged', why })).toEqual([
      { kind: 'tripped', trip: 'ledger-damaged', why },
      { kind: 'lease', node: 'bench', allowed: false, why: `tripped, ledger-damaged: ${why}` },
    ])
    expect(bench.state.trips).toEqual([{ trip: 'ledger-damaged', subject: '', why, atMs: bench.atMs }])
    expect(bench.edge({ edge: 'ledger-damaged', why: 'entry 8 neither' })).toEqual([])
  })
})

describe('a trip', () => {
  const trip = (name: 'pump-overran' | 'pump-ran-alone', subject: string) => ({
    trip: name,
    subject,
    why: 'so',
    atMs: 1,
  })
  const none = { trips: [] } as Pick<SafetyState, 'trips'>

  it('is told once for each thing it is about', () => {
    const state = none as SafetyState
    const first = latch(state, trip('pump-overran', 'a'))
    expect(first.happenings).toEqual([{ kind: 'tripped', trip: 'pump-overran', why: 'so' }])
    expect(latch(first.state, trip('pump-overran', 'a'))).toEqual({ state: first.state, happenings: [] })
    expect(latch(first.state, trip('pump-overran', 'b')).state.trips).toHaveLength(2)
    expect(latch(first.state, trip('pump-ran-alone', 'a')).state.trips).toHaveLength(2)
  })

  it('that is known from its record alone is about anything', () => {
    const state = relatch(none as SafetyState, { trip: 'pump-overran', why: 'it ran', atMs: 7 })
    expect(state.trips).toEqual([{ trip: 'pump-overran', why: 'it ran', atMs: 7, subject: '' }])
    expect(latch(state, trip('pump-overran', 'b'))).toEqual({ state, happenings: [] })
    expect(latch(state, trip('pump-ran-alone', 'b')).happenings).toHaveLength(1)
  })
})
