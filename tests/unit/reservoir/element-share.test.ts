/** A plan under caps that stocks share: what the gate tells of them is what the planner keeps, to the nanogram. */

import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { ELEMENTS, type ElementName } from '../../../src/chemistry/element.ts'
import { toMgPerL } from '../../../src/chemistry/molar-mass.ts'
import type { Plan } from '../../../src/core/plan/plan.ts'
import { plan } from '../../../src/core/plan/planner.ts'
import { settleInBook } from '../../../src/safety/book.ts'
import { headroom } from '../../../src/safety/headroom.ts'
import type { Limits } from '../../../src/safety/limits.ts'
import { type Bench, LIMITS, readyBench } from '../../safety/bench.ts'
import { benchInput, doseMl, STOCKS, withLevels } from '../core/plan/plan-fixture.ts'

/** What the bench’s stocks bring, as a site’s recipe would say it: ng by a microlitre, rounded up. */
function contentOf(stock: string): Record<string, number> {
  const { mmolPerMl } = STOCKS.find(({ id }) => id === stock)!
  const ng = ELEMENTS.map((name, at) => [name, Math.ceil(1000 * toMgPerL(name, mmolPerMl[at]!))] as const)
  return Object.fromEntries(ng.filter(([, perUl]) => perUl > 0))
}

function capped(dayMaxMgPerL: Partial<Record<ElementName, number>>): Limits {
  const stocks = LIMITS.stocks.map((entry) => ({ ...entry, contentNgPerUl: contentOf(entry.stock) }))
  return { ...LIMITS, stocks, elements: { volumeL: 130, dayMaxMgPerL } }
}

const SHORT = { K: 120, 'NO3-N': 105, P: 12, Ca: 90 } as const

/** An hour on a bench that is short of most of what its stocks bring. */
function planOf(bench: Bench, change: Parameters<typeof benchInput>[0] = {}): Plan {
  const left = headroom(bench.limits, bench.state, bench.atMs)
  const input = benchInput({ atMs: bench.atMs, headroom: left, ...change })
  return plan(withLevels(input, SHORT, { K: 1, 'NO3-N': 1, P: 0.3, Ca: 1 }))
}

function given(bench: Bench, stock: string, volumeUl: number): void {
  const delivered = { lowUl: volumeUl, highUl: volumeUl }
  const settlement = { atMs: bench.atMs, commandId: `before-${stock}`, stock, delivered }
  bench.state = { ...bench.state, book: settleInBook(bench.limits, bench.state.book, settlement) }
}

/** The same plan where the gate told each stock all that is left of an element, as if it were alone. */
function unshared(bench: Bench): Plan {
  const { elements: _shared, ...alone } = headroom(bench.limits, bench.state, bench.atMs)
  return planOf(bench, { headroom: alone })
}

/** Gives the plan shot by shot; the stocks that the caps refused. */
function refusedBy(bench: Bench, made: Plan): string[] {
  return made.shots.flatMap(({ stock, volumeUl }) => {
    const refused = bench.refusals(stock, volumeUl).includes('element-day-bounded')
    given(bench, stock, volumeUl)
    return refused ? [stock] : []
  })
}

const leftMg = (bench: Bench, name: string) => {
  const rooms = headroom(bench.limits, bench.state, bench.atMs).elements ?? []
  return rooms.find(({ element }) => element === name)!.roomNg / 1e6
}

describe('a plan for stocks that share an element', () => {
  it('is given to the last shot, and uses what the cap leaves', () => {
    const bench = readyBench(capped({ K: 5 }))
    const made = planOf(bench)
    expect(doseMl(made, 'nitrate')).toBeGreaterThan(1)
    expect(doseMl(made, 'phosphate')).toBeGreaterThan(1)
    expect(refusedBy(bench, made)).toEqual([])
    // 5 mg/L in 130 L; a microlitre of potassium nitrate brings 0.046 mg
    expect(leftMg(bench, 'K')).toBeLessThan(0.2)
  })

  it('would ask for more than the cap if each stock were told all of it', () => {
    const bench = readyBench(capped({ K: 5 }))
    expect(refusedBy(bench, unshared(bench))).not.toEqual([])
  })

  it('is the same plan where no cap is reached', () => {
    const bench = readyBench(capped({ K: 500, 'NO3-N': 500 }))
    expect(planOf(bench)).toEqual(unshared(bench))
  })

  it('leaves to the others what the acid does not take', () => {
    const bench = readyBench(capped({ 'NO3-N': 2 }))
    const alkaline = { ...benchInput().estimate, alkalinityMeqPerL: 0.5, alkalinityAtPhMeqPerL: 0.5, ph: 6.4 }
    const made = planOf(bench, { estimate: alkaline })
    expect(doseMl(made, 'acid')).toBeGreaterThan(1)
    expect(doseMl(made, 'nitrate') + doseMl(made, 'calcium')).toBeGreaterThan(1)
    expect(refusedBy(bench, made)).toEqual([])
  })

  it('has no dose of a stock for whose element nothing is left, and says so', () => {
    const bench = readyBench(capped({ K: 5 }))
    given(bench, 'nitrate', 14_006)
    const later = planOf(bench)
    expect(doseMl(later, 'nitrate') + doseMl(later, 'phosphate')).toBe(0)
    expect(doseMl(later, 'calcium')).toBeGreaterThan(1)
  })

  it('says that the cap is shared where it holds an element below its band', () => {
    const made = planOf(readyBench(capped({ K: 5 })))
    const note = made.notes.find(({ kind, element }) => kind === 'held-back' && element === 'K')
    expect(note?.text).toContain('the day’s cap on K leaves its stocks no more of it together')
  })

  it('gathers no small dose of before beyond the cap', () => {
    const bench = readyBench(capped({ K: 5 }))
    const owed = ['nitrate', 'phosphate'].map((stock) => ({ stock, volumeUl: 999 }))
    expect(refusedBy(bench, planOf(bench, { owed }))).toEqual([])
  })

  it('is never refused by an element’s cap, whatever is capped and was given before', () => {
    let held = 0
    const capOf = (most: number) =>
      fc.option(
        fc.nat(1000).map((part) => (most * part) / 1000),
        { nil: undefined },
      )
    const caps = fc.record({ K: capOf(12), 'NO3-N': capOf(20), P: capOf(6), Ca: capOf(20), Fe: capOf(1) })
    fc.assert(
      fc.property(caps, fc.integer({ min: 0, max: 20_000 }), (declared, beforeUl) => {
        const told = Object.entries(declared).filter(([, mgPerL]) => mgPerL !== undefined)
        const bench = readyBench(capped(Object.fromEntries(told)))
        given(bench, 'nitrate', beforeUl)
        const { state } = bench
        expect(refusedBy(bench, planOf(bench))).toEqual([])
        bench.state = state
        held += refusedBy(bench, unshared(bench)).length > 0 ? 1 : 0
      }),
      { numRuns: 60, seed: 11 },
    )
    expect(held).toBeGreaterThan(5)
  })
})
