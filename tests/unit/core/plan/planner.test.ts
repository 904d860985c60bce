import { describe, expect, it } from 'vitest'
import { alkalinityMeqPerL } from '../../../../src/chemistry/alkalinity.ts'
import { ELEMENTS, toVector } from '../../../../src/chemistry/element.ts'
import { toMgPerL, toMmolPerL } from '../../../../src/chemistry/molar-mass.ts'
import type { PlanInput } from '../../../../src/core/plan/plan-input.ts'
import { plan } from '../../../../src/core/plan/planner.ts'
import {
  AT_MS,
  at,
  BANDS,
  benchInput,
  doseMl,
  forecastFor,
  HOUR_MS,
  headroomFor,
  levelsAfter,
  STOCKS,
  stock,
  withHeadroom,
  withLevels,
  withSettings,
} from './plan-fixture.ts'

/** A bench whose stocks each bring one element, so that every wish can be met to the microlitre. */
function singleSalts(change: Partial<PlanInput> = {}): PlanInput {
  const stocks = [stock('potash', 'neutral', { K: 1 }), stock('magnesia', 'neutral', { Mg: 0.2 })]
  const forecast = { ...forecastFor(0), uptakeMmol: toVector({ K: 5, Mg: 0.6 }) }
  const input = withSettings(benchInput({ forecast }), { stocks })
  const headroom = { stocks: stocks.map(({ id }) => headroomFor(id)) }
  return { ...input, headroom, deliveryFactor: new Float64Array([1, 1]), ...change }
}

describe('an element at its aim', () => {
  it('gets back exactly what the crop takes', () => {
    const input = singleSalts()
    const made = plan(input)
    expect(doseMl(made, 'potash')).toBeCloseTo(5, 2)
    expect(doseMl(made, 'magnesia')).toBeCloseTo(3, 2)
    const after = levelsAfter(input, made)
    // A microlitre of the stocks is 5e-6 mmol/L here.
    expect(at(after, 'K')).toBeCloseTo(toMmolPerL('K', 200), 5)
    expect(at(after, 'Mg')).toBeCloseTo(toMmolPerL('Mg', 35), 5)
  })

  it('gets less of a stock that was found to deliver more than booked', () => {
    const made = plan(singleSalts({ deliveryFactor: new Float64Array([1.25, 1]) }))
    expect(doseMl(made, 'potash')).toBeCloseTo(4, 2)
  })

  it('stays within a twentieth of its aim for forty days, N to Mg, with stocks that only nearly match the crop', () => {
    let input = benchInput({ forecast: forecastFor(1) })
    const alkalinityStart = alkalinityMeqPerL(input.estimate.mmolPerL)
    for (let hour = 0; hour < 24 * 40; hour++) {
      const made = plan(input)
      const mmolPerL = levelsAfter(input, made)
      const alkalinity = 0.13 + alkalinityMeqPerL(mmolPerL) - alkalinityStart
      input = { ...input, owed: made.left, estimate: { ...input.estimate, mmolPerL, alkalinityMeqPerL: alkalinity } }
    }
    for (const element of ['NO3-N', 'P', 'K', 'Ca', 'Mg'] as const) {
      const band = BANDS[ELEMENTS.indexOf(element)]!
      expect(Math.abs(at(input.estimate.mmolPerL, element) / band.aim - 1), element).toBeLessThan(0.05)
    }
    expect(input.estimate.alkalinityMeqPerL).toBeCloseTo(0.13, 2)
  })
})

describe('a gap to the aim', () => {
  const rise = (sdMgPerL: number, sampleAgeDays = 2) => {
    const input = withLevels(singleSalts({ sampleAgeDays }), { K: 172 }, { K: sdMgPerL })
    return toMgPerL('K', at(levelsAfter(input, plan(input)), 'K')) - 172
  }

  it('is closed by half in a day of hourly plans when the estimate is certain', () => {
    let input = withLevels(singleSalts(), { K: 172 }, { K: 0 })
    for (let hour = 0; hour < 24; hour++) {
      const mmolPerL = levelsAfter(input, plan(input))
      input = { ...input, estimate: { ...input.estimate, mmolPerL } }
    }
    expect(toMgPerL('K', at(input.estimate.mmolPerL, 'K'))).toBeCloseTo(186, 1)
  })

  it('is closed more slowly the greater the doubt', () => {
    const certain = rise(0)
    expect(certain).toBeCloseTo(28 * (1 - 0.5 ** (1 / 24)), 2)
    // A quarter of the way from aim to low is 17.5 mg/L of potassium: there the share is halved.
    expect(rise(17.5)).toBeCloseTo(certain / 2, 2)
    expect(rise(35)).toBeCloseTo(certain / 5, 2)
  })

  it('is closed at once up to the low edge and one standard deviation', () => {
    const input = withLevels(singleSalts(), { K: 127 }, { K: 8 })
    const after = levelsAfter(input, plan(input))
    expect(toMgPerL('K', at(after, 'K'))).toBeCloseTo(138, 1)
  })

  it('is never overshot for the sake of a margin that reaches beyond the aim', () => {
    const input = withLevels(singleSalts(), { K: 190 }, { K: 500 })
    const after = levelsAfter(input, plan(input))
    expect(toMgPerL('K', at(after, 'K'))).toBeLessThanOrEqual(200.0001)
  })

  it('leaves uptake unreplaced in part when the element is above its aim', () => {
    const input = withLevels(singleSalts(), { K: 210 }, { K: 0 })
    const after = toMgPerL('K', at(levelsAfter(input, plan(input)), 'K'))
    expect(after).toBeCloseTo(210 - 10 * (1 - 0.5 ** (1 / 24)), 2)
  })
})

describe('the high edge', () => {
  it('is not crossed by an element that was below it', () => {
    const input = withLevels(benchInput(), { K: 299, 'NO3-N': 120 })
    const after = levelsAfter(input, plan(input))
    expect(toMgPerL('K', at(after, 'K'))).toBeLessThanOrEqual(300.0001)
  })

  it.each([
    ['B', 0.6],
    ['Mn', 1.2],
    ['Zn', 0.7],
    ['Cu', 0.2],
  ] as const)('keeps %s over it from rising, whatever else needs the stock', (element, mgPerL) => {
    const input = withLevels(benchInput(), { [element]: mgPerL, P: 15 })
    const before = at(input.estimate.mmolPerL, element)
    const after = at(levelsAfter(input, plan(input)), element)
    expect(after).toBeLessThan(before * (1 + 0.005 / 24))
  })

  it('lets the traces of sodium in a stock pass when the water has too much of it already', () => {
    const input = withLevels(benchInput(), { Na: 60 })
    expect(doseMl(plan(input), 'phosphate')).toBeCloseTo(doseMl(plan(benchInput()), 'phosphate'), 2)
  })

  it('yields for magnesium when keeping it would leave the crop without phosphorus, and only as far as needed', () => {
    const starved = withLevels(benchInput(), { Mg: 59.99, P: 15 }, { Mg: 0.5, P: 0.5 })
    const after = levelsAfter(starved, plan(starved))
    expect(toMgPerL('P', at(after, 'P'))).toBeGreaterThan(16.5)
    expect(toMgPerL('Mg', at(after, 'Mg'))).toBeLessThan(61)
    const fed = withLevels(benchInput(), { Mg: 59.99, P: 35 }, { Mg: 0.5, P: 0.5 })
    expect(toMgPerL('Mg', at(levelsAfter(fed, plan(fed)), 'Mg'))).toBeLessThanOrEqual(60)
  })

  it('has its price: nitrogen comes as potassium nitrate while calcium is over', () => {
    const input = withLevels(benchInput(), { Ca: 210, 'NO3-N': 140 })
    const made = plan(input)
    expect(doseMl(made, 'calcium')).toBe(0)
    expect(doseMl(made, 'nitrate')).toBeGreaterThan(3)
  })
})

describe('conductivity', () => {
  const short = withLevels(benchInput(), { K: 140, 'NO3-N': 115, P: 22 })

  it('is not dosed beyond its upper bound', () => {
    const { conductivityDsPerMPerMmolPerL: response } = short.responses
    const estimate = { ...short.estimate, conductivityDsPerM: 2.798 }
    const input = { ...short, estimate }
    const made = plan(input)
    const after = levelsAfter(input, made, ['acid'])
    const rise = after.reduce((sum, level, e) => sum + response[e]! * (level - estimate.mmolPerL[e]!), 0)
    expect(rise).toBeLessThanOrEqual(0.002 + 1e-9)
    expect(made.notes.map(({ kind }) => kind)).toContain('conductivity')
    expect(doseMl(made, 'nitrate')).toBeLessThan(doseMl(plan(short), 'nitrate'))
  })

  it('above its bound leaves no room but what the crop makes', () => {
    const input = { ...short, estimate: { ...short.estimate, conductivityDsPerM: 3.2 } }
    expect(plan(input).doses.filter(({ stock: id }) => id !== 'acid')).toEqual([])
  })
})

describe('the headroom', () => {
  const hungry = withLevels(benchInput(), { K: 130, 'NO3-N': 110 })

  it('bounds a dose by what the hour leaves, and the reason says so', () => {
    const made = plan(withHeadroom(hungry, 'nitrate', { hourUl: 12_000 }))
    expect(doseMl(made, 'nitrate')).toBe(12)
    expect(made.doses.find(({ stock: id }) => id === 'nitrate')!.reason).toContain(
      'held at the 12 mL that the limits leave',
    )
  })

  it('bounds a dose by what the day leaves', () => {
    expect(doseMl(plan(withHeadroom(hungry, 'nitrate', { dayUl: 5000 })), 'nitrate')).toBe(5)
  })

  it('bounds a dose by the shots that find time after the waits', () => {
    const late = AT_MS + HOUR_MS - 6 * 60_000
    const made = plan(withHeadroom(hungry, 'nitrate', { notBeforeMs: late, shotMaxUl: 3000, gapMs: 5 * 60_000 }))
    expect(doseMl(made, 'nitrate')).toBe(6)
    expect(made.shots.filter(({ stock: id }) => id === 'nitrate').every(({ notBeforeMs }) => notBeforeMs >= late)).toBe(
      true,
    )
  })

  it('spreads the hour over a short interval', () => {
    const forecast = { ...forecastFor(0.25), intervalMs: HOUR_MS / 4 }
    const made = plan(withHeadroom({ ...hungry, forecast }, 'nitrate', { hourUl: 12_000 }))
    expect(doseMl(made, 'nitrate')).toBe(3)
  })

  it('plans nothing of a stock that something blocks, and says what', () => {
    const made = plan(withHeadroom(benchInput(), 'nitrate', { blockedBy: ['flowSteady'] }))
    expect(doseMl(made, 'nitrate')).toBe(0)
    expect(made.notes).toContainEqual({
      kind: 'blocked',
      stock: 'nitrate',
      text: 'Nothing is planned of nitrate: flowSteady.',
      figures: {},
    })
  })

  it('still proposes what a person may approve when blocks are to be ignored', () => {
    const blocked = withHeadroom(benchInput({ ignoreBlocks: true }), 'nitrate', { blockedBy: ['mode'] })
    expect(doseMl(plan(blocked), 'nitrate')).toBeGreaterThan(3)
  })

  it('plans nothing of a stock that no limits are told for', () => {
    const input = benchInput()
    const stocks = input.headroom.stocks.filter(({ stock: id }) => id !== 'nitrate')
    const made = plan({ ...input, headroom: { stocks } })
    expect(doseMl(made, 'nitrate')).toBe(0)
    expect(made.notes.find(({ kind }) => kind === 'blocked')?.text).toContain('no limits are set for it')
  })
})

describe('a dose too small for a shot', () => {
  const seedlings = benchInput({ forecast: forecastFor(0.1) })

  it('is left for the next plan, and given when it has added up', () => {
    const first = plan(seedlings)
    expect(first.doses.map(({ stock: id }) => id)).not.toContain('phosphate')
    const left = first.left.find(({ stock: id }) => id === 'phosphate')!.volumeUl
    expect(left).toBeGreaterThan(300)
    expect(left).toBeLessThan(700)
    expect(first.notes.find(({ kind }) => kind === 'left')?.text).toMatch(/mL of phosphate \(smallest shot 1\)/)
    const later = plan({ ...seedlings, owed: [{ stock: 'phosphate', volumeUl: 700 }] })
    expect(doseMl(later, 'phosphate')).toBeCloseTo(left / 1000 + 0.7, 2)
  })

  it('is forgotten once the stock is no longer wanted', () => {
    const rich = withLevels(seedlings, { P: 50, K: 230, Mg: 45, S: 70 })
    const made = plan({ ...rich, owed: [{ stock: 'phosphate', volumeUl: 990 }] })
    expect(doseMl(made, 'phosphate')).toBe(0)
  })
})

describe('odd input', () => {
  const odd = (change: Partial<PlanInput['estimate']>) => {
    const input = benchInput()
    return { ...input, estimate: { ...input.estimate, ...change } }
  }
  const aims = benchInput().estimate.mmolPerL

  it.each<[string, PlanInput, string]>([
    ['a volume of nothing', odd({ volumeL: 0 }), 'the volume is 0 L'],
    ['a volume that is no number', odd({ volumeL: Number.NaN }), 'the volume is NaN L'],
    [
      'a doubt that is no number',
      odd({ sdMmolPerL: aims.map((_, e) => (e === 3 ? Number.NaN : 0)) }),
      'the standard deviation of K is NaN',
    ],
    ['a doubt below nothing', odd({ sdMmolPerL: aims.map(() => -1) }), 'a standard deviation is below 0'],
    ['a level without end', odd({ mmolPerL: aims.map(() => Infinity) }), 'the estimate of NO3-N is Infinity'],
    ['an estimate that is too short', odd({ mmolPerL: new Float64Array(3) }), 'the estimate holds 3 elements of 15'],
    [
      'an alkalinity that is no number',
      odd({ alkalinityMeqPerL: Number.NaN }),
      'alkalinity or make-up water is not a number',
    ],
    ['a pH that is no number', odd({ ph: Number.NaN }), 'pH or its band is not a number'],
    ['a conductivity that is no number', odd({ conductivityDsPerM: Number.NaN }), 'conductivity is NaN dS/m'],
    ['no interval', benchInput({ forecast: { ...forecastFor(1), intervalMs: 0 } }), 'the interval is 0 ms'],
    [
      'bands out of order',
      benchInput({ bands: BANDS.map((band) => ({ ...band, low: band.high + 1 })) }),
      'the target band of NO3-N is not low, aim, high in this order',
    ],
    [
      'too few delivery factors',
      benchInput({ deliveryFactor: new Float64Array(1) }),
      'delivery factors do not match the stocks',
    ],
  ])('%s is answered with no doses and a note', (_, input, why) => {
    const made = plan(input)
    expect([made.doses, made.shots]).toEqual([[], []])
    expect(made.notes).toEqual([{ kind: 'no-estimate', text: `Nothing is dosed: ${why}.`, figures: {} }])
  })

  it.each([
    ['hourUl', Number.NaN],
    ['dayUl', Number.NaN],
    ['shotMaxUl', Number.NaN],
    ['gapMs', Number.NaN],
    ['notBeforeMs', Number.NaN],
    ['hourUl', -5],
    ['shotMaxUl', 999],
  ])('a headroom with %s of %d gives nothing of that stock', (name, value) => {
    const made = plan(withHeadroom(benchInput(), 'nitrate', { [name]: value }))
    expect(doseMl(made, 'nitrate')).toBe(0)
    expect(doseMl(made, 'phosphate')).toBeGreaterThan(3)
  })

  it('a delivery factor of nothing gives nothing of that stock', () => {
    const made = plan(benchInput({ deliveryFactor: Float64Array.from(STOCKS, (_, s) => (s === 2 ? 0 : 1)) }))
    expect(doseMl(made, 'nitrate')).toBe(0)
    expect(made.notes.find(({ kind }) => kind === 'blocked')?.text).toContain('its delivery factor is 0')
  })

  it('leaves its input as it was', () => {
    const input = withLevels(benchInput(), { K: 150 })
    const copy = structuredClone({ estimate: input.estimate, forecast: input.forecast, stocks: input.settings.stocks })
    plan(input)
    expect({ estimate: input.estimate, forecast: input.forecast, stocks: input.settings.stocks }).toEqual(copy)
  })
})
