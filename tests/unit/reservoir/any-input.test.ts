import fc from 'fast-check'
import { beforeAll, describe, expect, it } from 'vitest'
import { UNIT_CODES } from '../../../src/contract/unit.ts'
import { estimateOf } from '../../../src/core/estimate/summary.ts'
import type { Act, Input, Instruction } from '../../../src/reservoir/input.ts'
import type { ReservoirState } from '../../../src/reservoir/state.ts'
import { LoopBench, NODE } from '../../support/loop/bench.ts'
import { quarryLane } from '../../support/loop/site.ts'

/** Each sitting has strange inputs among the ordinary ones of a bench: 20,000 in all, a third of them strange. */
const SITTINGS = 120
const STRANGE_EACH = 30

let armed: LoopBench

beforeAll(async () => {
  armed = new LoopBench(await quarryLane('automatic'))
  armed.start()
  armed.minutes(70)
})

const number = fc.oneof(
  { weight: 4, arbitrary: fc.double({ min: 0, max: 300, noNaN: true }) },
  { weight: 1, arbitrary: fc.constantFrom(0, -1, 1e9, -1e9, 1e-12, 1e308, Number.NaN, Number.POSITIVE_INFINITY) },
)
const count = fc.nat(10_000_000)
const pump = fc.constantFrom('pump-1', 'pump-2', 'pump-3', 'pump-4', 'pump-9')
const probe = fc.constantFrom('ec-1', 'ph-1', 'temperature-1', 'level-1', 'meter-1', 'flow-1', 'orp-1')
const boot = fc.constantFrom('a1', 'a2', 'b1')
const node = fc.constantFrom(NODE, NODE, NODE, 'cellar')
const stock = fc.constantFrom('calcium', 'phosphate', 'nitrate', 'acid', 'nothing')
const commandId = fc.nat(20).map((at) => `1-${at}`)
/** Moments of acts and bottles about now. */
const moment = fc.oneof(fc.integer({ min: -5_000_000, max: 100_000 }), fc.constantFrom(Number.NaN, -1e15, 1e15))

/** Readings as a healthy bench sends them, so that not every sitting ends with nothing permitted. */
const healthy = fc.double({ min: 0.97, max: 1.03, noNaN: true }).map((share) => [
  { id: 'ec-1', value: 1.7 * share, unit: 'mS/cm' as const },
  { id: 'ph-1', value: 5.9 * share, unit: '[pH]' as const },
  { id: 'temperature-1', value: 20 * share, unit: 'Cel' as const },
  { id: 'level-1', value: 208 * share, unit: 'L' as const },
  { id: 'flow-1', value: 8 * share, unit: 'L/min' as const },
])
const reading = fc.record({
  id: probe,
  value: number,
  unit: fc.constantFrom(...UNIT_CODES),
  quality: fc.constantFrom('good' as const, 'uncertain' as const, 'bad' as const, undefined),
})

const act: fc.Arbitrary<Act> = fc.oneof(
  fc.record({
    act: fc.constant('salt-added' as const),
    doneAtMs: moment,
    salt: fc.constantFrom('potassium nitrate', 'sand'),
    massG: number,
  }),
  fc.record({ act: fc.constantFrom('drained' as const, 'topped-up' as const), doneAtMs: moment, volumeL: number }),
  fc.record({ act: fc.constant('stock-refilled' as const), doneAtMs: moment, stock, volumeMl: number }),
  fc.record({
    act: fc.constant('transplanted' as const),
    doneAtMs: moment,
    crop: fc.constantFrom('basil', 'triffid'),
    plants: number,
    cohort: fc.constantFrom('basil-1', 'basil-2'),
  }),
  fc.record({
    act: fc.constant('harvested' as const),
    doneAtMs: moment,
    cohort: fc.constantFrom('basil-1', 'basil-2'),
  }),
)
const instruction: fc.Arbitrary<Instruction> = fc.oneof(
  fc.record({
    instruction: fc.constant('mode' as const),
    mode: fc.constantFrom('observe' as const, 'advise' as const, 'automatic' as const),
  }),
  fc.constantFrom<Instruction>({ instruction: 'hold' }, { instruction: 'release' }, { instruction: 'release' }),
  fc.record({ instruction: fc.constant('approve' as const), planId: fc.constantFrom('plan-1', 'none') }),
  fc.record({
    instruction: fc.constant('reset' as const),
    trip: fc.constantFrom('pump-ran-alone', 'pump-overran', 'totaliser-fell'),
  }),
  fc.record({ instruction: fc.constant('acknowledge' as const), alarm: fc.constantFrom('no-flow', 'tripped', 'none') }),
  fc.record({ instruction: fc.constant('calibrate' as const), probe, slope: number, offset: number }),
  fc.record({ instruction: fc.constant('pump-rate' as const), stock, rateMlPerMin: number }),
)
const value = fc.oneof(
  fc.record({ element: fc.constantFrom('K', 'Ca', 'NO3-N', 'Mo', 'Si'), mgPerL: number }),
  fc.record({ element: fc.constantFrom('K', 'P'), mgPerL: number, sdMgPerL: number }),
  fc.record({ element: fc.constantFrom('NH4-N', 'Cu'), belowMgPerL: number }),
)

type Timeless = Input extends infer One ? (One extends Input ? Omit<One, 'atMs'> : never) : never
const input = fc.oneof(
  {
    weight: 6,
    arbitrary: fc.record({
      kind: fc.constant('scan' as const),
      node: fc.constant(NODE),
      scan: fc.record({ boot: fc.constant('a1'), uptimeMs: count, readings: healthy }),
    }),
  },
  {
    weight: 2,
    arbitrary: fc.record({
      kind: fc.constant('scan' as const),
      node,
      scan: fc.record({ boot, uptimeMs: count, readings: fc.array(reading, { maxLength: 6 }) }),
    }),
  },
  {
    weight: 4,
    arbitrary: fc.record({
      kind: fc.constant('heartbeat' as const),
      node,
      heartbeat: fc.record({
        boot,
        uptimeMs: count,
        term: fc.nat(2),
        pumps: fc.array(fc.record({ id: pump, totalRunMs: fc.nat(90_000), doubtMs: fc.nat(500) }), { maxLength: 5 }),
      }),
    }),
  },
  {
    weight: 2,
    arbitrary: fc.record({
      kind: fc.constant('pump-report' as const),
      node,
      pump,
      report: fc.record({
        id: commandId,
        boot,
        uptimeMs: count,
        state: fc.constantFrom(
          'accepted' as const,
          'running' as const,
          'done' as const,
          'refused' as const,
          'stopped' as const,
        ),
        ranMs: fc.nat(20_000),
        totalRunMs: fc.nat(90_000),
      }),
    }),
  },
  {
    weight: 1,
    arbitrary: fc.record({
      kind: fc.constant('node-status' as const),
      node,
      status: fc.record({
        contract: fc.constant(1 as const),
        online: fc.boolean(),
        boot,
        pumps: fc.array(fc.record({ id: pump, maxRunMs: fc.integer({ min: 1, max: 200_000 }) }), { maxLength: 5 }),
      }),
    }),
  },
  {
    weight: 1,
    arbitrary: fc.record({
      kind: fc.constant('laboratory-result' as const),
      by: fc.constant('lab'),
      result: fc.record({
        id: fc.constantFrom('r1', 'r2'),
        sampledAtMs: moment,
        values: fc.array(value, { maxLength: 4 }),
      }),
    }),
  },
  {
    weight: 1,
    arbitrary: fc.record({
      kind: fc.constant('laboratory-withdrawal' as const),
      by: fc.constant('lab'),
      id: fc.constantFrom('r1', 'r2'),
    }),
  },
  { weight: 2, arbitrary: fc.record({ kind: fc.constant('act' as const), by: fc.constant('Ines'), act }) },
  {
    weight: 2,
    arbitrary: fc.record({
      kind: fc.constant('instruction' as const),
      by: fc.constant('Ines'),
      reason: fc.string({ maxLength: 5 }),
      instruction,
    }),
  },
  {
    weight: 1,
    arbitrary: fc.record({
      kind: fc.constant('edge' as const),
      news: fc.oneof(
        fc.record({ edge: fc.constant('link' as const), up: fc.boolean() }),
        fc.record({ edge: fc.constant('disk' as const), writable: fc.boolean() }),
        fc.record({ edge: fc.constant('clock' as const), sane: fc.boolean() }),
        fc.record({ edge: fc.constant('ledger-damaged' as const), why: fc.constant('entry 7') }),
        fc.record({ edge: fc.constant('command-not-sent' as const), commandId, why: fc.constant('no link') }),
      ),
    }),
  },
  { weight: 3, arbitrary: fc.record({ kind: fc.constant('tick' as const) }) },
  {
    weight: 1,
    arbitrary: fc.record({
      kind: fc.constant('start' as const),
      controller: fc.constant('tests'),
      term: fc.nat(9),
      utcOffsetMin: fc.integer({ min: -720, max: 840 }),
    }),
  },
) as fc.Arbitrary<Timeless>

/** Puts a moment that was drawn about 0 beside the clock. */
function placed(one: Timeless, nowMs: number): Input {
  const timed = { ...one, atMs: nowMs }
  if (timed.kind === 'act') return { ...timed, act: { ...timed.act, doneAtMs: nowMs + timed.act.doneAtMs } } as Input
  if (timed.kind !== 'laboratory-result') return timed as Input
  return { ...timed, result: { ...timed.result, sampledAtMs: nowMs + timed.result.sampledAtMs } } as Input
}

const isHeld = ({ safety }: ReservoirState) =>
  safety.held !== null || safety.trips.length > 0 || safety.mode === 'observe'

/** The armed bench gone on with, so that real reports follow real commands between the strange inputs. */
function continued(): LoopBench {
  const bench = new LoopBench(armed.configuration, armed.state)
  bench.nowMs = armed.nowMs
  for (const [pump, totalRunMs] of armed.totals) bench.totals.set(pump, totalRunMs)
  return bench
}

describe('any inputs in any order on an armed bench', () => {
  it('throw nothing, leave every number of the estimate a number, and never run a pump that is held', () => {
    let folded = 0
    let commands = 0
    const sitting = fc.array(fc.tuple(input, fc.nat(4)), {
      minLength: STRANGE_EACH,
      maxLength: STRANGE_EACH,
      size: 'max',
    })
    fc.assert(
      fc.property(sitting, (drawn) => {
        const bench = continued()
        bench.watch = (effects) => {
          const sent = effects.filter(({ kind }) => kind === 'command').length
          expect(sent).toBeLessThan(2)
          if (sent > 0) expect(isHeld(bench.state)).toBe(false)
          commands += sent
        }
        for (const [strange, minutes] of drawn) {
          bench.minutes(minutes)
          bench.give(placed(strange, bench.nowMs))
        }
        folded += bench.log.length
        expectNumbers(bench.state)
      }),
      { numRuns: SITTINGS, seed: 20260320, endOnFailure: true },
    )
    expect(folded).toBeGreaterThan(20_000)
    // A fuzz in which no pump ever ran would prove nothing about the ones that must not.
    expect(commands).toBeGreaterThan(100)
  })
})

function expectNumbers(state: ReservoirState): void {
  const { filter } = state.core!.history
  expect([...filter.mean, ...filter.covariance].every(Number.isFinite)).toBe(true)
  const { elements, volumeL, conductivityDsPerM, alkalinityMeqPerL } = estimateOf(filter)
  const values = Object.values(elements).flatMap(({ mgPerL, sdMgPerL }) => [mgPerL, sdMgPerL])
  expect([volumeL, conductivityDsPerM, alkalinityMeqPerL, ...values].every(Number.isFinite)).toBe(true)
  expect(volumeL).toBeGreaterThan(0)
  expect(values.every((value) => value >= 0)).toBe(true)
}
