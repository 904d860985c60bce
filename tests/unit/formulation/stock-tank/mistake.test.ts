import { describe, expect, it } from 'vitest'
import { judgeDilution, possibleMistakes } from '../../../../src/formulation/stock-tank/mistake.ts'
import { planStocks } from '../../../../src/formulation/stock-tank/plan-stocks.ts'
import { byFormula, LEAFY } from './stock-salts.ts'

const answer = planStocks({
  salts: LEAFY,
  tanks: [
    { name: 'A', factor: 100 },
    { name: 'B', factor: 100 },
  ],
  ...{ tankL: 20, coldestC: 10, pinned: {} },
})
if (answer.kind !== 'stocks') throw new Error('the leafy recipe has two tanks')
const [a, b] = answer.tanks as [(typeof answer.tanks)[number], (typeof answer.tanks)[number]]
const mistakeOf = (tank: typeof a, text: string) => tank.mistakes.find((mistake) => mistake.text === text)!

describe('10 mL of a tank made up to a litre', () => {
  it('mixed as the card says passes, and 3 % beside it still does', () => {
    for (const share of [0.971, 1, 1.029]) {
      expect(judgeDilution(a.dilutedDsPerM, a.mistakes, share * a.dilutedDsPerM)).toMatchObject({ kind: 'as-expected' })
    }
    expect(judgeDilution(a.dilutedDsPerM, a.mistakes, 0.965 * a.dilutedDsPerM).kind).toBe('too-low')
    expect(judgeDilution(a.dilutedDsPerM, a.mistakes, 1.035 * a.dilutedDsPerM).kind).toBe('too-high')
  })

  it.each([
    ['half a bag of calcium nitrate', a, 'half of the calcium nitrate', 'too-low'],
    ['half a bag of potassium nitrate', b, 'half of the potassium nitrate', 'too-low'],
    ['half a bag of magnesium sulfate', b, 'half of the magnesium sulfate', 'too-low'],
    ['half a bag of monopotassium phosphate', b, 'half of the monopotassium phosphate', 'too-low'],
    ['the tetrahydrate for the greenhouse grade', a, 'Ca(NO3)2.4H2O for 5Ca(NO3)2.NH4NO3.10H2O', 'too-low'],
    ['magnesium sulfate without its water', b, 'MgSO4 for MgSO4.7H2O', 'too-high'],
    ['the monohydrate of magnesium sulfate', b, 'MgSO4.H2O for MgSO4.7H2O', 'too-high'],
    ['B in the place of A', a, 'the tank is B', 'too-high'],
    ['A in the place of B', b, 'the tank is A', 'too-low'],
  ] as const)('betrays %s, and names it among the likely ones', (_what, tank, text, kind) => {
    const { dsPerM } = mistakeOf(tank, text)
    const verdict = judgeDilution(tank.dilutedDsPerM, tank.mistakes, dsPerM)
    expect(verdict.kind).toBe(kind)
    expect(verdict.perhaps.map((mistake) => mistake.text)).toContain(text)
  })

  it('does not claim to see what it cannot: traces, boric acid and the chelate hardly conduct', () => {
    for (const text of ['boric acid left out', 'manganese sulfate weighed twice']) {
      expect(Math.abs(mistakeOf(b, text).ratio - 1)).toBeLessThan(0.03)
    }
    expect(Math.abs(mistakeOf(a, 'iron DTPA 10 % left out').ratio - 1)).toBeLessThan(0.03)
  })

  it('has no idea where no usual mistake fits, and says so by an empty list', () => {
    expect(judgeDilution(a.dilutedDsPerM, a.mistakes, 0.2 * a.dilutedDsPerM)).toMatchObject({
      kind: 'too-low',
      perhaps: [],
    })
  })
})

it('0.01 mol/L of potassium chloride, 1:100 from 74.55 g/L, shows 1.413 mS/cm within 0.6 %', () => {
  // the calibration solution of conductivity meters, 1413 µS/cm at 25 °C (ASTM D1125, from memory)
  const tank = { name: 'A', factor: 100, salts: [byFormula('potassium chloride', 'KCl', 0.7455)] }
  const half = possibleMistakes(tank, []).find(({ kind }) => kind === 'half bag')!
  expect(Math.abs(half.dsPerM / half.ratio / 1.413 - 1)).toBeLessThan(0.006)
})
