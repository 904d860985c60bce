import { describe, expect, it } from 'vitest'
import { OPEN_AIR } from '../../../src/chemistry/carbon.ts'
import { toVector } from '../../../src/chemistry/element.ts'
import { formulaElements } from '../../../src/chemistry/molar-mass.ts'
import { saturation } from '../../../src/chemistry/saturation.ts'
import { mayShareTank, SOLUBILITY_FORMULAS, solubilityOf, type TankItem } from '../../../src/chemistry/solubility.ts'
import { SOLUTIONS } from './phreeqc.ts'

describe('solubility', () => {
  it.each([
    ['KNO3', 10, 170],
    ['KNO3', 15, 189.5],
    ['K2SO4', 20, 111],
    ['K2SO4', 10, 90],
    ['NH4H2PO4', 20, 374],
  ])('of %s at %d °C is %d g/L', (formula, temperatureC, gPerL) => {
    // A much copied table of fertilizer solubilities, second-hand; potassium nitrate by its lower reading.
    const answer = solubilityOf(formula, temperatureC)
    expect(answer).toMatchObject({ kind: 'solubility', gPerL, optimistic: false })
  })

  it('in a tank colder than any figure is called optimistic', () => {
    expect(solubilityOf('KH2PO4', 8)).toMatchObject({ gPerL: 226, tabulatedC: 20, optimistic: true })
    expect(solubilityOf('KNO3', 2)).toMatchObject({ gPerL: 133, tabulatedC: 5, optimistic: true })
  })

  it('in a warmer tank is not promised to be higher', () => {
    expect(solubilityOf('KH2PO4', 28)).toMatchObject({ gPerL: 226, tabulatedC: 20, optimistic: false })
  })

  it('never falls as the tank warms', () => {
    for (const formula of SOLUBILITY_FORMULAS) {
      const grams = [4, 8, 12, 16, 20, 24].map((c) => {
        const answer = solubilityOf(formula, c)
        return answer.kind === 'solubility' ? answer.gPerL : Number.NaN
      })
      expect(grams).toEqual([...grams].sort((a, b) => a - b))
    }
  })

  it('of a salt not in the table is not guessed', () => {
    expect(solubilityOf('KI', 20)).toEqual({ kind: 'unknown-salt', formula: 'KI' })
  })
})

describe('saturation against USGS PHREEQC 3.8.9', () => {
  const known = SOLUTIONS.filter(({ saturationIndex, id }) => saturationIndex && !id.startsWith('E-mixAB'))

  it.each(known)('$id: gypsum within 0.05, brushite within 0.05', (one) => {
    const ours = saturation(toVector(one.mmolPerL), one.ph, one.inorganicCarbonMmolPerL)
    expect(Math.abs(ours.gypsum - one.saturationIndex!.gypsum)).toBeLessThan(0.05)
    const brushite = one.saturationIndex!.brushite
    if (brushite !== undefined) expect(Math.abs(ours.brushite - brushite)).toBeLessThan(0.05)
  })

  it('the two stocks mixed at a hundred times strength form gypsum and calcium phosphate, beyond the model', () => {
    const mix = SOLUTIONS.find(({ id }) => id === 'E-mixAB-100x-25C')!
    const ours = saturation(toVector(mix.mmolPerL), mix.ph, 0)
    expect(ours.gypsum).toBeGreaterThan(1)
    expect(ours.brushite).toBeGreaterThan(0)
    expect(ours.withinModel).toBe(false)
  })

  it('at ten times strength gypsum is just saturated and brushite is not, within 0.15', () => {
    const mix = SOLUTIONS.find(({ id }) => id === 'E-mixAB-10x-25C')!
    const ours = saturation(toVector(mix.mmolPerL), mix.ph, 0)
    expect(Math.abs(ours.gypsum - mix.saturationIndex!.gypsum)).toBeLessThan(0.15)
    expect(Math.abs(ours.brushite - mix.saturationIndex!.brushite!)).toBeLessThan(0.15)
  })

  it('the lettuce reservoir may lose calcium phosphate at pH 7 and not at pH 6', () => {
    const lettuce = toVector({ 'NO3-N': 12.1, 'NH4-N': 0.3, P: 1.3, K: 5.4, Ca: 4.1, Mg: 1.85, S: 2 })
    expect(saturation(lettuce, 6, OPEN_AIR).brushite).toBeLessThan(0)
    expect(saturation(lettuce, 7, OPEN_AIR).brushite).toBeGreaterThan(0)
  })
})

describe('one tank', () => {
  const item = (name: string, formula: string, nature: TankItem['nature'] = 'salt'): TankItem => {
    const read = formulaElements(formula)
    if (read.kind !== 'elements') throw new Error(read.problem)
    return { name, mmol: read.molPerMol, nature }
  }
  const calcium = item('calcium nitrate', 'Ca(NO3)2.4H2O')
  const potash = item('potassium nitrate', 'KNO3')
  const phosphate = item('monopotassium phosphate', 'KH2PO4')
  const ammoniumPhosphate = item('monoammonium phosphate', 'NH4H2PO4')
  const ammonium = item('ammonium nitrate', 'NH4NO3')
  const magnesium = item('magnesium sulfate', 'MgSO4.7H2O')
  const chelate: TankItem = { name: 'Fe-DTPA', mmol: { Fe: 1 }, nature: 'iron chelate' }
  const acid = item('nitric acid', 'HNO3', 'acid')

  it.each([
    ['calcium nitrate and magnesium sulfate', [calcium, magnesium], 'calcium-sulfate'],
    ['calcium nitrate and monopotassium phosphate', [calcium, potash, phosphate], 'calcium-phosphate'],
    ['magnesium sulfate and monoammonium phosphate', [magnesium, ammoniumPhosphate], 'magnesium-ammonium-phosphate'],
    ['iron chelate and acid', [calcium, chelate, acid], 'chelate-acid'],
  ])('is not for %s', (_what, items, rule) => {
    expect(mayShareTank(items)).toMatchObject({ kind: 'keep-apart', rule })
  })

  it.each([
    ['calcium nitrate, potassium nitrate and iron chelate', [calcium, potash, ammonium, chelate]],
    ['phosphate, magnesium sulfate and a little acid', [phosphate, magnesium, acid]],
    ['nothing at all', []],
  ])('may hold %s', (_what, items) => {
    expect(mayShareTank(items)).toEqual({ kind: 'may-share' })
  })

  it('names the two that clash', () => {
    const verdict = mayShareTank([potash, calcium, magnesium])
    expect(verdict.kind === 'keep-apart' && verdict.between).toEqual(['calcium nitrate', 'magnesium sulfate'])
  })
})
