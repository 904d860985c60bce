import fc from 'fast-check'
import { MF } from 'mf-parser'
import { describe, expect, it } from 'vitest'
import { ELEMENTS } from '../../../src/chemistry/element.ts'
import {
  formulaElements,
  molarMassGPerMol,
  readFormula,
  toMgPerL,
  toMmolPerL,
} from '../../../src/chemistry/molar-mass.ts'
import { SOLUBILITY_FORMULAS } from '../../../src/chemistry/solubility.ts'

const grams = (formula: string) => {
  const mass = molarMassGPerMol(formula)
  if (mass.kind !== 'molar-mass') throw new Error(mass.problem)
  return mass.gPerMol
}

/** mf-parser reads hydrates as (H2O)4, not 4H2O. */
const spelledForMfParser = (formula: string) => formula.replaceAll(/(^|\.)(\d+)([^.]+)/g, '$1($3)$2')

describe('molar mass', () => {
  it.each([
    ...SOLUBILITY_FORMULAS,
    'HNO3',
    'H3PO4',
    'H2SO4',
    'KOH',
    'K2CO3',
    'KHCO3',
    'MnCl2.4H2O',
    'H2MoO4',
    'CO(NH2)2',
  ])('of %s agrees with mf-parser, a general formula library', (formula) => {
    const theirs = new MF(spelledForMfParser(formula)).getInfo() as { mass: number }
    // The library carries newer or older weights of S and Mo; 0.02 % is far below any label's rounding.
    expect(Math.abs(grams(formula) / theirs.mass - 1)).toBeLessThan(2e-4)
  })

  // IUPAC conventional atomic weights, summed by hand.
  it.each([
    ['KNO3', 101.102],
    ['Ca(NO3)2.4H2O', 236.146],
    ['5Ca(NO3)2.NH4NO3.10H2O', 1080.623],
  ])('of %s is %d g/mol', (formula, expected) => {
    expect(grams(formula)).toBeCloseTo(expected, 2)
  })

  it('does not care whether a hydrate is joined by a stop, an asterisk or a raised dot', () => {
    expect(grams('MgSO4·7H2O')).toBe(grams('MgSO4.7H2O'))
    expect(grams('MgSO4*7H2O')).toBe(grams('MgSO4.7H2O'))
  })

  it.each([
    ['', 0, 'empty'],
    ['KNO3.', 5, 'empty'],
    ['Kx2', 0, 'not an element'],
    ['Ca(NO3', 2, 'never closed'],
    ['Ca)2', 2, 'never opened'],
    ['K()2', 1, 'nothing'],
    ['K0', 0, '0'],
    ['K NO3', 1, 'not a chemical symbol'],
    ['kno3', 0, 'not a chemical symbol'],
  ])('of %j is refused and the place shown', (formula, at, words) => {
    const read = molarMassGPerMol(formula)
    expect(read).toMatchObject({ kind: 'bad-formula', at })
    expect(read.kind === 'bad-formula' && read.problem).toContain(words)
  })
})

describe('the elements of a formula', () => {
  it('tell nitrate nitrogen from ammonium nitrogen', () => {
    expect(formulaElements('5Ca(NO3)2.NH4NO3.10H2O')).toEqual({
      kind: 'elements',
      molPerMol: { 'NO3-N': 11, 'NH4-N': 1, Ca: 5 },
    })
    expect(formulaElements('(NH4)2SO4')).toEqual({ kind: 'elements', molPerMol: { 'NH4-N': 2, S: 1 } })
    expect(formulaElements('NH4H2PO4')).toEqual({ kind: 'elements', molPerMol: { 'NH4-N': 1, P: 1 } })
  })

  it.each([
    ['CO(NH2)2', 'nitrogen'],
    ['NaNO2', 'nitrogen'],
    ['K2SO3', 'sulfur'],
    ['KH2PO3', 'phosphorus'],
    ['NaClO', 'chlorine'],
    ['Ca(ClO)2', 'chlorine'],
    ['C6H8O7', 'carbon'],
  ])('of %s are refused, because %s comes in a form that is not tracked', (formula, element) => {
    const read = formulaElements(formula)
    expect(read.kind === 'bad-formula' && read.problem).toContain(element)
  })

  it('count groups inside nested brackets', () => {
    expect(readFormula('Mg((NO3)2)3')).toMatchObject({ groups: { NO3: 6 }, atoms: { Mg: 1, N: 6, O: 18 } })
  })
})

describe('mg/L and mmol/L', () => {
  it('are the same thing said twice', () => {
    fc.assert(
      fc.property(fc.constantFrom(...ELEMENTS), fc.double({ min: 0, max: 1e4, noNaN: true }), (name, mgPerL) => {
        expect(toMgPerL(name, toMmolPerL(name, mgPerL))).toBeCloseTo(mgPerL, 8)
      }),
    )
  })

  it('count nitrate and ammonium as nitrogen: 14.007 mg is 1 mmol of either', () => {
    expect(toMmolPerL('NO3-N', 14.007)).toBe(1)
    expect(toMmolPerL('NH4-N', 14.007)).toBe(1)
  })
})
