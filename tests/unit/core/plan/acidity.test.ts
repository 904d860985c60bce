import { describe, expect, it } from 'vitest'
import { acidityNeed } from '../../../../src/core/plan/acidity.ts'
import type { PlanInput } from '../../../../src/core/plan/plan-input.ts'
import { plan } from '../../../../src/core/plan/planner.ts'
import type { StockSettings } from '../../../../src/core/settings.ts'
import {
  benchInput,
  doseMl,
  forecastFor,
  headroomFor,
  STOCKS,
  stock,
  VOLUME_L,
  withHeadroom,
  withLevels,
  withSettings,
} from './plan-fixture.ts'

const standing = (change: Partial<PlanInput['estimate']>, litres = 1): PlanInput => {
  const input = benchInput({ forecast: forecastFor(litres) })
  return { ...input, estimate: { ...input.estimate, ...change } }
}

/** The fixture’s own buffering: straight lines through the three alkalinities it names. */
const phOf = (meqPerL: number) => (meqPerL < 0.13 ? 5.9 + (meqPerL - 0.13) / 0.2 : 5.9 + (meqPerL - 0.13) / 0.425)

const withBase = (input: PlanInput): PlanInput => {
  const base: StockSettings = stock('lye', 'base', { K: 1 })
  const stocks = [...STOCKS, base]
  const headroom = { stocks: [...input.headroom.stocks, headroomFor('lye')] }
  return { ...withSettings(input, { stocks }), headroom, deliveryFactor: new Float64Array(5).fill(1) }
}

describe('acid belongs to the make-up water', () => {
  it('is given in full for what water and crop bring, nothing more at the aim', () => {
    const input = standing({})
    const need = acidityNeed(input, 0)
    // 0.08 of nitrate, 1.00 Ca, 0.18 Mg, 0.03 K, 0.30 Na, 0.30 Cl, 0.17 S: 2.36 + 0.33 - 0.72 meq/L.
    expect(need.makeUpMeq).toBeCloseTo(1.97, 6)
    expect(need.meq).toBeCloseTo(input.forecast.alkalinityMeq, 9)
    expect(need.trimMeq).toBe(0)
    expect(doseMl(plan(input), 'acid')).toBeCloseTo(need.meq, 2)
  })

  it('grows with the litres', () => {
    expect(doseMl(plan(standing({}, 2)), 'acid')).toBeCloseTo(2 * doseMl(plan(standing({}, 1)), 'acid'), 2)
  })

  it('says the litres and their alkalinity', () => {
    const reason = plan(standing({})).doses.find(({ stock: id }) => id === 'acid')!.reason
    expect(reason).toBe(
      '1 L of make-up water at 2 meq/L brings 2 meq of alkalinity, the crop adds 1.5 meq; pH is 5.9, aim 5.9, no trim.',
    )
  })

  it('counts what the other stocks bring', () => {
    const lime = stock('silicate', 'neutral', { K: 1.5 })
    const stocks = [...STOCKS, lime]
    const input = withSettings(withLevels(standing({}), { K: 170 }), { stocks })
    const headroom = { stocks: [...input.headroom.stocks, headroomFor('silicate')] }
    const made = plan({ ...input, headroom, deliveryFactor: new Float64Array(5).fill(1) })
    const silicateMl =
      doseMl(made, 'silicate') + (made.left.find(({ stock: id }) => id === 'silicate')?.volumeUl ?? 0) / 1000
    expect(silicateMl).toBeGreaterThan(0.1)
    expect(doseMl(made, 'acid')).toBeCloseTo(doseMl(plan(standing({})), 'acid') + 1.5 * silicateMl, 1)
  })

  it('brings its nitrate, and the nitrate stock gives less', () => {
    const without = withHeadroom(standing({}), 'acid', { blockedBy: ['phFresh'] })
    expect(doseMl(plan(without), 'nitrate')).toBeGreaterThan(doseMl(plan(standing({})), 'nitrate') + 0.3)
  })
})

describe('a misfit of pH', () => {
  it('comes to within a tenth of the aim in a day, from 6.65, and never swings below it', () => {
    let alkalinityMeqPerL = 0.45
    const course: number[] = []
    for (let hour = 0; hour < 24; hour++) {
      const input = standing({ alkalinityMeqPerL, ph: phOf(alkalinityMeqPerL) })
      const given = doseMl(plan(input), 'acid')
      alkalinityMeqPerL += (input.forecast.alkalinityMeq - given) / VOLUME_L
      course.push(alkalinityMeqPerL)
    }
    expect(phOf(course.at(-1)!)).toBeLessThan(6)
    expect(Math.min(...course)).toBeGreaterThanOrEqual(0.13 - 1e-4)
    for (const [hour, level] of course.entries())
      if (hour > 0) expect(level).toBeLessThanOrEqual(course[hour - 1]! + 1e-9)
  })

  it('does not swing when the solution buffers only half of what is thought', () => {
    let alkalinityMeqPerL = 0.3
    for (let hour = 0; hour < 24; hour++) {
      const ph = 5.9 + 2 * (phOf(alkalinityMeqPerL) - 5.9)
      const input = standing({ alkalinityMeqPerL, ph })
      alkalinityMeqPerL += (input.forecast.alkalinityMeq - doseMl(plan(input), 'acid')) / VOLUME_L
      expect(alkalinityMeqPerL).toBeGreaterThan(0.13 - 1e-4)
    }
  })

  it('is trimmed only as far as both pH and alkalinity show it', () => {
    const agreed = acidityNeed(standing({ alkalinityMeqPerL: 0.4, ph: 6.5 }), 0).trimMeq
    expect(agreed).toBeGreaterThan(5)
    expect(acidityNeed(standing({ alkalinityMeqPerL: 0.4, ph: 5.85 }), 0).trimMeq).toBe(0)
    expect(acidityNeed(standing({ alkalinityMeqPerL: 0.12, ph: 6.5 }), 0).trimMeq).toBe(0)
    expect(acidityNeed(standing({ alkalinityMeqPerL: 0.4, ph: undefined }), 0).trimMeq).toBe(0)
  })

  it('above the band follows the bicarbonate that stands there, which no doubt about phosphorus takes away', () => {
    const input = standing({ alkalinityMeqPerL: 1.5, ph: 7.6, alkalinityAtPhMeqPerL: 1.4 })
    const blind = acidityNeed(standing({ alkalinityMeqPerL: 1.5, ph: 6.3 }), 0).trimMeq
    expect(acidityNeed(input, 0).trimMeq).toBeGreaterThan(3 * blind)
  })

  it('is trimmed less the less is known of phosphorus, which is most of the buffer', () => {
    const sdMmolPerL = benchInput().estimate.sdMmolPerL.map((sd, e) => (e === 2 ? 0.4 : sd))
    const sure = acidityNeed(standing({ alkalinityMeqPerL: 0.9, ph: 6.5 }), 0).trimMeq
    const unsure = acidityNeed(standing({ alkalinityMeqPerL: 0.9, ph: 6.5, sdMmolPerL }), 0).trimMeq
    expect(unsure).toBeLessThan(0.5 * sure)
    expect(unsure).toBeGreaterThan(0.2 * sure)
  })
})

describe('acid is held', () => {
  it('at and below the low edge of pH, with a note that says what can raise it', () => {
    const made = plan(standing({ ph: 5.5, alkalinityMeqPerL: 0.2 }))
    expect(doseMl(made, 'acid')).toBe(0)
    expect(made.notes.find(({ kind }) => kind === 'acidity')?.text).toBe(
      'pH is 5.5, at or below its low edge of 5.5: no acid is given, and there is no base to raise it: crop and make-up water must.',
    )
  })

  it('while alkalinity is below its aim, until make-up water has filled the gap', () => {
    const input = standing({ alkalinityMeqPerL: 0.1 })
    expect(doseMl(plan(input), 'acid')).toBe(0)
    const nearly = standing({ alkalinityMeqPerL: 0.125 })
    expect(doseMl(plan(nearly), 'acid')).toBeCloseTo(nearly.forecast.alkalinityMeq - 0.005 * VOLUME_L, 2)
  })

  it('to what the limits leave, and the note says how much would be needed', () => {
    const made = plan(withHeadroom(standing({}, 3), 'acid', { hourUl: 4000 }))
    expect(doseMl(made, 'acid')).toBe(4)
    expect(made.notes.find(({ kind }) => kind === 'acidity')?.text).toBe(
      '10 meq of acid would be needed in this interval; the limits leave 4 meq of acid.',
    )
  })

  it('where no acid is fitted, and the note says so', () => {
    const input = withSettings(standing({}), { stocks: STOCKS.slice(0, 3) })
    const made = plan({ ...input, deliveryFactor: new Float64Array(3).fill(1) })
    expect(made.notes.find(({ kind }) => kind === 'acidity')?.text).toContain('no stock is an acid')
  })
})

describe('base', () => {
  const low = withBase(standing({ ph: 5.3, alkalinityMeqPerL: 0.02 }, 0))

  it('is given when pH is low and a base is there, a part of the gap', () => {
    const made = plan(low)
    expect(doseMl(made, 'lye')).toBeGreaterThan(1)
    expect(doseMl(made, 'lye')).toBeLessThan((0.13 - 0.02) * VOLUME_L)
    expect(made.doses.find(({ stock: id }) => id === 'lye')?.reason).toMatch(
      /^pH is 5\.3, at or below the low edge of 5\.5;/,
    )
  })

  it('is not given when pH is merely below its aim', () => {
    const made = plan(withBase(standing({ ph: 5.6, alkalinityMeqPerL: 0.07 }, 0)))
    expect(doseMl(made, 'lye')).toBe(0)
  })

  it('waits while make-up water raises the alkalinity by itself', () => {
    const made = plan(withBase(standing({ ph: 5.3, alkalinityMeqPerL: 0.02 }, 4)))
    expect(doseMl(made, 'lye')).toBe(0)
  })
})
