import { describe, expect, it } from 'vitest'
import { type Composition, ELEMENT_INDEX } from '../../../../src/chemistry/element.ts'
import { toMgPerL } from '../../../../src/chemistry/molar-mass.ts'
import type { PlanInput } from '../../../../src/core/plan/plan-input.ts'
import { plan } from '../../../../src/core/plan/planner.ts'
import type { PlanningSettings, StockSettings } from '../../../../src/core/settings.ts'
import { at, benchInput, doseMl, headroomFor, levelsAfter, stock, withLevels, withSettings } from './plan-fixture.ts'

/** The two stocks of ordinary practice: calcium, nitrate and iron in A, everything else in B. */
const A = stock('stock-a', 'calcium', { 'NO3-N': 0.85, Ca: 0.3, K: 0.25, Fe: 0.006 })
const B = stock('stock-b', 'phosphate-sulfate', {
  ...{ P: 0.1, K: 0.35, Mg: 0.1, S: 0.1, 'NO3-N': 0.25, Mn: 0.001, Zn: 0.0008, B: 0.0037, Cu: 0.00012, Mo: 0.0001 },
})

function twoStocks(levels: Composition, planning: Partial<PlanningSettings> = {}, pair: StockSettings[] = [A, B]) {
  const input = withLevels(benchInput(), levels, { Ca: 3, Fe: 0.02 })
  const settings = { stocks: pair, planning: { ...input.settings.planning, ...planning } }
  const headroom = { stocks: pair.map(({ id }) => headroomFor(id)) }
  return { ...withSettings(input, settings), headroom, deliveryFactor: new Float64Array(pair.length).fill(1) }
}

/** Hours of the planner on its own estimate. */
function live(start: PlanInput, hours: number): PlanInput {
  let input = start
  for (let hour = 0; hour < hours; hour++) {
    // A starved crop takes no more than there is.
    const mmolPerL = levelsAfter(input, plan(input)).map((level) => Math.max(0, level))
    input = { ...input, estimate: { ...input.estimate, mmolPerL } }
  }
  return input
}

describe('a micronutrient that rides in a stock made for something else', () => {
  // A with a tenth of the iron the crop takes: on its own want of iron it would be dosed without end.
  const poorA = stock('stock-a', 'calcium', { 'NO3-N': 0.85, Ca: 0.1, K: 0.45, Fe: 0.0006 })

  it('never drives calcium out of its band, however little iron there is', () => {
    const start = twoStocks({ Fe: 0.3 }, {}, [poorA, B])
    const after = live(start, 24 * 7)
    const calcium = toMgPerL('Ca', at(after.estimate.mmolPerL, 'Ca'))
    // Half way from the aim of 130 to the edge of 200 it ends.
    expect(calcium).toBeLessThan(166)
    expect(calcium).toBeGreaterThan(80)
  })

  it('still gets what its macronutrients leave room for', () => {
    const { Fe: iron } = ELEMENT_INDEX
    const start = twoStocks({ Fe: 0.8 })
    const short = plan(start)
    const enough = plan(twoStocks({ Fe: 2 }))
    expect(doseMl(short, 'stock-a')).toBeGreaterThan(doseMl(enough, 'stock-a'))
    expect(levelsAfter(start, short)[iron]!).toBeGreaterThan(levelsAfter(start, enough)[iron]!)
  })

  it('that is over its edge, and not toxic, holds no macronutrient below its band', () => {
    const start = twoStocks({ Fe: 6, Ca: 70 })
    const after = levelsAfter(start, plan(start))
    const alone = twoStocks({ Fe: 2, Ca: 70 })
    expect(at(after, 'Ca')).toBeGreaterThanOrEqual(0.98 * at(levelsAfter(alone, plan(alone)), 'Ca'))
  })
})

describe('two stocks that are meant to run together', () => {
  const parity = { stocks: ['stock-a', 'stock-b'], windowShare: 0.25 } as const
  const rich = { P: 43, Mg: 38, S: 60, K: 210 }

  it('part as far as their window and no further', () => {
    const apart = plan(twoStocks(rich))
    expect(doseMl(apart, 'stock-a')).toBeGreaterThan(1.25 * doseMl(apart, 'stock-b') + 1)
    const together = plan(twoStocks(rich, { parity }))
    expect(doseMl(together, 'stock-a')).toBeGreaterThan(0)
    expect(doseMl(together, 'stock-a')).toBeLessThanOrEqual(1.25 * doseMl(together, 'stock-b') + 0.002)
  })

  it('run in step where the crop asks for them in step', () => {
    const made = plan(twoStocks({}, { parity: { ...parity, windowShare: 0 } }))
    expect(doseMl(made, 'stock-a')).toBeCloseTo(doseMl(made, 'stock-b'), 1)
  })

  it('do not wait for each other when one may not run', () => {
    const input = twoStocks(rich, { parity })
    const stocks = input.headroom.stocks.map((told) =>
      told.stock === 'stock-b' ? { ...told, blockedBy: ['empty'] } : told,
    )
    expect(doseMl(plan({ ...input, headroom: { stocks } }), 'stock-a')).toBeGreaterThan(0)
  })
})
