import { beforeAll, describe, expect, it } from 'vitest'
import type { Configuration } from '../../../src/config/configuration.ts'
import type { Act, Input, LaboratoryResult } from '../../../src/reservoir/input.ts'
import { HOUR_MS, LoopBench, MINUTE_MS, START_MS } from '../../support/loop/bench.ts'
import { after, bits, coreOf, RECORD_END_MS, recordDays, stateOf } from '../../support/loop/recorded-week.ts'
import { quarryLane } from '../../support/loop/site.ts'

let configuration: Configuration
let recorded: readonly Input[]

beforeAll(async () => {
  configuration = await quarryLane('observe')
  recorded = recordDays(configuration)
})

const result = (id: string, sampledAtMs: number, potassium = 170): LaboratoryResult => ({
  id,
  sampledAtMs,
  values: [
    { element: 'NO3-N', mgPerL: 131 },
    { element: 'K', mgPerL: potassium },
    { element: 'Ca', mgPerL: 140 },
    { element: 'NH4-N', belowMgPerL: 0.2 },
  ],
})
const arrives = (atMs: number, one: LaboratoryResult): Input => ({
  kind: 'laboratory-result',
  atMs,
  by: 'laboratory',
  result: one,
})
const withdrawn = (atMs: number, id: string): Input => ({ kind: 'laboratory-withdrawal', atMs, by: 'laboratory', id })
let plain: ReturnType<typeof after> | undefined
/** The recorded days with nothing slipped in, run once. */
const asRecorded = () => {
  plain ??= after(configuration, recorded)
  return plain
}
const beliefAfter = (...slipped: readonly Input[]) =>
  bits(coreOf(configuration, after(configuration, recorded, slipped).reservoir).history.filter)

const LONG_MS = 10 * HOUR_MS
/** 13 minutes and 7 seconds past a mark of the ten-minute grid. */
const SAMPLED_MS = START_MS + 14 * HOUR_MS + 13 * MINUTE_MS + 7000

describe('a laboratory result that comes late', () => {
  it.each([
    ['in the middle of a step', SAMPLED_MS],
    ['on the very mark between two steps', START_MS + 14 * HOUR_MS],
    ['a millisecond after a mark', START_MS + 14 * HOUR_MS + 1],
    ['on a checkpoint', START_MS + 24 * HOUR_MS],
    ['in the first step of all', START_MS + 1],
  ])('of a bottle filled %s is worth exactly what it would have been on time', (_when, sampledAtMs) => {
    const onTime = after(configuration, recorded, [arrives(sampledAtMs, result('r1', sampledAtMs))])
    const late = after(configuration, recorded, [arrives(RECORD_END_MS - 1, result('r1', sampledAtMs))])
    expect(bits(coreOf(configuration, late.reservoir).history.filter)).toBe(
      bits(coreOf(configuration, onTime.reservoir).history.filter),
    )
    expect(late.reservoir.estimate()).toEqual(onTime.reservoir.estimate())
    expect(late.reservoir.estimate()).not.toEqual(asRecorded().reservoir.estimate())
  })

  it('may come before one whose bottle was filled earlier', () => {
    const [one, other] = [result('r1', SAMPLED_MS), result('r2', SAMPLED_MS + 2 * LONG_MS, 150)]
    const inOrder = beliefAfter(arrives(one.sampledAtMs, one), arrives(other.sampledAtMs, other))
    expect(beliefAfter(arrives(RECORD_END_MS - 3, other), arrives(RECORD_END_MS - 2, one))).toBe(inOrder)
    expect(beliefAfter(arrives(RECORD_END_MS - 2, one), arrives(RECORD_END_MS - 1, other))).toBe(inOrder)
  })

  it('may come before another of a bottle filled in the same ten minutes', () => {
    const [one, other] = [result('r2', SAMPLED_MS), result('r1', SAMPLED_MS + 2 * MINUTE_MS, 150)]
    const inOrder = beliefAfter(arrives(one.sampledAtMs, one), arrives(other.sampledAtMs, other))
    expect(beliefAfter(arrives(RECORD_END_MS - 2, other), arrives(RECORD_END_MS - 1, one))).toBe(inOrder)
  })

  it('comes corrected under the same id: only the correction counts, also where the date was wrong', () => {
    const right = result('r1', SAMPLED_MS)
    const onTime = beliefAfter(arrives(SAMPLED_MS, right))
    const wrong = arrives(SAMPLED_MS + LONG_MS, result('r1', SAMPLED_MS, 710))
    expect(beliefAfter(wrong, arrives(RECORD_END_MS - 1, right))).toBe(onTime)
    const misdated = arrives(SAMPLED_MS + 3 * LONG_MS, result('r1', SAMPLED_MS + 2 * LONG_MS))
    expect(beliefAfter(misdated, arrives(RECORD_END_MS - 1, right))).toBe(onTime)
  })

  it('comes corrected while another bottle of its step is there: the order of the bottles stays', () => {
    const [one, other] = [result('r1', SAMPLED_MS), result('r2', SAMPLED_MS + MINUTE_MS, 150)]
    const onTime = beliefAfter(arrives(SAMPLED_MS, one), arrives(SAMPLED_MS + MINUTE_MS, other))
    const wrong = arrives(SAMPLED_MS, result('r1', SAMPLED_MS, 210))
    expect(beliefAfter(wrong, arrives(SAMPLED_MS + LONG_MS, other), arrives(RECORD_END_MS - 1, one))).toBe(onTime)
  })

  it('is withdrawn: the estimate becomes what it would have been without it, and so does the age of the last bottle', () => {
    const taken = arrives(SAMPLED_MS + LONG_MS, result('r1', SAMPLED_MS))
    const { reservoir } = after(configuration, recorded, [taken, withdrawn(RECORD_END_MS - 1, 'r1')])
    const core = coreOf(configuration, reservoir)
    expect(bits(core.history.filter)).toBe(beliefAfter())
    expect(core.sampledAtMs).toBeNull()
  })

  it('tells what it moved, once, when it is in the estimate', () => {
    const { effects } = after(configuration, recorded, [arrives(RECORD_END_MS - HOUR_MS, result('r1', SAMPLED_MS))])
    const told = effects.filter((effect) => effect.kind === 'notification' && effect.event === 'laboratory')
    expect(told).toHaveLength(2)
    expect(told[1]).toMatchObject({
      text: expect.stringMatching(/r1 moved the estimate, mg\/L: NO3-N .* K \d+±\d+ → \d+±\d+/),
    })
  })
})

describe('a laboratory result that cannot count', () => {
  const refusedAs = (slipped: Input, why: RegExp) => {
    const { reservoir, effects } = after(configuration, recorded, [slipped])
    const without = asRecorded().reservoir
    expect(stateOf(configuration, reservoir).core).toEqual(stateOf(configuration, without).core)
    const events = effects.filter((effect) => effect.kind === 'record' && effect.record.kind === 'event')
    expect(events).toEqual([
      { kind: 'record', record: expect.objectContaining({ event: 'refused', text: expect.stringMatching(why) }) },
    ])
    expect(effects.some((effect) => effect.kind === 'record' && effect.record.kind === 'laboratory')).toBe(false)
  }

  it('is refused and moves nothing where the bottle was filled before the oldest kept step', () => {
    refusedAs(arrives(RECORD_END_MS - 1, result('r1', START_MS)), /before the oldest kept step/)
  })

  it('is refused and moves nothing where the bottle is filled in the future', () => {
    refusedAs(
      arrives(RECORD_END_MS - HOUR_MS, result('r1', RECORD_END_MS)),
      /its sample time lies 60 min in the future/,
    )
  })

  it.each([
    ['an element that is not tracked', { element: 'Si', mgPerL: 4 }, /Si is not an element that is tracked/],
    ['a negative value', { element: 'K', mgPerL: -1 }, /-1 mg\/L cannot be/],
    ['no number', { element: 'K', mgPerL: Number.NaN }, /cannot be/],
    ['a detection limit of 0', { element: 'K', belowMgPerL: 0 }, /detection limit/],
  ])('is refused whole for %s', (_what, value, why) => {
    const one = { id: 'r1', sampledAtMs: SAMPLED_MS, values: [{ element: 'Ca', mgPerL: 140 }, value] }
    refusedAs(arrives(RECORD_END_MS - 1, one), why)
  })

  it('is refused without any value', () => {
    refusedAs(arrives(RECORD_END_MS - 1, { id: 'r1', sampledAtMs: SAMPLED_MS, values: [] }), /no value/)
  })

  it('is no result to withdraw where nobody knows its id', () => {
    refusedAs(withdrawn(RECORD_END_MS - 1, 'r9'), /no kept step has a result of this id/)
  })
})

describe('something done by hand and logged late', () => {
  const acted = (atMs: number, act: Act): Input => ({ kind: 'act', atMs, by: 'Ines', act })
  const drained: Act = { act: 'drained', doneAtMs: SAMPLED_MS, volumeL: 60 }
  const refilled: Act = { act: 'topped-up', doneAtMs: SAMPLED_MS + 4 * MINUTE_MS, volumeL: 60 }
  const salted: Act = { act: 'salt-added', doneAtMs: SAMPLED_MS + 5 * MINUTE_MS, salt: 'potassium nitrate', massG: 30 }
  const harvested: Act = { act: 'harvested', doneAtMs: SAMPLED_MS, cohort: 'lettuce-1' }

  it.each([
    ['solution let go', [drained]],
    ['salt added', [salted]],
    ['a renewal, noted from the last to the first', [salted, refilled, drained]],
    ['a harvest', [harvested]],
    ['a harvest on the mark', [{ ...harvested, doneAtMs: START_MS + 14 * HOUR_MS }]],
    ['plants that came', [{ act: 'transplanted', doneAtMs: SAMPLED_MS, crop: 'basil', plants: 40, cohort: 'basil-2' }]],
    ['a stock mixed anew', [{ act: 'stock-refilled', doneAtMs: SAMPLED_MS, stock: 'nitrate', volumeMl: 5000 }]],
  ] as [string, Act[]][])('counts from when it was done: %s', (_what, acts) => {
    const onTime = beliefAfter(...[...acts].reverse().map((act) => acted(act.doneAtMs, act)))
    const late = beliefAfter(...acts.map((act, at) => acted(RECORD_END_MS - 10 + at, act)))
    expect(late).toBe(onTime)
    expect(late).not.toBe(beliefAfter())
  })

  it('keeps the order in which cohorts drink, so that a report after a harvest still counts to the last bit', () => {
    const three = {
      act: 'transplanted',
      doneAtMs: START_MS + HOUR_MS,
      crop: 'basil',
      plants: 7,
      cohort: 'basil-2',
    } as const
    const story = [
      acted(three.doneAtMs, three),
      acted(SAMPLED_MS + 9 * HOUR_MS, { ...harvested, doneAtMs: SAMPLED_MS + 9 * HOUR_MS }),
    ]
    const report = result('r1', SAMPLED_MS)
    expect(beliefAfter(...story, arrives(RECORD_END_MS - 1, report))).toBe(
      beliefAfter(...story, arrives(SAMPLED_MS, report)),
    )
  })

  it('corrects a cohort that was logged wrongly, from the day the wrong one would have begun to drink', () => {
    const cohort = { act: 'transplanted', crop: 'basil', cohort: 'basil-2' } as const
    const right = { ...cohort, doneAtMs: SAMPLED_MS + LONG_MS, plants: 40 }
    const wrong = { ...cohort, doneAtMs: SAMPLED_MS, plants: 400 }
    expect(beliefAfter(acted(SAMPLED_MS, wrong), acted(RECORD_END_MS - 1, right))).toBe(
      beliefAfter(acted(right.doneAtMs, right)),
    )
  })

  it.each([
    [{ act: 'salt-added', doneAtMs: SAMPLED_MS, salt: 'kryptonite', massG: 1 }, /no salt "kryptonite" on the shelf/],
    [{ act: 'salt-added', doneAtMs: SAMPLED_MS, salt: 'potassium nitrate', massG: Number.POSITIVE_INFINITY }, /mass/],
    [{ act: 'drained', doneAtMs: SAMPLED_MS, volumeL: -3 }, /a volume of -3 L; above 0 and up to 2600 L can be/],
    [{ act: 'drained', doneAtMs: Number.NaN, volumeL: 3 }, /no time/],
    [{ act: 'drained', doneAtMs: RECORD_END_MS + HOUR_MS, volumeL: 3 }, /in the future/],
    [{ act: 'drained', doneAtMs: START_MS, volumeL: 3 }, /before the oldest kept step/],
    [{ act: 'transplanted', doneAtMs: SAMPLED_MS, crop: 'basil', plants: Number.NaN, cohort: 'b' }, /plants/],
    [
      { act: 'transplanted', doneAtMs: SAMPLED_MS, crop: 'triffid', plants: 3, cohort: 't' },
      /no crop "triffid"; there are .*basil/,
    ],
    [{ act: 'harvested', doneAtMs: SAMPLED_MS, cohort: 'nobody' }, /no cohort "nobody"; there are lettuce-1, basil-1/],
    [{ act: 'stock-refilled', doneAtMs: SAMPLED_MS, stock: 'nothing', volumeMl: 1 }, /no stock "nothing"/],
  ] as [Act, RegExp][])('is refused with the reason where it cannot be: %j', (act, why) => {
    const bench = new LoopBench(configuration)
    bench.start()
    bench.minutes(20)
    const { core } = bench.state
    bench.nowMs = RECORD_END_MS
    const effects = bench.act(act)
    expect(effects.find((effect) => effect.kind === 'notification' && effect.event === 'refused')).toMatchObject({
      text: expect.stringMatching(why),
    })
    expect(bench.state.core?.cohorts).toEqual(core?.cohorts)
    expect(bench.state.core?.history.stretches.every(({ steps }) => steps.every((one) => one.acts.length === 0))).toBe(
      true,
    )
  })
})
