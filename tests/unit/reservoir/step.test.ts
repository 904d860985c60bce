import { beforeAll, describe, expect, it } from 'vitest'
import type { Configuration } from '../../../src/config/configuration.ts'
import type { Effect } from '../../../src/reservoir/effect.ts'
import type { Input } from '../../../src/reservoir/input.ts'
import { initialReservoirState, type ReservoirState } from '../../../src/reservoir/state.ts'
import { step } from '../../../src/reservoir/step.ts'
import { effectsOf, inputsOf, LoopBench, MINUTE_MS, NODE, replay, START_MS } from '../../support/loop/bench.ts'
import { eventfulDay } from '../../support/loop/eventful-day.ts'
import { quarryLane } from '../../support/loop/site.ts'

let automatic: Configuration
let day: LoopBench

beforeAll(async () => {
  automatic = await quarryLane('automatic')
  day = eventfulDay(automatic)
})

const commandsIn = (effects: readonly Effect[]) => effects.filter((effect) => effect.kind === 'command')

/** Freezes everything but numbers in typed arrays, which no language freezes. */
function deepFreeze(value: unknown): void {
  if (typeof value !== 'object' || value === null || ArrayBuffer.isView(value) || Object.isFrozen(value)) return
  Object.freeze(value)
  for (const inner of Object.values(value)) deepFreeze(inner)
}

describe('a day of the loop', () => {
  it('has what the other tests count on: shots, a report, an unknown outcome', () => {
    const kinds = new Set(effectsOf(day).map((effect) => (effect.kind === 'record' ? effect.record.kind : effect.kind)))
    for (const kind of ['command', 'laboratory', 'act', 'instructed', 'settled', 'planned', 'node-boot', 'alarm'])
      expect(kinds, kind).toContain(kind)
    expect(
      effectsOf(day).some(
        (effect) => effect.kind === 'record' && effect.record.kind === 'settled' && effect.record.outcome === 'unknown',
      ),
    ).toBe(true)
    expect(commandsIn(effectsOf(day)).length).toBeGreaterThan(15)
  })

  it('gives the same effects byte for byte from the same settings, state and inputs', () => {
    const again = replay(day.settings, initialReservoirState(day.settings), inputsOf(day))
    expect(again.effects).toEqual(day.log.map(({ effects }) => JSON.stringify(effects)))
    expect(again.state).toEqual(day.state)
  })

  it('writes down the verdict before the command it permits, and a command is the last effect of its step', () => {
    for (const { effects } of day.log) {
      for (const command of commandsIn(effects)) {
        expect(effects.at(-1)).toBe(command)
        const judged = effects.findIndex(
          (effect) =>
            effect.kind === 'record' && effect.record.kind === 'judged' && effect.record.commandId === command.shot.id,
        )
        expect(judged).toBeGreaterThanOrEqual(0)
        expect(effects.findLastIndex((effect) => effect.kind === 'record')).toBeLessThan(effects.indexOf(command))
      }
    }
  })

  it('withdraws a lease before anything is written', () => {
    const withdrawing = day.log.filter(({ effects }) =>
      effects.some((effect) => effect.kind === 'lease' && !effect.allowed),
    )
    expect(withdrawing.length).toBeGreaterThan(0)
    for (const { effects } of withdrawing) expect(effects[0]).toMatchObject({ kind: 'lease', allowed: false })
  })

  it('never sends the same command twice, nor two at once', () => {
    const ids = commandsIn(effectsOf(day)).map(({ shot }) => shot.id)
    expect(new Set(ids).size).toBe(ids.length)
    for (const { effects } of day.log) expect(commandsIn(effects).length).toBeLessThan(2)
  })

  it('never writes into a state it has handed out, typed arrays included', () => {
    const inputs = inputsOf(day)
    const middle = Math.floor(inputs.length / 2)
    const { state } = replay(day.settings, initialReservoirState(day.settings), inputs.slice(0, middle))
    const copy = structuredClone(state)
    deepFreeze(state)
    deepFreeze(day.settings)
    let next: ReservoirState = state
    for (const input of inputs.slice(middle, middle + 500)) {
      next = step(day.settings, next, input).state
      deepFreeze(next)
    }
    expect(next.core?.history.filter.mean).not.toEqual(copy.core?.history.filter.mean)
    expect(state).toEqual(copy)
  })
})

describe('time', () => {
  const started = (): LoopBench => {
    const bench = new LoopBench(automatic)
    bench.start()
    bench.minutes(30)
    return bench
  }

  it('that goes back is taken as the last there was', () => {
    const [backwards, still] = [started(), started()]
    const effects = backwards.give({ kind: 'tick', atMs: START_MS - 3 * MINUTE_MS })
    expect(effects).toEqual(still.give({ kind: 'tick', atMs: still.nowMs }))
    expect(backwards.state).toEqual(still.state)
    expect(backwards.state.atMs).toBe(backwards.nowMs)
  })

  it.each([Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY])('that is %d is a broken driver', (atMs) => {
    const bench = started()
    expect(() => step(bench.settings, bench.state, { kind: 'tick', atMs })).toThrow(/kind tick has no time/)
  })

  it('that jumps an hour closes each step of it, empty', () => {
    const bench = started()
    const effects = bench.give({ kind: 'tick', atMs: bench.nowMs + 60 * MINUTE_MS })
    const observed = effects.flatMap((effect) =>
      effect.kind === 'record' && effect.record.kind === 'observed' ? [effect.record] : [],
    )
    expect(observed).toHaveLength(6)
    expect(observed[3]?.observation).toEqual({ endMs: START_MS + 70 * MINUTE_MS, litShare: 1, topUpL: 0 })
  })
})

describe('what is none of this site', () => {
  const forgotten = ({ atMs: _atMs, ...state }: ReservoirState) => state
  const heard = { boot: 'x', uptimeMs: 5_000_000 }
  const strangers: readonly [string, Omit<Input, 'atMs'>][] = [
    [
      'a node nobody configured speaks',
      { kind: 'node-status', node: 'cellar', status: { contract: 1, online: true, boot: 'x' } } as Omit<Input, 'atMs'>,
    ],
    [
      'its heartbeat',
      {
        kind: 'heartbeat',
        node: 'cellar',
        heartbeat: { ...heard, term: 1, pumps: [{ id: 'pump-1', totalRunMs: 9, doubtMs: 0 }] },
      } as Omit<Input, 'atMs'>,
    ],
    [
      'its scan',
      {
        kind: 'scan',
        node: 'cellar',
        scan: { ...heard, readings: [{ id: 'ec-1', value: 1.2, unit: 'mS/cm' }] },
      } as Omit<Input, 'atMs'>,
    ],
    [
      'a heartbeat of one whose name every object inherits',
      {
        kind: 'heartbeat',
        node: 'constructor',
        heartbeat: { ...heard, term: 1, pumps: [] },
      } as Omit<Input, 'atMs'>,
    ],
    [
      'a report in which it refuses a shot that nobody asked it for',
      {
        kind: 'pump-report',
        node: 'cellar',
        pump: 'pump-1',
        report: { ...heard, id: '7-7', state: 'refused', ranMs: 0, totalRunMs: 9, reason: 'no lease' },
      } as Omit<Input, 'atMs'>,
    ],
    [
      'a probe nobody configured',
      {
        kind: 'scan',
        node: NODE,
        scan: { ...heard, boot: 'a1', readings: [{ id: 'orp-1', value: 300, unit: '1' }] },
      } as Omit<Input, 'atMs'>,
    ],
    [
      'a report of a pump that is not there',
      {
        kind: 'pump-report',
        node: NODE,
        pump: 'pump-9',
        report: { ...heard, id: '1-1', state: 'done', ranMs: 5000, totalRunMs: 5000 },
      } as Omit<Input, 'atMs'>,
    ],
    [
      'a report of a command nobody gave',
      {
        kind: 'pump-report',
        node: NODE,
        pump: 'pump-1',
        report: { ...heard, id: '7-7', state: 'done', ranMs: 5000, totalRunMs: 5000 },
      } as Omit<Input, 'atMs'>,
    ],
  ]
  it.each(strangers)('changes nothing: %s', (_what, input) => {
    const bench = new LoopBench(automatic)
    bench.start()
    bench.minutes(10)
    const { state } = bench
    const effects = bench.give({ ...input, atMs: bench.nowMs } as Input)
    expect(effects).toEqual([])
    expect(forgotten(bench.state)).toEqual(forgotten(state))
  })
})

describe('a wish that safety refuses', () => {
  it('is recorded with the interlock and told in a sentence, and no pump runs', () => {
    const bench = new LoopBench(automatic)
    bench.start()
    bench.minutes(60)
    expect(commandsIn(effectsOf(bench)).length).toBeGreaterThan(1)
    // The count of commands lost, as no restart ever does: the next one would go by a name that was used before.
    bench.state = { ...bench.state, commandCount: 0 }
    const before = bench.log.length
    bench.minutes(30)
    const effects = bench.log.slice(before).flatMap((entry) => entry.effects)
    const refused = effects.find((effect) => effect.kind === 'record' && effect.record.kind === 'judged')
    expect(refused).toMatchObject({ record: { verdict: 'refuse', commandId: '1-1', why: ['command-id-new'] } })
    expect(effects.find((effect) => effect.kind === 'notification' && effect.event === 'refused')).toMatchObject({
      text: expect.stringMatching(/^Refused \d+\.\d\d mL of \w+: .*name of this command was used before/),
    })
    expect(commandsIn(effects.slice(0, effects.indexOf(refused!) + 3))).toEqual([])
  })
})

describe('modes', () => {
  it.each(['observe', 'advise'] as const)('%s plans and never doses by itself', async (mode) => {
    const bench = new LoopBench(await quarryLane(mode))
    bench.start()
    bench.minutes(240)
    expect(effectsOf(bench).some((effect) => effect.kind === 'record' && effect.record.kind === 'planned')).toBe(true)
    expect(commandsIn(effectsOf(bench))).toEqual([])
  })

  it('advise doses the plan that a person approved, and not the next one', async () => {
    const bench = new LoopBench(await quarryLane('advise'))
    bench.start()
    bench.minutes(20)
    const planId = bench.state.core!.plan!.id
    bench.instruct({ instruction: 'approve', planId })
    bench.minutes(120)
    const commands = commandsIn(effectsOf(bench))
    expect(commands.length).toBeGreaterThan(0)
    for (const { shot } of commands) expect(shot.planId).toBe(planId)
  })

  it('advise keeps a plan approved late in its hour until its shots are given or the approval lapses', async () => {
    const bench = new LoopBench(await quarryLane('advise'))
    // Potassium and nitrate far from their aims, so that the hour's shots outlast it.
    bench.start()
    bench.minutes(20)
    const plan = bench.state.core!.plan!
    bench.minutes(45)
    expect(bench.state.core!.plan!.id).toBe(plan.id)
    bench.instruct({ instruction: 'approve', planId: plan.id })
    bench.minutes(20)
    const given = commandsIn(effectsOf(bench)).filter(({ shot }) => shot.planId === plan.id)
    expect(given.length).toBeGreaterThan(0)
    expect(bench.nowMs).toBeGreaterThan(plan.untilMs)
    bench.minutes(90)
    expect(bench.state.core!.plan!.id).not.toBe(plan.id)
    for (const { shot } of commandsIn(effectsOf(bench))) expect(shot.planId).toBe(plan.id)
  })

  it('approval of another plan than that of the hour is answered with the right one, and nothing is dosed', async () => {
    const bench = new LoopBench(await quarryLane('advise'))
    bench.start()
    bench.minutes(20)
    const told = bench.instruct({ instruction: 'approve', planId: 'plan-0-0' })
    const text = `Nothing comes of it: the plan of the hour is ${bench.state.core!.plan!.id}.`
    expect(told).toContainEqual({ kind: 'notification', event: 'refused', text })
    bench.minutes(60)
    expect(commandsIn(effectsOf(bench))).toEqual([])
  })

  it('a hold stops the next shot and a release lets it go on', () => {
    const bench = new LoopBench(automatic)
    bench.start()
    bench.minutes(5)
    bench.instruct({ instruction: 'hold' })
    bench.minutes(180)
    expect(commandsIn(effectsOf(bench))).toEqual([])
    bench.instruct({ instruction: 'release' })
    bench.minutes(90)
    expect(commandsIn(effectsOf(bench)).length).toBeGreaterThan(0)
  })
})

describe('before the first start', () => {
  it('what people bring is refused aloud, and a hold is kept and recorded', () => {
    const bench = new LoopBench(automatic)
    expect(bench.report({ id: 'r1', sampledAtMs: START_MS, values: [{ element: 'K', mgPerL: 1 }] })).toContainEqual({
      kind: 'notification',
      event: 'refused',
      text: 'Refused the laboratory-result: the reservoir has not been started yet',
    })
    const held = bench.instruct({ instruction: 'hold' })
    expect(held.some((effect) => effect.kind === 'record' && effect.record.kind === 'instructed')).toBe(true)
    bench.start()
    bench.minutes(120)
    expect(commandsIn(effectsOf(bench))).toEqual([])
  })
})

describe('a re-run', () => {
  it('waits while a shot is on its way, and no plan is made of the old belief meanwhile', () => {
    const bench = new LoopBench(automatic)
    bench.start()
    bench.minutes(300)
    bench.areReportsLost = true
    while (!bench.state.safety.book.commands.some(({ status }) => status === 'open')) bench.minutes(1)
    const plan = bench.state.core?.plan
    bench.report({ id: 'r1', sampledAtMs: START_MS + 100 * MINUTE_MS, values: [{ element: 'K', mgPerL: 150 }] })
    const asked = bench.state.core?.history.rerun
    expect(asked).toBeDefined()
    bench.give({ kind: 'tick', atMs: bench.nowMs })
    expect(bench.state.core?.history.rerun).toEqual(asked)
    expect(bench.state.core?.plan).toBe(plan)
  })

  it('does not wait for a node that never says what became of its shot', () => {
    const bench = new LoopBench(automatic)
    bench.start()
    bench.minutes(300)
    bench.areReportsLost = true
    while (!bench.state.safety.book.commands.some(({ status }) => status === 'open')) bench.minutes(1)
    bench.isNodeSilent = true
    bench.minutes(10)
    expect(bench.state.safety.book.commands.map(({ status }) => status)).toEqual(['unknown'])
    bench.report({ id: 'r1', sampledAtMs: START_MS + 100 * MINUTE_MS, values: [{ element: 'K', mgPerL: 150 }] })
    bench.minutes(5)
    expect(bench.state.core?.history.rerun).toBeUndefined()
  })
})
