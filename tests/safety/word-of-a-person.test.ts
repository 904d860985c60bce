import { describe, expect, it } from 'vitest'
import { NOTHING_UNVERIFIED } from '../../src/safety/effect-state.ts'
import { onAct } from '../../src/safety/on-act.ts'
import { onInstruction, type SafetyInstruction } from '../../src/safety/on-instruction.ts'
import { type Bench, LIMITS, readyBench } from './bench.ts'

const refused = (instruction: string, why: string) => [{ kind: 'instruction-refused', instruction, why }]

function say(bench: Bench, instruction: SafetyInstruction, by = 'ines', reason = 'a test') {
  return bench.take(onInstruction(bench.limits, bench.state, { atMs: bench.atMs, by, reason, instruction }))
}

describe('a mode that acts more', () => {
  it.each([
    ['', 'a reason'],
    ['  ', 'a reason'],
    ['ines', ''],
    ['ines', ' '],
  ])('is not set by "%s" for "%s"', (by, reason) => {
    const bench = readyBench()
    say(bench, { instruction: 'mode', mode: 'observe' })
    expect(say(bench, { instruction: 'mode', mode: 'advise' }, by, reason)).toEqual(
      refused('mode', 'from observe to advise needs a name and a reason; say who raises it and why'),
    )
    expect(bench.state.mode).toBe('observe')
  })

  it('is set step by step or at once by who signs', () => {
    const bench = readyBench()
    for (const mode of ['observe', 'advise', 'automatic', 'observe', 'automatic'] as const) {
      say(bench, { instruction: 'mode', mode })
      expect(bench.state.mode).toBe(mode)
    }
  })

  it('that is none of the three is no way up for who does not sign', () => {
    const bench = readyBench()
    const told = say(bench, { instruction: 'mode', mode: 'wide-open' as never }, '', '')
    expect(told).toMatchObject([{ kind: 'instruction-refused', instruction: 'mode' }])
  })

  it('or as much or less is free', () => {
    const bench = readyBench()
    for (const mode of ['automatic', 'advise', 'advise', 'observe', 'observe'] as const) {
      expect(say(bench, { instruction: 'mode', mode }, '', '').filter(({ kind }) => kind !== 'lease')).toEqual([])
      expect(bench.state.mode).toBe(mode)
    }
  })
})

describe('what loosens: the end of a hold, the reset of a trip, the approval of a plan', () => {
  const unsigned = [
    ['', 'a reason'],
    ['ines', ' '],
  ] as const

  it.each(unsigned)('a hold is not released by "%s" for "%s"', (by, reason) => {
    const bench = readyBench()
    say(bench, { instruction: 'hold' }, '', '')
    expect(say(bench, { instruction: 'release' }, by, reason)).toEqual(
      refused('release', 'it needs a name and a reason; say who releases it and why'),
    )
    expect(bench.state.held).not.toBeNull()
    say(bench, { instruction: 'release' })
    expect(bench.state.held).toBeNull()
  })

  it.each(unsigned)('a trip is not reset by "%s" for "%s"', (by, reason) => {
    const bench = readyBench()
    bench.state = { ...bench.state, trips: [{ trip: 'unasked-run', subject: 'phosphate', atMs: bench.atMs, why: 'x' }] }
    expect(say(bench, { instruction: 'reset', trip: 'unasked-run' }, by, reason)).toEqual(
      refused('reset', 'it needs a name and a reason; say who resets it and why'),
    )
    expect(bench.state.trips).toHaveLength(1)
    say(bench, { instruction: 'reset', trip: 'unasked-run' })
    expect(bench.state.trips).toHaveLength(0)
  })

  it.each(unsigned)('a plan is not approved by "%s" for "%s"', (by, reason) => {
    const bench = readyBench()
    expect(say(bench, { instruction: 'approve', planId: 'p-9' }, by, reason)).toEqual(
      refused('approve', 'it needs a name and a reason; say who approves it and why'),
    )
    expect(bench.state.approved?.planId).not.toBe('p-9')
    say(bench, { instruction: 'approve', planId: 'p-9' })
    expect(bench.state.approved?.planId).toBe('p-9')
  })
})

describe('the end of sanitising', () => {
  it('is refused where nothing is sanitised, and where nobody signs', () => {
    const bench = readyBench()
    const end = { instruction: 'sanitise', phase: 'end' } as const
    expect(say(bench, end)).toEqual(refused('sanitise', 'the system is not being sanitised'))
    say(bench, { instruction: 'sanitise', phase: 'begin' })
    expect(say(bench, end, '', '')).toEqual(
      refused('sanitise', 'its end needs a name and a reason; say who ends it and why'),
    )
  })
})

describe('a rinse or a probe check', () => {
  it.each(['rinsed', 'probe-checked'] as const)('(%s) where nothing was sanitised is only a note', (act) => {
    const bench = readyBench()
    expect(bench.act(act)).toEqual([])
    expect(bench.state.sanitise).toBeNull()
  })
})

describe('a reset', () => {
  const trip = (name: string, subject: string) => ({ trip: name, subject, why: 'seen', atMs: 0 })

  function tripped(...trips: readonly ReturnType<typeof trip>[]): Bench {
    const bench = readyBench()
    bench.state = {
      ...bench.state,
      trips,
      effects: { nitrate: bench.state.effects['nitrate']!, acid: bench.state.effects['acid']! },
    }
    return bench
  }

  it('takes the trip that it names and no other', () => {
    const bench = tripped(trip('pump-overran', 'bench/pump-3'), trip('pump-ran-alone', 'bench/pump-1'))
    say(bench, { instruction: 'reset', trip: 'pump-overran' })
    expect(bench.state.trips.map((latched) => latched.trip)).toEqual(['pump-ran-alone'])
  })

  describe('about an effect', () => {
    const seen = { ...NOTHING_UNVERIFIED, unverifiedUl: 700 }
    const unverified = (bench: Bench) =>
      Object.entries(bench.state.effects).flatMap(([stock, { unverifiedUl }]) => (unverifiedUl > 0 ? [stock] : []))
    const afterReset = (...trips: readonly ReturnType<typeof trip>[]) => {
      const bench = tripped(...trips)
      bench.state = { ...bench.state, effects: { nitrate: seen, calcium: seen } }
      say(bench, { instruction: 'reset', trip: trips[0]!.trip })
      return unverified(bench)
    }

    it('asks for no evidence of before of the stock that it is about, and of that one alone', () => {
      expect(afterReset(trip('effect-none', 'nitrate'))).toEqual(['calcium'])
      expect(afterReset(trip('effect-none', 'nitrate'), trip('effect-unseen', 'calcium'))).toEqual(['calcium'])
    })

    it('that is known from its record alone asks for none of any stock', () => {
      expect(afterReset(trip('effect-none', ''))).toEqual([])
    })

    it('is no other reset: one of a pump forgets nothing of what a dose did', () => {
      expect(afterReset(trip('pump-overran', 'nitrate'))).toEqual(['nitrate', 'calcium'])
      expect(afterReset(trip('pump-overran', ''))).toEqual(['nitrate', 'calcium'])
    })
  })

  it('of what is not latched says what is', () => {
    const bench = tripped(trip('pump-overran', 'bench/pump-3'), trip('pump-ran-alone', 'bench/pump-1'))
    expect(say(bench, { instruction: 'reset', trip: 'x' })).toEqual(
      refused('reset', 'x is not latched; what is: pump-overran, pump-ran-alone'),
    )
    expect(say(readyBench(), { instruction: 'reset', trip: 'x' })).toEqual(
      refused('reset', 'x is not latched; nothing is'),
    )
  })
})

describe('a pump’s rate', () => {
  it('beyond half and double is refused with the rates that are believed', () => {
    const bench = readyBench()
    const why = (rate: number) =>
      `${rate} mL/min for nitrate is not between 15 and 60 mL/min; measure again, or change the site’s rate if the pump was changed`
    for (const rateMlPerMin of [14.9, 60.1])
      expect(say(bench, { instruction: 'pump-rate', stock: 'nitrate', rateMlPerMin })).toEqual(
        refused('pump-rate', why(rateMlPerMin)),
      )
  })

  it('of a stock that the limits do not name is refused', () => {
    expect(say(readyBench(), { instruction: 'pump-rate', stock: 'gone', rateMlPerMin: 30 })).toEqual(
      refused(
        'pump-rate',
        'gone has no limits, so its pump rate is of no use; give it an entry in the limits file first',
      ),
    )
  })
})

describe('solution that a hand let go, or salt that it put in', () => {
  const effect = { contrast: { some: 'thing' } } as never

  it.each(['drained', 'changed', 'salt-added'] as const)(
    '(%s) makes nothing that was being measured evidence',
    (act) => {
      const bench = readyBench()
      const state = { ...bench.state, effects: { nitrate: effect }, effectBins: [{} as never] }
      const next = onAct(LIMITS, state, { atMs: bench.atMs, act: { act } }).state
      expect(next).toEqual({
        ...state,
        effects: { nitrate: { contrast: null } },
        effectBins: [],
        effectQuietUntilMs: bench.atMs + 4 * LIMITS.mixingMs,
      })
    },
  )

  it.each(['noted', 'harvested', 'topped-up'] as const)('is not what %s tells', (act) => {
    const bench = readyBench()
    expect(onAct(LIMITS, bench.state, { atMs: bench.atMs, act: { act } }).state).toBe(bench.state)
  })
})
