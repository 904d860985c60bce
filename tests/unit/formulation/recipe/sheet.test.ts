import { describe, expect, it } from 'vitest'
import { ELEMENT_INDEX, ELEMENTS, type ElementName } from '../../../../src/chemistry/element.ts'
import { alkalinityToMeqPerL } from '../../../../src/chemistry/hardness.ts'
import { toMmolPerL } from '../../../../src/chemistry/molar-mass.ts'
import { readAcid } from '../../../../src/formulation/recipe/acid-strength.ts'
import { type Acidified, type AcidifiedQuestion, solveWithAcid } from '../../../../src/formulation/recipe/acidified.ts'
import { sheetOf } from '../../../../src/formulation/recipe/recipe-sheet.ts'
import { roundToScale } from '../../../../src/formulation/recipe/rounding.ts'
import { LEAFY_BANDS, saltNamed } from './random-recipe.ts'

const SALTS = [
  'calcium nitrate',
  'potassium nitrate',
  'potassium sulfate',
  'monopotassium phosphate',
  'magnesium nitrate',
  'iron chelate',
  'manganese sulfate',
  'zinc sulfate',
  'copper sulfate',
  'boric acid',
  'sodium molybdate',
].map((name) => saltNamed(name))
const WELL = { 'NO3-N': 2.1, Ca: 82, Mg: 9, K: 2, Na: 14, Cl: 22, S: 11, B: 0.03 }
const nitric = (() => {
  const read = readAcid('nitric acid 60 %')
  if (read.kind === 'unfit') throw new Error(read.problem)
  return read.acid
})()
const well: AcidifiedQuestion = {
  presentMmolPerL: Float64Array.from(ELEMENTS, (name) => toMmolPerL(name, WELL[name as keyof typeof WELL] ?? 0)),
  bands: LEAFY_BANDS,
  salts: SALTS,
  ammoniumShareMax: 0.15,
  presentMeqPerL: alkalinityToMeqPerL(208, 'mg/L CaCO3'),
  presentPh: 7.6,
  targetPh: 5.9,
}
const solved = (question: AcidifiedQuestion): Acidified => {
  const answer = solveWithAcid(question)
  if (answer.kind === 'no-answer') throw new Error(answer.explanation)
  return answer
}
const wish = { volumeL: 220, bands: LEAFY_BANDS, presentMmolPerL: well.presentMmolPerL }

describe('a recipe on hard well water', () => {
  it('settles above pH 8 without acid, and at its aim with it', () => {
    expect(solved(well).settled.ph).toBeGreaterThan(8)
    const acidified = solved({ ...well, acid: nitric })
    expect(acidified.settled.ph).toBeCloseTo(5.9, 2)
    expect(acidified.recipe.unmet).toEqual([])
  })

  it('takes the nitrogen of the acid off the salts', () => {
    const without = solved(well)
    const acidified = solved({ ...well, acid: nitric })
    const nitrogen = (a: Acidified) =>
      SALTS.reduce((sum, _, s) => sum + a.recipe.broughtMmolPerL[s]![ELEMENT_INDEX['NO3-N']]!, 0)
    const acidNitrogen = acidified.recipe.broughtMmolPerL.at(-1)![ELEMENT_INDEX['NO3-N']]!
    expect(acidNitrogen).toBeGreaterThan(3.5)
    expect(nitrogen(acidified)).toBeLessThan(nitrogen(without) - 1)
  })

  it('takes a pinned amount of acid as it is and says what pH it comes to', () => {
    const half = solved({ ...well, acid: nitric, pinnedAcidMlPerL: 0.15 })
    expect(half.acid).toEqual({ name: 'nitric acid 60 %', mlPerL: 0.15 })
    expect(half.settled.ph).toBeGreaterThan(7.5)
  })
})

describe('the sheet of a recipe', () => {
  const acidified = solved({ ...well, acid: nitric })

  it('adds up: water and shares are the total, for every element', () => {
    for (const { element, waterMgPerL, fromSalts, totalMgPerL } of sheetOf(acidified, wish).elements) {
      const sum = fromSalts.reduce((all, { mgPerL }) => all + mgPerL, waterMgPerL)
      expect(sum, element).toBeCloseTo(totalMgPerL, 9)
    }
  })

  it('weighs twice the grams and measures twice the acid for twice the volume', () => {
    const [once, twice] = [sheetOf(acidified, wish), sheetOf(acidified, { ...wish, volumeL: 440 })]
    for (const [at, { g }] of once.salts.entries()) expect(twice.salts[at]!.g).toBeCloseTo(2 * g, 9)
    expect(twice.acid!.ml).toBeCloseTo(2 * once.acid!.ml, 9)
    expect(twice.elements).toEqual(once.elements)
  })

  it('shows what a scale of 0.1 g does: nothing to potassium, all to molybdenum', () => {
    const sheet = sheetOf(acidified, { ...wish, scaleG: 0.1 })
    const line = (element: ElementName) => sheet.elements.find((one) => one.element === element)!
    expect(Math.abs(line('K').weighedMgPerL! / line('K').totalMgPerL - 1)).toBeLessThan(0.002)
    // 0.0222 g of sodium molybdate cannot be weighed
    expect(line('Mo').weighedMgPerL).toBe(0)
    expect(sheet.salts.find(({ name }) => name === 'sodium molybdate')).toMatchObject({
      weighedG: 0,
      isTooCoarse: true,
    })
  })
})

describe('amounts on a scale', () => {
  it('go to the nearest step', () => {
    expect(roundToScale([12.34, 12.36, 0.04], 0.1).map(({ weighedG }) => weighedG)).toEqual([12.3, 12.4, 0])
  })

  it('are told when the step is too coarse for them', () => {
    expect(roundToScale([100, 1.04, 0.06], 0.1).map(({ isTooCoarse }) => isTooCoarse)).toEqual([false, false, true])
  })
})
