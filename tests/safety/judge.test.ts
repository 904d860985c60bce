import { describe, expect, it } from 'vitest'
import { withStock } from './arrangement.ts'
import { Bench, HOUR, LIMITS, MINUTE, readyBench } from './bench.ts'

describe('judge', () => {
  it('permits a shot within every limit, with the run rounded down to whole milliseconds', () => {
    const bench = readyBench()
    // 1 mL at 20 mL/min takes 3 s; at 42 mL/min it takes 1428.57 ms
    expect(bench.ask('acid', 1000).verdict).toMatchObject({ kind: 'permit', shot: { runMs: 3000, volumeUl: 1000 } })
    expect(readyBench(withStock('nitrate', { rateUlPerS: 700 })).ask('nitrate', 1000).verdict).toMatchObject({
      shot: { runMs: 1428 },
    })
  })

  it('refuses and never trims: one microlitre too much is no shot at all', () => {
    const bench = readyBench()
    const { verdict, state } = bench.ask('nitrate', 40_001)
    expect(verdict.kind).toBe('refuse')
    expect(state).toBe(bench.state)
  })

  it('counts a permitted shot in full before anybody can send it', () => {
    const bench = readyBench()
    bench.mustWish('nitrate', 30_000)
    expect(bench.headroom('nitrate').hourUl).toBe(50_000)
    expect(bench.headroom('nitrate').dayUl).toBe(670_000)
  })

  it('asks as nobody, at no boot and in no term, before the first start', () => {
    const { verdict } = new Bench().ask('nitrate', 1000)
    expect(verdict).toMatchObject({
      kind: 'refuse',
      asked: {
        id: 'c-asked',
        node: 'bench',
        pump: 'pump-3',
        boot: '',
        controller: '',
        term: 0,
        startBeforeUptimeMs: 0,
      },
      totalRunMs: 0,
    })
  })

  it('leaves the state it was given as it was', () => {
    const bench = readyBench()
    const before = JSON.stringify(bench.state)
    const { state } = bench.ask('nitrate', 1000)
    expect(JSON.stringify(bench.state)).toBe(before)
    expect(state.book.commands).toHaveLength(1)
  })

  it('tells what was found, what is allowed and when the next chance is', () => {
    const bench = readyBench()
    bench.dose('calcium', 12_000)
    bench.pass(3 * MINUTE)
    const { verdict } = bench.ask('phosphate', 12_000)
    expect(verdict).toMatchObject({
      kind: 'refuse',
      why: [
        {
          interlock: 'stocks-apart',
          sentence: 'Refused 12 mL of phosphate: calcium ran 3 min ago and 20 min must pass. Next chance in 17 min.',
          notBeforeMs: bench.atMs + 17 * MINUTE,
        },
      ],
    })
  })

  it('says of a shot that ended this moment that it ran, and of one on its way that it may still run', () => {
    const bench = readyBench()
    bench.dose('calcium', 1000)
    const found = () => {
      const { verdict } = bench.ask('calcium', 1000)
      return verdict.kind === 'refuse' ? verdict.why.map((why) => why.sentence).join(' ') : ''
    }
    expect(found()).toContain('calcium ran 0 ms ago and 5 min must pass')
    bench.pass(5 * MINUTE)
    bench.mustWish('calcium', 1000)
    expect(found()).toContain('calcium may still be running and 5 min must pass')
  })

  it('tells when an hour’s cap has room again, and no time where it never will', () => {
    const bench = readyBench(withStock('nitrate', { hourMaxUl: 50_000 }))
    bench.dose('nitrate', 30_000)
    const endedMs = bench.atMs
    bench.pass(10 * MINUTE)
    const { verdict } = bench.ask('nitrate', 30_000)
    expect(verdict.kind === 'refuse' && verdict.why).toEqual([
      {
        interlock: 'hour-bounded',
        sentence:
          'Refused 30 mL of nitrate: 30 mL went in or may have gone in within the hour, at most 50 mL may. ' +
          'Next chance in 50 min.',
        notBeforeMs: endedMs + HOUR,
      },
    ])
    const never = bench.ask('nitrate', 60_000).verdict
    const hour = never.kind === 'refuse' ? never.why.find((why) => why.interlock === 'hour-bounded') : undefined
    expect(hour?.sentence).not.toContain('Next chance')
    expect(hour).not.toHaveProperty('notBeforeMs')
  })

  it('is right about the next chance: a millisecond before it is refused, then it is permitted', () => {
    const bench = readyBench()
    bench.dose('calcium', 12_000)
    bench.pass(3 * MINUTE)
    const { verdict } = bench.ask('phosphate', 12_000)
    const notBeforeMs = verdict.kind === 'refuse' ? (verdict.why[0]?.notBeforeMs ?? 0) : 0
    bench.pass(notBeforeMs - bench.atMs - 1)
    expect(bench.refusals('phosphate', 12_000)).toEqual(['stocks-apart'])
    bench.pass(1)
    expect(bench.refusals('phosphate', 12_000)).toEqual([])
  })

  it('puts every figure it judged on record, flat, and as JSON can say it', () => {
    const { verdict } = readyBench().ask('acid', 2000)
    expect(JSON.parse(JSON.stringify(verdict.figures))).toEqual(verdict.figures)
    expect(verdict.figures).toMatchObject({
      volumeUl: 2000,
      runMs: 6000,
      hourUl: 0,
      dayUl: 0,
      shotMaxUl: 8000,
      acidShotMaxUl: 8000,
      totalRunMs: 1000,
      doubtMs: 0,
      'level-1.ageMs': 0,
      'calcium.sinceMs': null,
      sinceShotMs: null,
      trips: '',
    })
  })

  it.each([Number.NaN, Infinity, -Infinity, -1, 0, 0.5, 1e15, 2 ** 53])('refuses %s µL of anything', (volumeUl) => {
    const bench = readyBench()
    for (const { stock } of LIMITS.stocks) {
      expect(bench.ask(stock, volumeUl).verdict.kind).toBe('refuse')
    }
  })
})

describe('a missing limit', () => {
  const names = ['rateUlPerS', 'shotMaxUl', 'hourMaxUl', 'dayMaxUl', 'gapMs']

  it.each(names)('of %s means that the stock is never dosed', (name) => {
    for (const value of [undefined, null, Number.NaN, -1]) {
      expect(readyBench(withStock('nitrate', { [name]: value })).ask('nitrate', 1000).verdict.kind).toBe('refuse')
    }
  })

  it.each(['rateUlPerS', 'shotMaxUl', 'hourMaxUl', 'dayMaxUl'])('of 0 for %s means the same', (name) => {
    expect(readyBench(withStock('nitrate', { [name]: 0 })).ask('nitrate', 1000).verdict.kind).toBe('refuse')
  })

  it.each(['meqPerMl', 'reservoirMinL', 'shotMaxMeqPerL', 'phFreshMs', 'phFloor', 'afterFlowMs'])(
    'of %s means that acid is never dosed, and other stocks are',
    (name) => {
      const limits = { ...LIMITS, acid: { ...LIMITS.acid, [name]: undefined } as unknown as typeof LIMITS.acid }
      const bench = readyBench(limits as typeof LIMITS)
      expect(bench.refusals('acid')).toContain('limits-complete')
      expect(bench.refusals('nitrate')).toEqual([])
    },
  )
})

describe('a sensor that is not fitted', () => {
  const reason = 'a gravity return without a place for one'
  const noFlow = {
    ...LIMITS,
    probes: LIMITS.probes.filter((probe) => probe.role !== 'flow'),
    notFitted: [{ role: 'flow' as const, reason }],
  }

  it('halves every cap where the share is a half', () => {
    expect(readyBench(noFlow).headroom('nitrate')).toMatchObject({ shotUl: 20_000, hourUl: 40_000, dayUl: 350_000 })
    expect(readyBench(noFlow).refusals('nitrate', 20_001)).toEqual(['shot-bounded'])
  })

  it('quarters them where two are missing', () => {
    const neither = {
      ...noFlow,
      probes: noFlow.probes.filter((probe) => probe.role !== 'level'),
      notFitted: [...noFlow.notFitted, { role: 'level' as const, reason }],
    }
    expect(readyBench(neither).headroom('nitrate')).toMatchObject({ shotUl: 10_000, hourUl: 20_000, dayUl: 175_000 })
  })

  it('leaves the caps as they are where the share is 1', () => {
    expect(readyBench({ ...noFlow, notFittedCapShare: 1 }).headroom('nitrate')).toMatchObject({ shotUl: 40_000 })
  })

  it.each([Number.NaN, -0.5, 1.5])('stops every dose where the share is %s', (notFittedCapShare) => {
    expect(readyBench({ ...noFlow, notFittedCapShare }).refusals('nitrate', 1)).toContain('shot-bounded')
  })
})

describe('the advise mode', () => {
  it('doses the approved plan only, and the approval ends with the mode and with a restart', () => {
    const bench = readyBench()
    bench.instruct({ instruction: 'mode', mode: 'advise' })
    bench.instruct({ instruction: 'approve', planId: 'plan-7' })
    expect(bench.refusals('nitrate', 1000, 'plan-7')).toEqual([])
    expect(bench.refusals('nitrate', 1000, 'plan-8')).toEqual(['mode-acts'])
    bench.instruct({ instruction: 'mode', mode: 'observe' })
    bench.instruct({ instruction: 'mode', mode: 'advise' })
    expect(bench.refusals('nitrate', 1000, 'plan-7')).toEqual(['mode-acts'])
  })

  it('says in words why it does not act', () => {
    const bench = readyBench()
    const found = (planId: string) => {
      const { verdict } = bench.ask('nitrate', 1000, planId)
      return verdict.kind === 'refuse' ? verdict.why[0]?.sentence : undefined
    }
    bench.instruct({ instruction: 'mode', mode: 'observe' })
    expect(found('plan-7')).toBe('Refused 1 mL of nitrate: the mode is observe, which never doses.')
    bench.instruct({ instruction: 'mode', mode: 'advise' })
    expect(found('plan-7')).toContain('nobody has approved plan plan-7')
    bench.instruct({ instruction: 'approve', planId: 'plan-7' })
    expect(found('plan-8')).toContain('plan plan-7 is approved, not plan-8')
    bench.pass(2 * HOUR)
    expect(found('plan-7')).toContain('the approval of plan plan-7 has lapsed')
  })
})
