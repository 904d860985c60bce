import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { headroom, shotRoom } from '../../src/safety/headroom.ts'
import type { Limits } from '../../src/safety/limits.ts'
import { wait, withStock } from './arrangement.ts'
import { type Bench, HOUR, LIMITS, MINUTE, readyBench, SECOND } from './bench.ts'
import { moves, play } from './campaign.ts'

describe('headroom', () => {
  it('is what judge permits: all of it, any part of it, and not one microlitre more', () => {
    let permitted = 0
    fc.assert(
      fc.property(moves, fc.double({ min: 0, max: 1, noNaN: true }), (list, share) => {
        play(list, (bench) => {
          for (const { stock } of bench.limits.stocks) {
            const { shotUl } = bench.headroom(stock)
            expect(shotRoom(bench.limits, bench.state, bench.atMs)(stock)).toBe(shotUl)
            expect(bench.refusals(stock, shotUl + 1)).not.toEqual([])
            if (shotUl === 0) continue
            permitted += 1
            expect(bench.refusals(stock, shotUl)).toEqual([])
            expect(bench.refusals(stock, Math.max(1, Math.floor(shotUl * share)))).toEqual([])
          }
        })
      }),
      { numRuns: 40 },
    )
    expect(permitted).toBeGreaterThan(100)
  })

  it('leaves nothing for a stock that the limits do not name', () => {
    const { limits, state, atMs } = readyBench()
    expect(shotRoom(limits, state, atMs)('calcium')).toBe(40_000)
    expect(shotRoom(limits, state, atMs)('bleach')).toBe(0)
  })

  it('leaves nothing for a shot that is due while one thing alone does not hold', () => {
    const bench = readyBench()
    bench.instruct({ instruction: 'hold' })
    const { limits, state, atMs } = bench
    expect(shotRoom(limits, state, atMs)('calcium')).toBe(0)
  })

  it('names when waits are over: not before, and then at once if all else is well', () => {
    let waited = 0
    fc.assert(
      fc.property(moves, (list) => {
        const { bench } = play(list)
        bench.pass(3 * MINUTE)
        for (const { stock } of bench.limits.stocks) {
          const { shotUl, notBeforeMs, blockedBy } = bench.headroom(stock)
          if (shotUl > 0 || blockedBy.length > 0) continue
          waited += 1
          expect(notBeforeMs).toBeGreaterThan(bench.atMs)
          bench.pass(notBeforeMs - bench.atMs)
          expect(bench.headroom(stock).shotUl, stock).toBeGreaterThan(0)
        }
      }),
      { numRuns: 40 },
    )
    expect(waited).toBeGreaterThan(10)
  })

  it('tells a site at rest what its limits file says', () => {
    expect(readyBench().headroom('calcium')).toEqual({
      stock: 'calcium',
      shotUl: 40_000,
      hourUl: 80_000,
      dayUl: 700_000,
      hourMaxUl: 80_000,
      shotMinUl: 0,
      shotMaxUl: 40_000,
      gapMs: 5 * MINUTE,
      notBeforeMs: readyBench().atMs,
      blockedBy: [],
      blockedWhy: [],
    })
  })

  it('asks of acid the mixing time as its gap and counts on the water that is there', () => {
    const bench = readyBench()
    bench.scan({ 'level-1': 180 })
    expect(bench.headroom('acid')).toMatchObject({ gapMs: 25 * MINUTE, shotUl: 7200, shotMaxUl: 7200 })
  })

  it('names what blocks and what only takes time', () => {
    const bench = readyBench()
    bench.dose('nitrate', 1000)
    bench.pass(MINUTE)
    expect(bench.headroom('nitrate')).toMatchObject({ shotUl: 0, notBeforeMs: bench.atMs + 4 * MINUTE, blockedBy: [] })
    bench.instruct({ instruction: 'hold' })
    expect(bench.headroom('nitrate')).toMatchObject({ blockedBy: ['not-held'] })
  })

  it('calls a last acid shot that still mixes a wait, not a block, so that a plan can count on the acid after it', () => {
    const bench = readyBench()
    bench.dose('acid', 1000)
    bench.pass(MINUTE)
    bench.scan()
    const { shotUl, notBeforeMs, blockedBy } = bench.headroom('acid')
    expect({ shotUl, blockedBy }).toEqual({ shotUl: 0, blockedBy: [] })
    expect(notBeforeMs).toBeGreaterThanOrEqual(bench.atMs + 24 * MINUTE)
    expect(notBeforeMs).toBeLessThan(bench.atMs + 26 * MINUTE)
  })

  it('names a silent pH probe as what blocks acid, since no waiting mends it', () => {
    const bench = readyBench()
    bench.dose('acid', 1000)
    wait(bench, 10 * MINUTE)
    expect(bench.headroom('acid').blockedBy).toContain('acid-ph-fresh')
  })

  it('names the hour’s end as a wait once the hour is used up', () => {
    const bench = readyBench(withStock('nitrate', { hourMaxUl: 1000 }))
    bench.dose('nitrate', 1000)
    const endedMs = bench.atMs
    bench.pass(10 * MINUTE)
    expect(bench.headroom('nitrate')).toMatchObject({ shotUl: 0, notBeforeMs: endedMs + HOUR, blockedBy: [] })
  })

  it('names a neighbour whose content nobody told as what blocks, since no waiting mends it', () => {
    const stocks = LIMITS.stocks.map((entry) => (entry.stock === 'calcium' ? entry : { ...entry, contentNgPerUl: {} }))
    const told = stocks.map((entry) => (entry.stock === 'nitrate' ? { ...entry, contentNgPerUl: { K: 100 } } : entry))
    const bench = readyBench({ ...LIMITS, stocks: told, elements: { volumeL: 100, dayMaxMgPerL: { K: 9 } } })
    expect(bench.headroom('nitrate')).toMatchObject({ shotUl: 0, dayUl: 0, blockedBy: ['element-day-bounded'] })
    expect(bench.headroom('phosphate')).toMatchObject({ shotUl: 40_000, blockedBy: [] })
  })

  describe('of capped elements', () => {
    const contents: Readonly<Record<string, Readonly<Record<string, number>>>> = {
      nitrate: { K: 100 },
      phosphate: { K: 50, P: 9 },
      calcium: { Ca: 70 },
      acid: {},
    }
    const stocks = LIMITS.stocks.map((entry) => ({ ...entry, contentNgPerUl: contents[entry.stock]! }))
    const capped: Limits = { ...LIMITS, stocks, elements: { volumeL: 100, dayMaxMgPerL: { K: 0.05, P: 1 } } }
    const elements = (bench: Bench) => headroom(bench.limits, bench.state, bench.atMs).elements

    it('is told once for all stocks that bring them', () => {
      const bench = readyBench(capped)
      bench.dose('phosphate', 20_000)
      bench.mustWish('nitrate', 10_000)
      expect(elements(bench)).toEqual([
        { element: 'K', roomNg: 3_000_000, ngPerUl: { phosphate: 50, nitrate: 100 } },
        { element: 'P', roomNg: 99_820_000, ngPerUl: { phosphate: 9 } },
      ])
    })

    it('is nothing where the cap is used up, is no number, or a stock is not told', () => {
      const spent = readyBench(capped)
      spent.dose('nitrate', 40_000)
      spent.dose('phosphate', 20_000)
      expect(elements(spent)).toMatchObject([{ element: 'K', roomNg: 0 }, { element: 'P' }])
      const none = readyBench({ ...capped, elements: { volumeL: 100, dayMaxMgPerL: { K: Number.NaN } } })
      expect(elements(none)).toMatchObject([{ element: 'K', roomNg: 0 }])
      const told = stocks.map((entry) => (entry.stock === 'acid' ? { ...entry, contentNgPerUl: { K: -1 } } : entry))
      const untold = readyBench({ ...capped, stocks: told })
      expect(elements(untold)).toEqual([
        { element: 'K', roomNg: 0, ngPerUl: { phosphate: 50, nitrate: 100 } },
        { element: 'P', roomNg: 100_000_000, ngPerUl: { phosphate: 9 } },
      ])
    })

    it('is not spoilt by what ran of a stock that brings none of it, though nobody knows how much that was', () => {
      const bench = readyBench(capped)
      const row = { commandId: 'c-0-1', endMs: bench.atMs, lowUl: 0, highUl: Number.NaN }
      const stocks = { calcium: { rows: [row], lastEndMs: bench.atMs } }
      bench.state = { ...bench.state, book: { commands: [], stocks } }
      expect(elements(bench)).toMatchObject([{ element: 'K', roomNg: 5_000_000 }, { element: 'P' }])
    })

    it('is not told where none is capped', () => {
      expect(headroom(LIMITS, readyBench().state, 0)).not.toHaveProperty('elements')
    })
  })

  it('still tells the largest shot of a stock whose node is not heard', () => {
    const bench = readyBench()
    bench.start(2)
    expect(bench.headroom('nitrate')).toMatchObject({ shotUl: 0, shotMaxUl: 40_000 })
    expect(bench.headroom('acid')).toMatchObject({ shotUl: 0, shotMaxUl: 8000 })
  })

  it('has nothing for a stock whose entry lacks a number', () => {
    const bench = readyBench(withStock('nitrate', { shotMaxUl: undefined }))
    const left = bench.headroom('nitrate')
    expect(left).toMatchObject({ shotUl: 0, shotMaxUl: 0 })
    expect(left.blockedBy).toContain('limits-complete')
  })

  it('is for the approved plan in the advise mode, and lapses with the approval', () => {
    const bench = readyBench()
    bench.instruct({ instruction: 'mode', mode: 'advise' })
    expect(bench.headroom('nitrate')).toMatchObject({ shotUl: 0, blockedBy: ['mode-acts'] })
    bench.instruct({ instruction: 'approve', planId: 'plan-1' })
    expect(bench.headroom('nitrate').shotUl).toBe(40_000)
    bench.pass(HOUR + SECOND)
    expect(bench.headroom('nitrate').shotUl).toBe(0)
  })

  it('is bounded by the node’s own longest run', () => {
    const large = withStock('nitrate', { shotMaxUl: 9_000_000, hourMaxUl: 9_000_000, dayMaxUl: 9_000_000 })
    expect(readyBench(large).headroom('nitrate').shotUl).toBe(60_000)
  })
})
