import { beforeAll, describe, expect, it } from 'vitest'
import type { Configuration } from '../../../src/config/configuration.ts'
import { finishRerun } from '../../../src/core/estimate/history.ts'
import { stateSize } from '../../../src/core/estimate/layout.ts'
import { recover } from '../../../src/reservoir/recover.ts'
import { decodeSnapshot, encodeSnapshot, SNAPSHOT_SCHEMA } from '../../../src/reservoir/snapshot.ts'
import { initialReservoirState, type ReservoirSettings, type ReservoirState } from '../../../src/reservoir/state.ts'
import { step } from '../../../src/reservoir/step.ts'
import {
  type Entry,
  effectsOf,
  inputsOf,
  LoopBench,
  MINUTE_MS,
  NODE,
  recordsOf,
  replay,
  START_MS,
} from '../../support/loop/bench.ts'
import { eventfulDay } from '../../support/loop/eventful-day.ts'
import { bits } from '../../support/loop/recorded-week.ts'
import { quarryLane } from '../../support/loop/site.ts'

let automatic: Configuration
let day: LoopBench
/** the state before each input of the day */
let states: ReservoirState[]

beforeAll(async () => {
  automatic = await quarryLane('automatic')
  day = eventfulDay(automatic)
  states = [initialReservoirState(day.settings)]
  for (const input of inputsOf(day)) states.push(step(day.settings, states.at(-1)!, input).state)
})

/** The state of a process that died before input `at`, from a snapshot before input `from` and the records since. */
function recoveredAt(at: number, from = 0): ReservoirState {
  const read = decodeSnapshot<ReservoirState>(encodeSnapshot(states[from], 'h'), 'h')
  if (read.kind !== 'state') throw new Error(read.why)
  const asRead = (entries: readonly Entry[]) => JSON.parse(JSON.stringify(recordsOf(entries)))
  const since = asRead(day.log.slice(from, at))
  return recover(
    day.settings,
    { snapshot: read.state, since, deliveries: asRead(day.log.slice(0, at)) },
    states[at]!.atMs,
  )
}

function beliefOf(settings: ReservoirSettings, { core }: ReservoirState): string {
  return core ? bits(finishRerun(settings.core, core.cohorts, core.history).filter) : 'none'
}

const cuts = (count: number) =>
  Array.from({ length: count }, (_cut, at) => Math.floor(((at + 1) * day.log.length) / (count + 1)))

describe('a process that died', () => {
  it('knows what was drawn from every bottle, and where sanitising stands, wherever it died', () => {
    expect(Object.values(states.at(-1)!.safety.bottles).some(({ usedUl }) => usedUl > 0)).toBe(true)
    for (const at of cuts(10)) {
      for (const from of [0, Math.floor(at / 2)]) {
        const { safety } = recoveredAt(at, from)
        expect(safety.bottles, `input ${at}, snapshot before ${from}`).toEqual(states[at]!.safety.bottles)
        expect(safety.sanitise).toEqual(states[at]!.safety.sanitise)
      }
    }
  })

  it('comes back to the same estimate, bit for bit, wherever it died and whatever snapshot was left', () => {
    for (const at of cuts(25)) {
      for (const from of [0, Math.floor(at / 2), Math.max(0, at - 3)])
        expect(beliefOf(day.settings, recoveredAt(at, from)), `input ${at}, snapshot before ${from}`).toBe(
          beliefOf(day.settings, states[at]!),
        )
    }
  })

  it('comes back to the same mode, hold, trips, measured pump rates, cohorts, calibration and count of commands', () => {
    for (const at of cuts(25)) {
      const [back, live] = [recoveredAt(at, Math.floor(at / 3)), states[at]!]
      const { mode, held, trips, ratesUlPerS, term } = live.safety
      expect(back.safety).toMatchObject({ mode, held, trips, ratesUlPerS, term })
      expect(back.core?.cohorts).toEqual(live.core?.cohorts)
      expect(back.core?.sense.calibrations).toEqual(live.core?.sense.calibrations)
      expect(back.core?.sampledAtMs).toEqual(live.core?.sampledAtMs)
      expect(back.core?.doubtful).toEqual(live.core?.doubtful)
      expect(back.commandCount).toBe(live.commandCount)
      for (const [alarm, { condition }] of Object.entries(live.alarms))
        if (condition !== 'normal') expect(back.alarms[alarm]?.condition, alarm).toBe(condition)
    }
  })

  it('comes back to the same book of what was or may have been delivered', () => {
    for (const at of cuts(25)) {
      const live = states[at]!.safety.book
      const back = recoveredAt(at, Math.floor(at / 3)).safety.book
      expect(back.stocks).toEqual(live.stocks)
      expect(back.commands.map(({ sent: _sent, isFromBefore: _before, ...rest }) => rest)).toEqual(
        live.commands.map(({ sent: _sent, ...rest }) => rest),
      )
    }
  })

  it('counts make-up water once, though the snapshot was taken in the middle of a step', () => {
    const meterOf = (state: ReservoirState) => state.core?.sense.meterAtStepL ?? 0
    for (const at of cuts(25))
      expect(meterOf(recoveredAt(at, Math.max(1, at - 40)))).toBeCloseTo(meterOf(states[at]!), 6)
  })

  it('keeps a trip that nobody has reset', () => {
    const bench = new LoopBench(automatic)
    bench.start()
    bench.minutes(60)
    bench.totals.set('pump-1', 60_000)
    bench.minutes(2)
    expect(bench.state.safety.trips.map(({ trip }) => trip)).toEqual(['pump-ran-alone'])
    const records = recordsOf(bench.log)
    const snapshot = initialReservoirState(bench.settings)
    const back = recover(bench.settings, { snapshot, since: records, deliveries: records }, bench.nowMs)
    expect(back.safety.trips.map(({ trip }) => trip)).toEqual(['pump-ran-alone'])
    expect(back.safety.book.stocks).toEqual(bench.state.safety.book.stocks)
  })
})

describe('a start after a crash', () => {
  /** A bench that goes on from what the records say, its node still running. */
  function restarted(at: number): LoopBench {
    const bench = new LoopBench(automatic, recoveredAt(at))
    bench.nowMs = states[at]!.atMs + MINUTE_MS
    for (const [pump, { totalRunMs }] of Object.entries(states[at]!.safety.nodes[NODE]!.pumps))
      bench.totals.set(pump, totalRunMs ?? 0)
    return bench
  }

  it('sends no command of its own, and doses nothing before every probe was read anew', () => {
    for (const at of cuts(8)) {
      const bench = restarted(at)
      const shown = bench.shown
      bench.shown = { ...shown, 'ph-1': undefined }
      bench.start(2)
      bench.minutes(150)
      expect(
        effectsOf(bench).filter(({ kind }) => kind === 'command'),
        `input ${at}`,
      ).toEqual([])
    }
  })

  it('calls a shot unknown that was on its way, once and aloud, so that the balance holds what it may have brought', () => {
    const at = day.log.findIndex(({ effects }) => effects.some(({ kind }) => kind === 'command')) + 2
    expect(states[at]!.safety.book.commands.map(({ status }) => status)).toEqual(['open'])
    const bench = restarted(at)
    bench.start(2)
    const settled = recordsOf(bench.log).filter(({ kind }) => kind === 'settled')
    expect(settled).toEqual([expect.objectContaining({ outcome: 'unknown', commandId: '1-1' })])
    const { open, doubtful } = bench.state.core!
    expect(open.doses).toEqual([expect.objectContaining({ commandId: '1-1', lowMl: 0 })])
    expect(open.doses[0]!.highMl).toBeGreaterThan(1)
    expect(doubtful.map(({ commandId }) => commandId)).toEqual(['1-1'])
    const again = recover(
      bench.settings,
      {
        snapshot: recoveredAt(at),
        since: recordsOf(bench.log),
        deliveries: [...recordsOf(day.log.slice(0, at)), ...recordsOf(bench.log)],
      },
      bench.nowMs,
    )
    expect(beliefOf(bench.settings, again)).toBe(beliefOf(bench.settings, bench.state))
    expect(again.safety.book.commands.map(({ status }) => status)).toEqual(['unknown'])
  })

  it('does not tell again what a report moved', () => {
    const at = day.log.findIndex(({ input }) => input.kind === 'laboratory-result') + 200
    const bench = restarted(at)
    bench.start(2)
    bench.minutes(5)
    const told = effectsOf(bench).filter((effect) => effect.kind === 'notification' && effect.event === 'laboratory')
    expect(told).toEqual([])
  })

  it('doses again once the probes are fresh and the node was heard', () => {
    const bench = restarted(cuts(3)[0]!)
    bench.start(2)
    bench.minutes(180)
    expect(effectsOf(bench).some(({ kind }) => kind === 'command')).toBe(true)
  })

  it('under a term that is not new never doses', () => {
    const bench = restarted(cuts(3)[0]!)
    bench.start(1)
    bench.minutes(180)
    expect(effectsOf(bench).filter(({ kind }) => kind === 'command')).toEqual([])
  })
})

describe('a snapshot', () => {
  it('has a schema of its own for each length of the filter’s state: who adds an unknown raises both', () => {
    expect({ schema: SNAPSHOT_SCHEMA, unknowns: stateSize(0) }).toEqual({ schema: 5, unknowns: 41 })
  })

  it('in the middle of a day goes on as if it had never stopped, byte for byte', () => {
    for (const at of cuts(5)) {
      const read = decodeSnapshot<ReservoirState>(encodeSnapshot(states[at], 'h'), 'h')
      if (read.kind !== 'state') throw new Error(read.why)
      expect(read.state).toEqual(states[at])
      const onwards = replay(day.settings, read.state, inputsOf(day).slice(at))
      expect(onwards.effects).toEqual(day.log.slice(at).map(({ effects }) => JSON.stringify(effects)))
    }
  })

  it('keeps what JSON cannot say: endless numbers, no number, minus nothing, arrays of them', () => {
    const odd = {
      high: Number.POSITIVE_INFINITY,
      none: Number.NaN,
      minus: -0,
      list: Float64Array.of(-0, Number.NaN, 1e-308),
    }
    expect(decodeSnapshot(encodeSnapshot(odd, 'h'), 'h')).toEqual({ kind: 'state', state: odd })
  })

  it('is not read where it is torn, or belongs to another configuration', () => {
    const bytes = encodeSnapshot({ atMs: START_MS }, 'one')
    expect(decodeSnapshot(bytes.slice(0, -5), 'one')).toEqual({ kind: 'unreadable', why: 'the snapshot is not whole' })
    expect(decodeSnapshot(bytes, 'other')).toMatchObject({ why: 'the snapshot belongs to another configuration' })
    const older = new TextEncoder().encode(new TextDecoder().decode(bytes).replace(/"schema":\d+/, '"schema":0'))
    expect(decodeSnapshot(older, 'one')).toMatchObject({ why: expect.stringMatching(/schema 0/) })
  })
})
