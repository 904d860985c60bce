import { describe, expect, it } from 'vitest'
import { ELEMENTS } from '../../../../src/chemistry/element.ts'
import { toMgPerL } from '../../../../src/chemistry/molar-mass.ts'
import { planStocks, type StockQuestion, type StockTank } from '../../../../src/formulation/stock-tank/plan-stocks.ts'
import { mixedMmolPerL, tankSalt } from '../../../../src/formulation/stock-tank/tank-salt.ts'
import { byFormula, ironDtpa, LEAFY } from './stock-salts.ts'

const AB = [
  { name: 'A', factor: 100 },
  { name: 'B', factor: 100 },
]
const leafy: StockQuestion = { salts: LEAFY, tanks: AB, tankL: 20, coldestC: 10, pinned: {} }

function planned(question: StockQuestion): readonly StockTank[] {
  const answer = planStocks(question)
  if (answer.kind !== 'stocks') throw new Error(JSON.stringify(answer))
  return answer.tanks
}

function refused(question: StockQuestion) {
  const answer = planStocks(question)
  if (answer.kind !== 'refused') throw new Error('planned, though it should have been refused')
  return answer
}

const namesIn = (tank: StockTank | undefined) => tank?.lines.map(({ salt }) => salt) ?? []
const gramsOf = (tanks: readonly StockTank[], name: string) =>
  tanks.flatMap(({ lines }) => lines).find(({ salt }) => salt === name)!.grams

describe('which salt goes into which tank', () => {
  it('calcium and the chelate into the first, phosphate, sulfate and the other micronutrients into the second', () => {
    const [a, b] = planned(leafy)
    expect(namesIn(a)).toEqual(expect.arrayContaining(['calcium nitrate', 'iron DTPA 10 %']))
    expect(namesIn(b)).toEqual(
      expect.arrayContaining(['monopotassium phosphate', 'magnesium sulfate', 'manganese sulfate', 'boric acid']),
    )
  })

  it('every salt once, nothing lost', () => {
    expect(planned(leafy).flatMap(namesIn).sort()).toEqual(LEAFY.map(({ name }) => name).sort())
  })

  it.each([
    ['magnesium sulfate', 'calcium-sulfate'],
    ['monopotassium phosphate', 'calcium-phosphate'],
  ])('%s put beside calcium nitrate by hand is refused, and the pair is named', (salt, rule) => {
    const { refusals } = refused({ ...leafy, pinned: { [salt]: 'A' } })
    expect(refusals).toContainEqual(expect.objectContaining({ tank: 'A', rule, pair: ['calcium nitrate', salt] }))
    expect(refusals[0]?.nextStep).toContain('B')
  })

  it('one tank for a whole recipe is refused with every pair, and two are asked for', () => {
    const { refusals } = refused({ ...leafy, tanks: [AB[0]!] })
    expect(refusals.map(({ pair }) => pair.join('+'))).toEqual([
      'calcium nitrate+monopotassium phosphate',
      'calcium nitrate+magnesium sulfate',
      'calcium nitrate+manganese sulfate',
      'calcium nitrate+zinc sulfate',
    ])
    expect(refusals[0]?.nextStep).toContain('two tanks')
  })

  it('magnesium sulfate and monoammonium phosphate do not share the second tank, and a third one helps', () => {
    const salts = [...LEAFY, byFormula('monoammonium phosphate', 'NH4H2PO4', 0.05)]
    const pair = ['magnesium sulfate', 'monoammonium phosphate']
    expect(refused({ ...leafy, salts }).refusals.map((one) => one.pair)).toEqual([pair])
    const tanks = [...AB, { name: 'C', factor: 100 }]
    const third = planned({ ...leafy, salts, tanks, pinned: { 'monoammonium phosphate': 'C' } })[2]
    expect(namesIn(third)).toContain('monoammonium phosphate')
  })

  it('potassium nitrate stays where a person has put it, and else goes where it leaves most room', () => {
    const room = (pinned: Record<string, string>) =>
      Math.min(...planned({ ...leafy, pinned }).map(({ factorMax }) => factorMax))
    expect(namesIn(planned({ ...leafy, pinned: { 'potassium nitrate': 'A' } })[0])).toContain('potassium nitrate')
    const byHand = ['A', 'B'].map((tank) => room({ 'potassium nitrate': tank }))
    expect(byHand[0]).not.toBeCloseTo(byHand[1]!, 0)
    expect(room({})).toBeCloseTo(Math.max(...byHand), 9)
  })
})

describe('published figures', () => {
  it('895.3 g of a 19 % calcium nitrate in 5 gal (18.9 L) at 100:1 give 90 mg/L Ca and 73.4 mg/L N', () => {
    // Mattson & Peters 2014, set-up problem; the answer computed from its own figures: 90 / 0.19 mg/L of salt
    const percent = { 'NO3-N': 14.4, 'NH4-N': 1.1, Ca: 19 }
    const salt = tankSalt({ name: 'calcium nitrate 15.5-0-0', gPerL: 0.09 / 0.19, salt: { kind: 'label', percent } })
    const [a] = planned({ ...leafy, salts: [salt], tankL: 18.9 })
    expect(a!.lines[0]!.grams).toBeCloseTo(895.3, 1)
    const diluted = mixedMmolPerL([salt], 1)
    expect(toMgPerL('Ca', diluted.Ca!)).toBeCloseTo(90, 6)
    expect(toMgPerL('NO3-N', diluted['NO3-N']! + diluted['NH4-N']!)).toBeCloseTo(73.4, 1)
  })

  it('200 mg/L N at the plant is 20,000 mg/L in the stock of a 1:100 injector', () => {
    // Mattson, Fertilizer calculations and practice questions, Cornell, question 1
    const percent = { 'NO3-N': 12, 'NH4-N': 8, P2O5: 10, K2O: 20 }
    const salt = tankSalt({ name: '20-10-20', gPerL: 1, salt: { kind: 'label', percent } })
    const [a] = planned({ ...leafy, salts: [salt] })
    const { mmolPerL } = a!.concentrate
    expect(toMgPerL('NO3-N', mmolPerL['NO3-N']! + mmolPerL['NH4-N']!)).toBeCloseTo(20_000, 6)
    expect(a!.mlPerLMakeUp).toBe(10)
  })

  it('20-10-20 for 150 mg/L N at 1:200 is 20.25 oz in a gallon of stock, as printed, within 1.5 %', () => {
    // the same source, question 2; exactly 20.03
    const percent = { 'NO3-N': 12, 'NH4-N': 8, P2O5: 10, K2O: 20 }
    const salt = tankSalt({ name: '20-10-20', gPerL: 0.75, salt: { kind: 'label', percent } })
    const [a] = planned({ ...leafy, salts: [salt], tankL: 3.785, tanks: [{ name: 'A', factor: 200 }] })
    const ounces = a!.lines[0]!.grams / 28.35
    expect(Math.abs(ounces / 20.25 - 1)).toBeLessThan(0.015)
    expect(ounces).toBeCloseTo(20.03, 1)
  })

  it('the leafy recipe, made up 1:100 from its two stocks, is the published target', () => {
    // Mattson & Peters 2014: Ca 90, P 31, K 210, Mg 24, Fe 1.0 mg/L; its masses give Ca 92.4 on a 19 % label
    const stocks = planned(leafy)
    const total = (element: (typeof ELEMENTS)[number]) =>
      stocks.reduce((sum, { concentrate }) => sum + toMgPerL(element, concentrate.mmolPerL[element] ?? 0) / 100, 0)
    expect(total('Ca')).toBeCloseTo(90.2, 0)
    expect(total('P')).toBeCloseTo(31, 0)
    expect(total('K')).toBeCloseTo(210, 0)
    expect(total('Mg')).toBeCloseTo(24, 0)
    expect(total('Fe')).toBeCloseTo(1.0, 1)
  })
})

describe('the same again with other figures', () => {
  it('a tank of double the volume takes double the grams, and shows the same EC', () => {
    const [once, twice] = [planned(leafy), planned({ ...leafy, tankL: 40 })]
    for (const { name } of LEAFY) expect(gramsOf(twice, name)).toBeCloseTo(2 * gramsOf(once, name), 9)
    expect(twice.map((tank) => tank.dilutedDsPerM)).toEqual(once.map((tank) => tank.dilutedDsPerM))
  })

  it('a tank of half the strength takes half the grams and is pumped twice as much', () => {
    const weak = planned({ ...leafy, tanks: AB.map((tank) => ({ ...tank, factor: 50 })) })
    for (const { name } of LEAFY) expect(gramsOf(weak, name)).toBeCloseTo(gramsOf(planned(leafy), name) / 2, 9)
    expect(weak.map((tank) => tank.mlPerLMakeUp)).toEqual([20, 20])
  })

  it('what both pumps bring to a litre is the recipe, whatever the two strengths', () => {
    const tanks = [
      { name: 'A', factor: 80 },
      { name: 'B', factor: 160 },
    ]
    const recipe = mixedMmolPerL(LEAFY, 1)
    for (const element of ELEMENTS) {
      const brought = planned({ ...leafy, tanks }).reduce(
        (sum, { concentrate, mlPerLMakeUp }) => sum + ((concentrate.mmolPerL[element] ?? 0) * mlPerLMakeUp) / 1000,
        0,
      )
      expect(brought).toBeCloseTo(recipe[element] ?? 0, 9)
    }
  })
})

describe('what stays dissolved in the cold', () => {
  it('a salt alone stands at its plain share of solubility: 85 g/L of potassium nitrate at 10 °C is half of 170', () => {
    const [a] = planned({ ...leafy, salts: [byFormula('potassium nitrate', 'KNO3', 0.85)] })
    expect(a!.solubility[0]).toMatchObject({ solid: 'KNO3', isOptimistic: false, solubilityGPerL: 170 })
    expect(a!.solubility[0]!.share).toBeCloseTo(0.5, 9)
  })

  it('a warm night holds what a cold one does not', () => {
    const salts = [byFormula('potassium nitrate', 'KNO3', 1.8)]
    expect(planStocks({ ...leafy, salts, coldestC: 20 }).kind).toBe('stocks')
    const { settling } = refused({ ...leafy, salts, coldestC: 10 })
    expect(settling[0]).toMatchObject({ tank: 'A', solid: 'KNO3' })
    expect(settling[0]!.nextStep).toContain('75x')
  })

  it('between 80 % and the edge it is planned with a caution that names the salt', () => {
    const [a] = planned({ ...leafy, salts: [byFormula('potassium nitrate', 'KNO3', 1.5)] })
    expect(a!.cautions.join()).toMatch(/KNO3 stands at 88 %/)
    expect(a!.factorMax).toBeCloseTo((0.8 * 170) / 1.5, 6)
  })

  it('potassium nitrate beside magnesium sulfate can drop potassium sulfate: the ions count, not the bags', () => {
    const salts = [byFormula('potassium nitrate', 'KNO3', 1), byFormula('magnesium sulfate', 'MgSO4.7H2O', 2)]
    const { settling } = refused({ ...leafy, salts, tanks: [{ name: 'B', factor: 100 }] })
    expect(settling.map(({ solid }) => solid)).toContain('K2SO4')
  })

  it('less is allowed where the only figure is for 20 °C and the tank gets colder', () => {
    const tank = planned({ ...leafy, salts: [byFormula('monopotassium phosphate', 'KH2PO4', 0.5)] })[0]!
    expect(tank.solubility[0]).toMatchObject({ solid: 'KH2PO4', tabulatedC: 20, isOptimistic: true })
    expect(tank.solubility[0]!.shareMax).toBeLessThan(0.6)
    const at20 = planned({ ...leafy, coldestC: 20, salts: [byFormula('monopotassium phosphate', 'KH2PO4', 0.5)] })[0]!
    expect(at20.solubility[0]!.shareMax).toBe(0.8)
  })

  it('a salt without any known solubility is said so, and planned', () => {
    const salt = tankSalt({
      name: 'blend of a friend',
      gPerL: 0.5,
      salt: { kind: 'label', percent: { 'NO3-N': 10, K: 28 } },
    })
    const [a] = planned({ ...leafy, salts: [salt] })
    expect(a!.unknownSolubility).toEqual(['blend of a friend'])
    expect(a!.cautions.join()).toContain('blend of a friend')
  })
})

describe('saturation of the concentrates', () => {
  const hard = { mmolPerL: { Ca: 3, Mg: 0.5, S: 0.5, Na: 0.6 }, alkalinityMeqPerL: 5 }

  it('neither gypsum nor calcium phosphate can form in a well-parted pair of tanks with pure water', () => {
    for (const { concentrate } of planned(leafy)) {
      expect(concentrate.saturation.gypsum).toBe(-Infinity)
      expect(concentrate.saturation.brushite).toBe(-Infinity)
    }
  })

  it('a hard water in the phosphate and sulfate tank is warned of, and reverse-osmosis water asked for', () => {
    const phosphates = [byFormula('monopotassium phosphate', 'KH2PO4', 0.3), byFormula('dipotassium', 'K2HPO4', 0.1)]
    const b = planned({ ...leafy, salts: phosphates, tanks: [{ name: 'B', factor: 100 }], water: hard })[0]!
    expect(b.saturationInTapWater!.brushite).toBeGreaterThan(0)
    expect(b.cautions.join()).toMatch(/reverse-osmosis or rain water.*calcium phosphate would settle/s)
  })

  it('above an ionic strength of 1 mol/L it says that only the sign counts', () => {
    const at = (factor: number) => planned({ ...leafy, tanks: AB.map((tank) => ({ ...tank, factor })) })[0]!
    expect(at(50).concentrate.saturation.withinModel).toBe(true)
    expect(at(200).concentrate.saturation.withinModel).toBe(false)
  })
})

describe('the order of dissolving', () => {
  it('bulk first, boric acid from a hot jug, the chelate last', () => {
    const salts = [ironDtpa(0.02), byFormula('boric acid', 'H3BO3', 0.002), byFormula('potassium nitrate', 'KNO3', 0.5)]
    const [only] = planned({ ...leafy, salts, tanks: [{ name: 'A', factor: 100 }] })
    expect(only!.lines.map(({ salt, how }) => `${salt}: ${how}`)).toEqual([
      'potassium nitrate: into the tank',
      'boric acid: first in a jug of hot water',
      'iron DTPA 10 %: last, once cool',
    ])
  })
})

it('a factor below 1 or a tank of no volume is a fault of the caller', () => {
  expect(() => planStocks({ ...leafy, tankL: 0 })).toThrow('0 L')
  expect(() => planStocks({ ...leafy, tanks: [{ name: 'A', factor: 0.5 }] })).toThrow('0.5x')
})
