import { describe, expect, it } from 'vitest'
import { type AcidTank, type AcidWish, planAcidTank } from '../../../../src/formulation/stock-tank/acid-tank.ts'

const nitric: AcidWish = {
  name: 'nitric acid 60 %',
  bottle: { formula: 'HNO3', massFraction: 0.6, densityKgPerL: 1.3667 },
  ...{ needMeqPerL: 3.1, strengthEqPerL: 1, tankL: 20, mayBeStrong: false },
}

function planned(wish: Partial<AcidWish>): AcidTank {
  const answer = planAcidTank({ ...nitric, ...wish })
  if (answer.kind !== 'acid-tank') throw new Error(answer.why)
  return answer
}

function refusal(wish: Partial<AcidWish>): string {
  const answer = planAcidTank({ ...nitric, ...wish })
  return answer.kind === 'acid-refused' ? answer.why : 'planned'
}

describe('a tank of diluted acid', () => {
  it('20 L of 1 eq/L take 1.54 L of 60 % nitric acid, which holds 13.01 eq/L', () => {
    // handbook density from memory, molarity computed: the table of acid strengths
    const tank = planned({})
    expect(tank.bottleEqPerL).toBeCloseTo(13.01, 2)
    expect(tank.bottleMl).toBeCloseTo(20_000 / 13.01, 0)
    expect(tank.mlPerLMakeUp).toBeCloseTo(3.1, 9)
  })

  it.each([
    ['H2SO4', 0.93, 1.828, 34.7],
    ['H2SO4', 0.35, 1.2599, 8.99],
    ['H3PO4', 0.75, 1.579, 12.1],
    ['HNO3', 0.38, 1.2335, 7.44],
  ])('%s of %f by mass holds what the table of strengths says', (formula, massFraction, densityKgPerL, eqPerL) => {
    const tank = planned({ bottle: { formula, massFraction, densityKgPerL } })
    expect(Math.abs(tank.bottleEqPerL / eqPerL - 1)).toBeLessThan(0.005)
  })

  it('double the strength takes double the acid and half the millilitres', () => {
    expect(planned({ strengthEqPerL: 2 }).bottleMl).toBeCloseTo(2 * planned({}).bottleMl, 9)
    expect(planned({ strengthEqPerL: 2 }).mlPerLMakeUp).toBeCloseTo(planned({}).mlPerLMakeUp / 2, 9)
  })

  it('pours acid into water, never the other way, and warms by what the heat of dilution says', () => {
    const { steps, warmingC } = planned({ bottle: { formula: 'H2SO4', massFraction: 0.93, densityKgPerL: 1.828 } })
    const water = steps.findIndex((step) => /cold water into an empty/.test(step))
    const acid = steps.findIndex((step) => /never water into acid/.test(step))
    expect(water).toBeGreaterThan(-1)
    expect(acid).toBeGreaterThan(water)
    // 1 eq/L is half a mole: 47 kJ in a litre of water (95 kJ/mol, handbook, from memory)
    expect(warmingC).toBeCloseTo(95 / 2 / 4.18, 1)
    expect(steps[acid]).toMatch(/3 portions/)
  })

  it('a hundredth of 1 eq/L nitric acid conducts like 0.01 mol/L of it', () => {
    // 406 S cm2/mol at 0.01 mol/L, 25 °C: handbook, from memory
    expect(planned({}).dilutedDsPerM).toBeCloseTo(4.06, 1)
  })

  it('stronger than 2 eq/L is refused, and with the explicit wish planned with a warning first', () => {
    expect(refusal({ strengthEqPerL: 2.5 })).toMatch(/2\.5 eq\/L asked; up to 2 eq\/L.*--strong-acid/)
    expect(planned({ strengthEqPerL: 2 }).cautions.join()).not.toMatch(/Warning/)
    const strong = planned({ strengthEqPerL: 2.5, mayBeStrong: true })
    expect(strong.cautions[0]).toMatch(/Warning: 2\.5 eq\/L is stronger/)
  })

  it('carries the hazards of its file, and defers to label, codes and licensed people', () => {
    const { cautions } = planned({ hazards: 'Burns skin and eyes.' })
    expect(cautions.join('\n')).toMatch(/Burns skin and eyes/)
    expect(cautions.join('\n')).toMatch(/hypochlorite, peroxide or peracid/)
    expect(cautions.at(-1)).toMatch(/label.*local codes.*licensed/)
  })

  it.each([
    ['a base', { bottle: { formula: 'KOH', massFraction: 0.45, densityKgPerL: 1.456 } }, /is no acid/],
    ['more than the bottle holds', { strengthEqPerL: 14, mayBeStrong: true }, /bottle holds 13 eq\/L/],
    ['a strength of nothing', { strengthEqPerL: 0 }, /above 0/],
    ['a density that no acid has', { bottle: { formula: 'HNO3', massFraction: 0.6, densityKgPerL: 13.7 } }, /density/],
  ])('refuses %s', (_what, wish, why) => {
    expect(refusal(wish)).toMatch(why)
  })
})
