import { beforeEach, describe, expect, it } from 'vitest'
import { createPumpNode, type PumpNode } from '../../../simulator/pump-node.ts'
import type { NodeScenario } from '../../../simulator/scenario.ts'
import type { CommandMessage, LeaseMessage, NodeMessage, ReportMessage } from '../../../src/contract/message.ts'
import { heartbeatSchema, reportSchema, scanSchema, statusSchema } from '../../../src/contract/message.ts'

const START_MS = 1_000_000
const STOCK = { salts: [], elements: {}, untrackedMeqPerMl: 0, otherGPerL: 0 }
const pump = (id: string, group?: string) => ({
  ...{ id, rateMlPerMin: 30, maxRunMs: 60_000, stock: STOCK },
  ...(group === undefined ? {} : { group }),
})
const NODE: NodeScenario = {
  id: 'bench',
  heartbeatMs: 5_000,
  scanMs: 60_000,
  pumps: [pump('pump-1', 'dosing'), pump('pump-2', 'dosing'), pump('pump-3')],
  probes: [{ id: 'ph-1', quantity: 'ph', unit: '[pH]' }],
}

let said: { atMs: number; message: NodeMessage }[]
let motors: { pump: string; on: boolean; atMs: number }[]
let disobeys: boolean
let node: PumpNode

beforeEach(() => {
  said = []
  motors = []
  disobeys = false
  node = createPumpNode(
    NODE,
    {
      setPump: (id, on, atMs) => motors.push({ pump: id, on, atMs }),
      readings: () => [{ id: 'ph-1', value: 5.9, unit: '[pH]' }],
      disobeysLease: () => disobeys,
      send: (message, atMs) => said.push({ atMs, message }),
    },
    START_MS,
  )
  node.advanceTo(START_MS)
})

const uptime = (atMs: number) => atMs - START_MS
const lease = (over: Partial<LeaseMessage> = {}) =>
  ({
    kind: 'lease',
    message: { controller: 'daemon', term: 5, boot: node.boot(), untilUptimeMs: 30_000, ...over },
  }) as const
const command = (over: Partial<CommandMessage> = {}, to = 'pump-1') =>
  ({
    kind: 'command',
    pump: to,
    message: {
      ...{ id: 'shot-1', controller: 'daemon', term: 5, boot: node.boot(), runMs: 10_000, startBeforeUptimeMs: 60_000 },
      ...over,
    },
  }) as const
const reports = (): ReportMessage[] =>
  said.flatMap(({ message }) => (message.kind === 'report' ? [message.message] : []))
const lastReport = () => reports().at(-1)
const lastHeartbeat = () => {
  const beats = said.flatMap(({ message }) => (message.kind === 'heartbeat' ? [message.message] : []))
  return beats.at(-1)!
}
const ranMs = (id = 'pump-1') => {
  const times = motors.filter((motor) => motor.pump === id)
  return times.reduce((sum, { on, atMs }) => sum + (on ? -atMs : atMs), 0)
}

describe('a node that obeys the contract', () => {
  it('says at boot what it is, then beats and scans at its periods, in words the contract knows', () => {
    node.advanceTo(START_MS + 61_000)
    const kinds = said.map(({ message }) => message.kind)
    expect(kinds[0]).toBe('status')
    expect(kinds.filter((kind) => kind === 'heartbeat')).toHaveLength(13)
    expect(kinds.filter((kind) => kind === 'scan')).toHaveLength(2)
    for (const { message } of said) {
      if (message.kind === 'status') statusSchema.parse(message.message)
      if (message.kind === 'heartbeat') heartbeatSchema.parse(message.message)
      if (message.kind === 'scan') scanSchema.parse(message.message)
    }
  })

  it('runs a shot for its time under a living lease, and reports it accepted and done', () => {
    node.receive(START_MS + 1_000, lease())
    node.receive(START_MS + 2_000, command())
    node.advanceTo(START_MS + 20_000)
    expect(reports().map(({ state, ranMs }) => ({ state, ranMs }))).toEqual([
      { state: 'accepted', ranMs: 0 },
      { state: 'done', ranMs: 10_000 },
    ])
    expect(ranMs()).toBe(10_000)
    expect(lastReport()).toMatchObject({ totalRunMs: 10_000, uptimeMs: 12_000 })
    for (const report of reports()) reportSchema.parse(report)
  })

  it('names the running shot in its heartbeat and counts it in the totaliser only when it has ended', () => {
    node.receive(START_MS + 1_000, lease())
    node.receive(START_MS + 2_000, command())
    node.advanceTo(START_MS + 5_000)
    expect(lastHeartbeat().pumps[0]).toEqual({ id: 'pump-1', totalRunMs: 0, doubtMs: 0, runningId: 'shot-1' })
    node.advanceTo(START_MS + 15_000)
    expect(lastHeartbeat().pumps[0]).toEqual({ id: 'pump-1', totalRunMs: 10_000, doubtMs: 0 })
  })

  const refusals: [string, () => void, ReturnType<typeof command> | (() => ReturnType<typeof command>), RegExp][] = [
    ['without a lease', () => {}, () => command(), /no living lease/],
    [
      'after the lease has ended',
      () => node.receive(START_MS + 1, lease({ untilUptimeMs: 1_500 })),
      () => command(),
      /no living lease/,
    ],
    [
      'after the lease was withdrawn',
      () => {
        node.receive(START_MS + 1, lease())
        node.receive(START_MS + 2, lease({ untilUptimeMs: 0 }))
      },
      () => command(),
      /no living lease/,
    ],
    ['for another boot', () => node.receive(START_MS + 1, lease()), () => command({ boot: 'bench-0' }), /another boot/],
    ['of a lower term', () => node.receive(START_MS + 1, lease()), () => command({ term: 4 }), /below 5/],
    [
      'of another term than the lease',
      () => node.receive(START_MS + 1, lease()),
      () => command({ term: 6 }),
      /lease is of term 5/,
    ],
    [
      'of another controller than the lease',
      () => node.receive(START_MS + 1, lease()),
      () => command({ controller: 'other' }),
      /another controller/,
    ],
    [
      'whose start window has passed',
      () => node.receive(START_MS + 1, lease()),
      () => command({ startBeforeUptimeMs: 2_000 }),
      /too late/,
    ],
    [
      'longer than the pump may run',
      () => node.receive(START_MS + 1, lease()),
      () => command({ runMs: 60_001 }),
      /at most 60000/,
    ],
    [
      'for a pump it does not have',
      () => node.receive(START_MS + 1, lease()),
      () => command({}, 'pump-9'),
      /no pump pump-9/,
    ],
    [
      'for a pump that is running',
      () => {
        node.receive(START_MS + 1, lease())
        node.receive(START_MS + 2, command({ id: 'shot-0' }))
      },
      () => command(),
      /running/,
    ],
    [
      'for a second pump of the same group',
      () => {
        node.receive(START_MS + 1, lease())
        node.receive(START_MS + 2, command({ id: 'shot-0' }))
      },
      () => command({}, 'pump-2'),
      /same group/,
    ],
  ]
  it.each(refusals)('refuses a command %s and starts nothing', (_name, before, wish, reason) => {
    before()
    const startedBefore = motors.filter(({ on }) => on).length
    node.receive(START_MS + 2_000, typeof wish === 'function' ? wish() : wish)
    expect(lastReport()).toMatchObject({ id: 'shot-1', state: 'refused', ranMs: 0 })
    expect(lastReport()!.reason).toMatch(reason)
    expect(motors.filter(({ on }) => on)).toHaveLength(startedBefore)
  })

  it('runs a pump outside the group beside one inside it', () => {
    node.receive(START_MS + 1, lease())
    node.receive(START_MS + 2, command())
    node.receive(START_MS + 3, command({ id: 'shot-2' }, 'pump-3'))
    expect(lastReport()).toMatchObject({ id: 'shot-2', state: 'accepted' })
  })

  it('obeys an id once: a command that comes twice, during or after the run, is answered and never run again', () => {
    node.receive(START_MS + 1, lease({ untilUptimeMs: 60_000 }))
    node.receive(START_MS + 2_000, command())
    node.receive(START_MS + 3_000, command())
    node.advanceTo(START_MS + 20_000)
    node.receive(START_MS + 20_000, command())
    expect(reports().map(({ state }) => state)).toEqual(['accepted', 'accepted', 'done', 'done'])
    expect(ranMs()).toBe(10_000)
  })

  it('stops a pump in mid-shot when the lease is not renewed, and says how long it ran', () => {
    node.receive(START_MS + 1_000, lease({ untilUptimeMs: 6_000 }))
    node.receive(START_MS + 2_000, command())
    node.advanceTo(START_MS + 20_000)
    expect(lastReport()).toMatchObject({ state: 'stopped', ranMs: 4_000, totalRunMs: 4_000, reason: 'the lease ended' })
    expect(ranMs()).toBe(4_000)
  })

  it('runs a shot to its end when the lease is renewed in time', () => {
    node.receive(START_MS + 1_000, lease({ untilUptimeMs: 6_000 }))
    node.receive(START_MS + 2_000, command())
    node.receive(START_MS + 5_000, lease({ untilUptimeMs: 15_000 }))
    node.advanceTo(START_MS + 20_000)
    expect(lastReport()).toMatchObject({ state: 'done', ranMs: 10_000 })
  })

  it('stops every pump at once on a lease until 0', () => {
    node.receive(START_MS + 1_000, lease())
    node.receive(START_MS + 2_000, command())
    node.receive(START_MS + 2_500, command({ id: 'shot-2' }, 'pump-3'))
    node.receive(START_MS + 4_000, lease({ untilUptimeMs: 0 }))
    expect(
      reports()
        .slice(-2)
        .map(({ id, state, ranMs }) => ({ id, state, ranMs })),
    ).toEqual([
      { id: 'shot-1', state: 'stopped', ranMs: 2_000 },
      { id: 'shot-2', state: 'stopped', ranMs: 1_500 },
    ])
  })

  it('refuses the lease of another controller while one lives, and takes it afterwards', () => {
    node.receive(START_MS + 1_000, lease({ untilUptimeMs: 10_000 }))
    node.receive(START_MS + 2_000, lease({ controller: 'other', term: 9, untilUptimeMs: 50_000 }))
    node.receive(START_MS + 3_000, command({ controller: 'other', term: 9 }))
    expect(lastReport()).toMatchObject({ state: 'refused', reason: 'another controller holds the lease' })
    node.receive(START_MS + 11_000, lease({ controller: 'other', term: 9, untilUptimeMs: 50_000 }))
    node.receive(START_MS + 12_000, command({ id: 'shot-2', controller: 'other', term: 9 }))
    expect(lastReport()).toMatchObject({ id: 'shot-2', state: 'accepted' })
  })

  it('keeps the highest term over a restart and takes no lease of a lower one', () => {
    node.receive(START_MS + 1_000, lease({ term: 7 }))
    node.reboot(START_MS + 2_000)
    node.advanceTo(START_MS + 10_000)
    expect(lastHeartbeat().term).toBe(7)
    node.receive(START_MS + 11_000, lease({ term: 6, boot: node.boot() }))
    node.receive(START_MS + 12_000, command({ term: 6, boot: node.boot() }))
    expect(lastReport()).toMatchObject({ state: 'refused', reason: 'term 6 is below 7' })
  })

  it('takes no lease that was meant for an earlier boot', () => {
    const old = lease()
    node.reboot(START_MS + 1_000)
    node.advanceTo(START_MS + 10_000)
    node.receive(START_MS + 10_000, old)
    node.receive(START_MS + 11_000, command())
    expect(lastReport()).toMatchObject({ state: 'refused', reason: 'no living lease' })
  })

  it('doubts, after a restart in mid-shot, the whole intended run, and keeps the doubt over the next restart', () => {
    node.receive(START_MS + 1_000, lease())
    node.receive(START_MS + 2_000, command())
    node.reboot(START_MS + 6_000)
    expect(ranMs()).toBe(4_000)
    node.advanceTo(START_MS + 20_000)
    expect(lastHeartbeat().pumps[0]).toEqual({ id: 'pump-1', totalRunMs: 0, doubtMs: 10_000 })
    node.reboot(START_MS + 21_000)
    node.advanceTo(START_MS + 40_000)
    expect(lastHeartbeat().pumps[0]).toMatchObject({ doubtMs: 10_000 })
  })

  it('never runs a shot again that a restart cut short, even when the command is repeated for the new boot', () => {
    node.receive(START_MS + 1_000, lease())
    node.receive(START_MS + 2_000, command())
    node.reboot(START_MS + 6_000)
    node.advanceTo(START_MS + 12_000)
    node.receive(START_MS + 12_000, lease({ boot: node.boot() }))
    node.receive(START_MS + 13_000, command({ boot: node.boot() }))
    node.advanceTo(START_MS + 40_000)
    expect(lastReport()).toMatchObject({ state: 'stopped', reason: 'restarted in mid-shot, see doubtMs' })
    expect(motors.filter(({ on }) => on)).toHaveLength(1)
  })

  it('is silent and deaf while its power is off, and comes back as another boot with its clock at nothing', () => {
    const before = node.boot()
    node.reboot(START_MS + 10_000, 30_000)
    const offline = said.at(-1)!.message
    expect(offline).toMatchObject({ kind: 'status', message: { online: false, boot: before } })
    const count = said.length
    node.receive(START_MS + 20_000, lease({ boot: before }))
    expect(said).toHaveLength(count)
    node.advanceTo(START_MS + 41_000)
    const statuses = said.slice(count).filter(({ message }) => message.kind === 'status')
    expect(statuses).toHaveLength(1)
    expect(node.boot()).not.toBe(before)
    expect(lastHeartbeat().uptimeMs).toBe(0)
  })

  it('with broken firmware runs its shot to the end although the lease ended', () => {
    disobeys = true
    node.receive(START_MS + 1_000, lease({ untilUptimeMs: 4_000 }))
    node.receive(START_MS + 2_000, command())
    node.advanceTo(START_MS + 20_000)
    expect(ranMs()).toBe(10_000)
  })

  it('has an uptime clock that begins at its boot', () => {
    node.advanceTo(START_MS + 10_000)
    expect(lastHeartbeat().uptimeMs).toBe(uptime(START_MS + 10_000))
  })
})
