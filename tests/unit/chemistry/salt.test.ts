import { describe, expect, it } from 'vitest'
import { alkalinityMeqPerL } from '../../../src/chemistry/alkalinity.ts'
import { type Composition, ELEMENTS, type ElementName, fromVector, toVector } from '../../../src/chemistry/element.ts'
import { toMgPerL } from '../../../src/chemistry/molar-mass.ts'
import {
  type BadSalt,
  type Reagent,
  readReagent,
  readSalt,
  type Salt,
  type SaltContent,
} from '../../../src/chemistry/salt.ts'

const content = (salt: Salt): SaltContent => {
  const read = readSalt(salt)
  if (read.kind !== 'salt') throw new Error(read.problem)
  return read
}
const pure = (formula: string): Salt => ({ kind: 'formula', formula, purity: 1 })
const problem = (read: { kind: string } | BadSalt) => ('problem' in read ? read.problem : read.kind)

/** mmol/L of a solution from g/L of pure salts. */
function dissolve(gPerL: Readonly<Record<string, number>>): Float64Array {
  const sum = toVector({})
  for (const [formula, grams] of Object.entries(gPerL)) {
    toVector(content(pure(formula)).mmolPerG).forEach((mmol, at) => {
      sum[at]! += mmol * grams
    })
  }
  return sum
}

const mgPerL = (mmolPerL: Float64Array) =>
  Object.fromEntries(ELEMENTS.map((name, at) => [name, toMgPerL(name, mmolPerL[at]!)])) as Record<ElementName, number>

function expectNear(found: Composition, expected: Composition, tolerance: number) {
  for (const [name, value] of Object.entries(expected)) {
    expect(Math.abs(found[name as keyof Composition]! - value), name).toBeLessThan(tolerance)
  }
}

describe('Hoagland & Arnon 1950, Calif. Agric. Exp. Stn Circular 347', () => {
  // 5 mL of 1 M Ca(NO3)2, 5 of KNO3, 1 of KH2PO4 and 2 of MgSO4 to the litre.
  const one = dissolve({ 'Ca(NO3)2.4H2O': 1.18073, KNO3: 0.50551, KH2PO4: 0.136084, 'MgSO4.7H2O': 0.492944 })
  // 4 mL of 1 M Ca(NO3)2, 6 of KNO3, 1 of NH4H2PO4 and 2 of MgSO4.
  const two = dissolve({ 'Ca(NO3)2.4H2O': 0.944584, KNO3: 0.606612, NH4H2PO4: 0.115024, 'MgSO4.7H2O': 0.492944 })

  it('solution 1 from salts: N 210, P 31, K 235, Ca 200, Mg 49, S 64 mg/L', () => {
    const expected = { 'NO3-N': 210.1, 'NH4-N': 0, P: 30.97, K: 234.6, Ca: 200.4, Mg: 48.6, S: 64.1 }
    expectNear(mgPerL(one), expected, 0.1)
  })

  it('solution 2 from salts: nitrate N 196, ammonium N 14, P 31, K 235, Ca 160, Mg 49, S 64 mg/L', () => {
    const expected = { 'NO3-N': 196.1, 'NH4-N': 14.0, P: 31.0, K: 234.6, Ca: 160.3, Mg: 48.6, S: 64.1 }
    expectNear(mgPerL(two), expected, 0.1)
  })

  it('both balance: as many cations as anions, so no alkalinity', () => {
    expect(alkalinityMeqPerL(one)).toBeCloseTo(0, 4)
    expect(alkalinityMeqPerL(two)).toBeCloseTo(0, 4)
  })

  it('micronutrient stock, 1 mL to the litre: B 0.50, Mn 0.50, Zn 0.05, Cu 0.02, Cl 0.65 mg/L', () => {
    const stock = dissolve({ H3BO3: 2.86, 'MnCl2.4H2O': 1.81, 'ZnSO4.7H2O': 0.22, 'CuSO4.5H2O': 0.08 })
    const delivered = stock.map((mmol) => mmol / 1000)
    expectNear(mgPerL(delivered), { B: 0.5, Mn: 0.5025, Zn: 0.05, Cu: 0.0204, Cl: 0.648 }, 0.001)
  })
})

describe('a salt by its formula', () => {
  it('of 98 % purity brings 98 % of the elements', () => {
    const whole = content(pure('KNO3')).mmolPerG.K!
    expect(content({ kind: 'formula', formula: 'KNO3', purity: 0.98 }).mmolPerG.K).toBeCloseTo(0.98 * whole, 12)
  })

  it.each([
    ['KNO3', 0],
    ['KH2PO4', 0],
    ['5Ca(NO3)2.NH4NO3.10H2O', 0],
    ['Na2MoO4.2H2O', 0],
    ['K2CO3', 2],
    ['KHCO3', 1],
    ['KOH', 1],
    ['K2HPO4', 1],
    ['HNO3', -1],
    ['H3PO4', -1],
    ['H2SO4', -2],
    // Free iron falls as hydroxide and leaves its acid behind; borax is the base it is.
    ['FeSO4.7H2O', -2],
    ['Na2B4O7.10H2O', 2],
  ])('%s raises alkalinity by %d meq per mmol', (formula, meq) => {
    const { alkalinityMeqPerG, mmolPerG } = content(pure(formula))
    const [name, amount] = Object.entries(mmolPerG)[0]!
    const perFormula = { 'NO3-N': formula.startsWith('5Ca') ? 11 : 1, B: 4, Na: 2, S: 1, P: 1, K: 1 }[name] ?? 1
    const units = formula.startsWith('K2') && name === 'K' ? 2 : perFormula
    expect(alkalinityMeqPerG / (amount / units)).toBeCloseTo(meq, 9)
  })

  it('carbonate is counted beside the alkalinity it brings', () => {
    const { carbonateMmolPerG, alkalinityMeqPerG } = content(pure('K2CO3'))
    expect(carbonateMmolPerG).toBeCloseTo(alkalinityMeqPerG / 2, 12)
  })

  it('urea is refused in words', () => {
    expect(problem(readSalt(pure('CO(NH2)2')))).toContain('neither nitrate (NO3) nor ammonium (NH4)')
  })

  it.each([0, -0.1, 1.01, Number.NaN])('a purity of %d is refused', (purity) => {
    expect(readSalt({ kind: 'formula', formula: 'KNO3', purity }).kind).toBe('bad-salt')
  })
})

describe('a salt by its label', () => {
  it('greenhouse calcium nitrate 15.5-0-0 with 19 % Ca: 645 mg/L for 100 mg/L N brings 122.6 mg/L Ca', () => {
    // Mattson 2018, Fertilizer calculation basics for hydroponics, Cornell University.
    const { mmolPerG } = content({ kind: 'label', percent: { 'NO3-N': 14.4, 'NH4-N': 1.1, Ca: 19 } })
    const delivered = mgPerL(toVector(mmolPerG).map((mmol) => mmol * 0.645))
    expect(delivered['NO3-N'] + delivered['NH4-N']).toBeCloseTo(100, 1)
    expect(delivered.Ca).toBeCloseTo(122.6, 1)
  })

  it('12 % P2O5 is 5.24 % P', () => {
    // Mattson 2018, Cornell University.
    expect(toMgPerL('P', content({ kind: 'label', percent: { P2O5: 12 } }).mmolPerG.P!)).toBeCloseTo(52.4, 1)
  })

  it('rounded to whole percents seems charged, unless it is declared neutral', () => {
    const percent = { K2O: 34, P2O5: 52 } as const
    expect(Math.abs(content({ kind: 'label', percent }).alkalinityMeqPerG)).toBeGreaterThan(0.05)
    const declared = content({ kind: 'label', percent, alkalinityMeqPerG: 0 })
    expect(declared.alkalinityMeqPerG).toBe(0)
    expect(declared.untrackedMeqPerG).toBeCloseTo(-content({ kind: 'label', percent }).alkalinityMeqPerG, 12)
  })

  it('that states phosphorus twice, or more than everything, is refused', () => {
    expect(problem(readSalt({ kind: 'label', percent: { P: 10, P2O5: 23 } }))).toContain('stated twice')
    expect(problem(readSalt({ kind: 'label', percent: { K2O: 101 } }))).toContain('0 to 100')
    expect(problem(readSalt({ kind: 'label', percent: { K: 70, Ca: 40 } }))).toContain('more than 100')
    expect(problem(readSalt({ kind: 'label', percent: { Urea: 10 } as never }))).toContain('not a form')
  })
})

describe('an acid or base by its bottle', () => {
  // mol/L from strength and density, as acid tables print them (densities: handbook, from memory).
  it.each([
    [{ formula: 'HNO3', massFraction: 0.6, densityKgPerL: 1.3667 }, -13.01],
    [{ formula: 'H3PO4', massFraction: 0.85, densityKgPerL: 1.689 }, -14.65],
    [{ formula: 'H2SO4', massFraction: 0.98, densityKgPerL: 1.836 }, -36.7],
    [{ formula: 'KOH', massFraction: 0.45, densityKgPerL: 1.456 }, 11.68],
    [{ formula: 'K2CO3', massFraction: 0.5, densityKgPerL: 1.54 }, 11.14],
  ] satisfies [Reagent, number][])('%j holds %d meq/mL of alkalinity', (reagent, expected) => {
    const read = readReagent(reagent)
    expect(read.kind === 'reagent' && read.alkalinityMeqPerMl).toBeCloseTo(expected, 1)
  })

  it('1 fl oz of 93 % sulfuric acid to 100 US gal takes 136 mg/L CaCO3 and brings 43.6 mg/L S', () => {
    // UMass Extension, Adjusting alkalinity with acids: density 1.835.
    const read = readReagent({ formula: 'H2SO4', massFraction: 0.93, densityKgPerL: 1.835 })
    if (read.kind !== 'reagent') throw new Error(read.problem)
    const share = 29.5735 / 378.541
    expect(read.alkalinityMeqPerMl * share * 50.04).toBeCloseTo(-136.0, 0)
    expect(toMgPerL('S', read.mmolPerMl.S! * share)).toBeCloseTo(43.6, 1)
  })

  it('of impossible density or strength is refused', () => {
    expect(readReagent({ formula: 'HNO3', massFraction: 0.6, densityKgPerL: 13 }).kind).toBe('bad-reagent')
    expect(readReagent({ formula: 'HNO3', massFraction: 60, densityKgPerL: 1.3667 }).kind).toBe('bad-reagent')
  })
})

it('a composition and its vector say the same', () => {
  expect(fromVector(toVector({ K: 5, Mo: 0.1 }))).toEqual({ K: 5, Mo: 0.1 })
  expect(() => fromVector(new Float64Array(3))).toThrow('15 elements')
})
