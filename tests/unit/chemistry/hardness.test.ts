import { expect, it } from 'vitest'
import { alkalinityFromMeqPerL, alkalinityToMeqPerL, hardnessMgPerLCaCO3 } from '../../../src/chemistry/hardness.ts'

it('calcium 50 and magnesium 10 mg/L make a hardness of 166.0 mg/L CaCO3', () => {
  // Standard Methods 2340B; a drinking-water engineering reference prints 166.0447.
  expect(hardnessMgPerLCaCO3(50, 10)).toBeCloseTo(166.04, 1)
})

it('one mg/L of calcium counts 2.497 and of magnesium 4.118', () => {
  // Standard Methods 2340B.
  expect(hardnessMgPerLCaCO3(1, 0)).toBeCloseTo(2.497, 3)
  expect(hardnessMgPerLCaCO3(0, 1)).toBeCloseTo(4.118, 3)
})

it.each([
  ['mg/L CaCO3', 50.04, 2],
  ['mg/L HCO3', 61.02, 2],
  ['°dH', 2.805, 2],
] as const)('1 meq/L of alkalinity in %s is %d', (unit, expected, digits) => {
  // Standard Methods 2320 and the usual water tables.
  expect(alkalinityFromMeqPerL(1, unit)).toBeCloseTo(expected, digits)
  expect(alkalinityToMeqPerL(alkalinityFromMeqPerL(3.7, unit), unit)).toBeCloseTo(3.7, 12)
})
