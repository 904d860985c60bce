import { describe, expect, it } from 'vitest'
import { pruneBook, settleInBook } from '../../src/safety/book.ts'
import { type Facts, factsFor } from '../../src/safety/facts.ts'
import { INTERLOCKS } from '../../src/safety/interlocks.ts'
import type { Limits } from '../../src/safety/limits.ts'
import { calibrationDayUl } from '../../src/safety/sums.ts'
import { type Bench, DAY, HOUR, LIMITS, MINUTE, readyBench, SECOND } from './bench.ts'

const WISH = { stock: 'nitrate', volumeUl: 10_000, planId: 'plan-1' }

function sentenceOf(bench: Bench, interlock: string, volumeUl = 10_000): string | undefined {
  const { verdict } = bench.ask('nitrate', volumeUl)
  return verdict.kind === 'refuse' ? verdict.why.find((why) => why.interlock === interlock)?.sentence : undefined
}

describe('a refusal of which there are two reasons at once', () => {
  const elements = (K: number, P: number, Ca: number): Limits => ({
    ...LIMITS,
    stocks: LIMITS.stocks.map((e) => ({
      ...e,
      contentNgPerUl: e.stock === 'nitrate' ? { K: 100, P: 50, Ca: 10 } : {},
    })),
    elements: { volumeL: 100, dayMaxMgPerL: { K, P, Ca } },
  })

  it('tells of each element that is too much, and of no other', () => {
    const bench = readyBench(elements(0.009, 0.004, 0.001))
    expect(sentenceOf(bench, 'element-day-bounded')).toBe(
      'Refused 10 mL of nitrate: K: 0 mg/L of it went in or may have gone in within 24 h, counted in 100 L, at most ' +
        '0.009 mg/L may; P: 0 mg/L of it went in or may have gone in within 24 h, counted in 100 L, at most ' +
        '0.004 mg/L may.',
    )
  })

  it('waits for the last of them, and for none where one never comes', () => {
    const row = INTERLOCKS.find(({ id }) => id === 'element-day-bounded')!
    const bench = readyBench(elements(1, 1, 1))
    const facts = factsFor(bench.limits, bench.state, { stock: 'nitrate', atMs: bench.atMs })
    const waits = (...each: (number | null)[]) => {
      const told = each.map((wait) => ({ ...facts.elements[0]!, waitForNgMs: () => wait }))
      return row.waitMs!(WISH, { ...facts, elements: told } as Facts, bench.limits)
    }
    expect([waits(5, 9, 7), waits(9, 5), waits(null, 5), waits(5, null), waits()]).toEqual([9, 9, null, null, 0])
  })

  const TWINS: Limits = {
    ...LIMITS,
    probes: [
      ...LIMITS.probes,
      { id: 'ph-2', node: 'bench', role: 'ph', min: 4.8, max: 7.2 },
      { id: 'ec-2', node: 'bench', role: 'conductivity', min: 0.5, max: 2.8 },
    ],
    twinsWithin: { ph: 0.2, conductivity: 0.3 },
  }
  function twins(water: Readonly<Record<string, number>>, limits = TWINS): Bench {
    const bench = readyBench({
      ...limits,
      twinsWithin: { ph: { notChecked: 'a bench' }, conductivity: { notChecked: 'x' } },
    })
    bench.limits = limits
    bench.scan({ 'ph-1': 6, 'ph-2': 6, 'ec-1': 1.8, 'ec-2': 1.8, ...water } as Parameters<Bench['scan']>[0])
    return bench
  }

  it('tells of each pair of probes that differ, and of no other', () => {
    expect(sentenceOf(twins({ 'ph-2': 6.3 }), 'probes-agree')).toBe(
      'Refused 10 mL of nitrate: of ph, ph-1 reads 6 and ph-2 reads 6.3; 0.2 apart is allowed, ' +
        'so find out which of them is wrong.',
    )
    expect(sentenceOf(twins({ 'ph-2': 6.3, 'ec-2': 2.2 }), 'probes-agree')).toBe(
      'Refused 10 mL of nitrate: of conductivity, ec-1 reads 1.8 and ec-2 reads 2.2; 0.3 apart is allowed, ' +
        'so find out which of them is wrong; of ph, ph-1 reads 6 and ph-2 reads 6.3; 0.2 apart is allowed, ' +
        'so find out which of them is wrong.',
    )
  })

  it('does not ask of a ration that a lost probe agrees with its twin', () => {
    const ration = {
      ...({ reason: 'a crop starves', covers: ['ph'], lastsMs: DAY } as const),
      stocks: [{ stock: 'nitrate', ulPerL: 2000, dayMaxUl: 9000 }],
    }
    const bench = twins({ 'ph-2': Number.NaN }, { ...TWINS, ration })
    expect(bench.refusals('nitrate', 1)).toContain('probes-agree')
    bench.purpose = 'ration'
    expect(bench.refusals('nitrate', 1)).not.toContain('probes-agree')
  })

  it('says that a ration covers nothing where it does', () => {
    const ration = { reason: 'a crop starves', covers: [], lastsMs: DAY, stocks: [] }
    const bench = readyBench({ ...LIMITS, ration })
    bench.purpose = 'ration'
    expect(sentenceOf(bench, 'ration-loss')).toContain('every probe is well, and the ration covers nothing.')
    bench.scan({ 'ec-1': Number.NaN, 'ph-1': Number.NaN })
    expect(sentenceOf(bench, 'ration-loss')).toContain(
      'ec-1 (conductivity), ph-1 (ph); the ration covers one of nothing.',
    )
  })
})

describe('the book', () => {
  it('is the very same while nothing has left it', () => {
    const bench = readyBench()
    bench.dose('nitrate', 1000)
    const { book } = bench.state
    const endMs = bench.atMs
    expect(pruneBook(book, endMs + DAY - 1)).toBe(book)
    expect(pruneBook(book, endMs + DAY)).toEqual({ commands: [], stocks: { nitrate: { rows: [], lastEndMs: endMs } } })
    bench.pass(HOUR)
    bench.dose('nitrate', 500)
    bench.dose('calcium', 500)
    const kept = pruneBook(bench.state.book, endMs + DAY).stocks
    expect([kept['nitrate']?.rows.length, kept['calcium']?.rows.length]).toEqual([1, 1])
  })

  it('knows a run into a glass by the record of its end, or by its command where that record is older', () => {
    const bench = readyBench()
    const settlement = { atMs: bench.atMs, commandId: 'c', stock: 'nitrate', delivered: { lowUl: 900, highUl: 1000 } }
    const counted = (book: Parameters<typeof settleInBook>[1], purpose?: 'calibration') =>
      calibrationDayUl(LIMITS, settleInBook(LIMITS, book, { ...settlement, purpose }), 'nitrate', bench.atMs)
    const { book } = bench.state
    expect([counted(book), counted(book, 'calibration')]).toEqual([0, 1000])
    bench.mustWish('nitrate', 1000)
    const [open] = bench.state.book.commands
    const asked = { ...bench.state.book, commands: [{ ...open!, commandId: 'c', purpose: 'calibration' as const }] }
    expect([counted(asked), counted(asked, 'calibration')]).toEqual([1000, 1000])
  })
})

describe('a fall of the count', () => {
  it('closes the shot with what was heard of it: the growth of count and of doubt since before it', () => {
    const bench = readyBench()
    const memory = bench.pumps['pump-3']!
    memory.doubtMs = 4000
    bench.pass(MINUTE)
    bench.pass(10 * MINUTE)
    const shot = bench.mustWish('nitrate', 1000)
    Object.assign(memory, { runningId: shot.id, doubtMs: 7000 })
    bench.run('pump-3', 1500)
    bench.atMs += SECOND
    bench.beat()
    memory.totalRunMs -= 1
    bench.atMs += SECOND
    // 1.5 s and 3 s at 0.5 mL/s
    expect(bench.beat()[0]).toMatchObject({ kind: 'settled', delivered: { lowUl: 0, highUl: 2250 } })
  })
})
