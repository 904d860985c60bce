import { describe, expect, test } from 'vitest'
import { explainMisfit, judgePlausibility, suspectForms } from '../../../../src/formulation/laboratory/plausibility.ts'
import type { LaboratorySample } from '../../../../src/formulation/laboratory/report.ts'
import { samplesOf } from './report-text.ts'

/** A sample from ions in mmol/L, as the published recipes state them. */
function fromIons(ions: Readonly<Record<string, number>>, rest = ''): LaboratorySample {
  const rows = Object.entries(ions).map(([ion, mmolPerL]) => `${ion},${mmolPerL},mmol/L`)
  return samplesOf(`Analyte,Value,Unit\n${rows.join('\n')}\n${rest}`)[0]!
}

/** Hoagland & Arnon 1950, Calif. Agric. Exp. Stn Circular 347, solution 1: 20.0 meq/L on either side. */
const HOAGLAND_1 = { K: 6, Ca: 5, Mg: 2, NO3: 15, SO4: 2, PO4: 1, Na: 0, Cl: 0 }

describe('charge balance', () => {
  test('Hoagland solution 1 balances at 20 meq/L', () => {
    const judged = judgePlausibility(fromIons(HOAGLAND_1, 'Alkalinity,0,meq/L\n'))
    expect(judged.cationsMeqPerL).toBeCloseTo(20, 6)
    expect(judged.anionsMeqPerL).toBeCloseTo(20, 6)
    expect(judged.balancePercent).toBeCloseTo(0, 6)
    expect(judged).toMatchObject({ isBalanced: true, missing: [] })
  })

  test('Sonneveld & Straver lettuce balances at 23.25 meq/L (from memory of the book)', () => {
    const ions = { NH4: 1.25, K: 11, Ca: 4.5, Mg: 1, NO3: 19, SO4: 1.125, PO4: 2 }
    const judged = judgePlausibility(fromIons(ions, 'Alkalinity,0,meq/L\n'))
    expect(judged.cationsMeqPerL).toBeCloseTo(23.25, 6)
    expect(judged.anionsMeqPerL).toBeCloseTo(23.25, 6)
    expect(judged.missing).toEqual(['Cl', 'Na'])
  })

  test.each([
    // Standard Methods 1030E (from memory): 0.2 meq/L up to an anion sum of 3, 2 % to 10, 5 % above
    [{ K: 2.3, NO3: 2 }, false],
    [{ K: 2.15, NO3: 2 }, true],
    [{ K: 8.4, NO3: 8 }, false],
    [{ K: 8.3, NO3: 8 }, true],
    [{ K: 22.2, NO3: 20 }, false],
    [{ K: 22, NO3: 20 }, true],
  ])('%j is balanced: %s', (ions, isBalanced) => {
    expect(judgePlausibility(fromIons(ions, 'Alkalinity,0,meq/L\n')).isBalanced).toBe(isBalanced)
  })

  test('a value below its limit counts as half the limit', () => {
    const judged = judgePlausibility(samplesOf('Analyte,Value,Unit\nK,<2,mmol/L\nAlkalinity,0,meq/L\n')[0]!)
    expect(judged.cationsMeqPerL).toBeCloseTo(1, 9)
  })
})

describe('calculated against measured conductivity', () => {
  test('0.01 mol/L potassium chloride is 1.413 dS/m', () => {
    const judged = judgePlausibility(fromIons({ K: 10, Cl: 10 }, 'EC,1.413,mS/cm\npH,6,\n'))
    expect(judged.conductivityRatio).toBeGreaterThan(0.99)
    expect(judged.conductivityRatio).toBeLessThan(1.01)
    expect(judged.isConductivityFitting).toBe(true)
  })

  test('uS/cm taken for mS/cm shows at once', () => {
    const sample = { ...fromIons({ K: 10, Cl: 10 }, ''), conductivityDsPerM: 0.00141 }
    expect(judgePlausibility(sample).isConductivityFitting).toBe(false)
  })
})

describe('one mistake of form', () => {
  const report = (nitrate: string, phosphorus: string) =>
    fromIons(
      { K: 6, Ca: 5, Mg: 2, SO4: 2, Na: 0, Cl: 0 },
      `Nitrate-N,${nitrate},mg/L\nP,${phosphorus},mg/L\nAlkalinity,0,meq/L\nEC,2.1,mS/cm\npH,5.5,\n`,
    )

  test('a report that fits raises no suspicion', () => {
    expect(judgePlausibility(report('210.1', '31')).isConductivityFitting).toBe(true)
    expect(suspectForms(report('210.1', '31'))).toEqual([])
  })

  test('nitrate given as the ion under the name of nitrate nitrogen', () => {
    const [suspicion, ...others] = suspectForms(report('930', '31'))
    expect(others).toEqual([])
    expect(suspicion).toMatchObject({ element: 'NO3-N', readAs: 'NO3-N', perhaps: 'NO3' })
    // NO3 to NO3-N 0.22590
    expect(suspicion!.mgPerL).toBeCloseTo(930 * 0.2259, 1)
  })

  test('nothing is suspected while main ions are missing', () => {
    expect(suspectForms(fromIons({ K: 20, NO3: 5 }))).toEqual([])
  })
})

describe('which forms are wrong, with the misfit before and after', () => {
  /** Hoagland solution 1 with its figures multiplied as a wrong form would. */
  const hoagland = (factors: Readonly<Record<string, number>>, conductivity = 'EC,2.1,mS/cm\n') => {
    const mgPerL = { 'NO3-N': 210.1, P: 30.97, K: 234.6, Ca: 200.4, Mg: 48.6, S: 64.1, Na: 0, Cl: 0 }
    const rows = Object.entries(mgPerL).map(([name, value]) => `${name},${value * (factors[name] ?? 1)},mg/L`)
    return samplesOf(`Analyte,Value,Unit\n${rows.join('\n')}\nAlkalinity,0,meq/L\npH,5.5,\n${conductivity}`)[0]!
  }
  // published conversion constants: NO3 to NO3-N 0.22590, K2O to K 0.83015, CaO to Ca 0.71470, SO4 to S 0.33376
  const NO3 = 1 / 0.2259
  const CAO = 1 / 0.7147
  const SO4 = 1 / 0.33376

  test('one form wrong: nitrate', () => {
    const [best, ...others] = explainMisfit(hoagland({ 'NO3-N': NO3 }))
    expect(others).toEqual([])
    expect(best!.changes).toMatchObject([{ element: 'NO3-N', perhaps: 'NO3' }])
    expect(best!.before.balancePercent).toBeLessThan(-50)
    expect(best!.before.size).toBeGreaterThan(5)
    expect(best!.before.conductivityRatio).toBeGreaterThan(1.5)
    expect(Math.abs(best!.after.balancePercent)).toBeLessThan(0.1)
    expect(best!.after.size).toBeLessThan(1)
  })

  test.each([
    ['nitrate and sulfate', { 'NO3-N': NO3, S: SO4 }, ['NO3-N as NO3', 'S as SO4']],
    ['nitrate and calcium', { 'NO3-N': NO3, Ca: CAO }, ['NO3-N as NO3', 'Ca as CaO']],
    ['sulfate and calcium', { S: SO4, Ca: CAO }, ['S as SO4', 'Ca as CaO']],
  ])('two forms wrong: %s is among the first three', (_name, factors, expected) => {
    const found = explainMisfit(hoagland(factors))
    const named = found.map(({ changes }) => changes.map(({ element, perhaps }) => `${element} as ${perhaps}`).sort())
    expect(named.slice(0, 3)).toContainEqual([...expected].sort())
    for (const { before, after } of found) expect(after.size).toBeLessThan(before.size)
  })

  test('two forms are not looked for without a measured conductivity', () => {
    const twice = { 'NO3-N': NO3, S: SO4 }
    expect(explainMisfit(hoagland(twice))).not.toEqual([])
    expect(explainMisfit(hoagland(twice, '')).every(({ changes }) => changes.length === 1)).toBe(true)
  })

  test('a report that fits needs no explanation', () => {
    expect(explainMisfit(hoagland({}))).toEqual([])
  })
})
