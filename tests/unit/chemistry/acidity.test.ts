import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  alkalinityFromPh,
  bufferIntensityMeqPerLPerPh,
  inorganicCarbonMmolPerL,
  NEUTRALIZERS,
  type NeutralizerNeed,
  neutralizerNeed,
  neutralizerOf,
  phFromAlkalinity,
} from '../../../src/chemistry/acidity.ts'
import { alkalinityMeqPerL } from '../../../src/chemistry/alkalinity.ts'
import { closedCarbon, OPEN_AIR } from '../../../src/chemistry/carbon.ts'
import { ELEMENT_INDEX, toVector } from '../../../src/chemistry/element.ts'
import { alkalinityToMeqPerL } from '../../../src/chemistry/hardness.ts'
import { readReagent } from '../../../src/chemistry/salt.ts'
import { carbon, ph, totals } from './arbitrary.ts'
import { type ReferenceTitration, SOLUTIONS, TITRATIONS } from './phreeqc.ts'

const dose = (need: NeutralizerNeed) => {
  if (need.kind !== 'dose') throw new Error(`expected a dose, not ${need.kind}`)
  return need
}

const water = ({ mmolPerL, alkalinityMeqPerL, co2, inorganicCarbonMmolPerL }: ReferenceTitration) => ({
  totals: toVector(mmolPerL),
  alkalinityMeqPerL,
  carbon: co2 === 'open' ? OPEN_AIR : closedCarbon(inorganicCarbonMmolPerL!),
})

const RESERVOIRS = SOLUTIONS.filter(({ group, id }) => group !== 'single salt' && !/stock|mixAB/.test(id))
const LETTUCE = toVector({ 'NO3-N': 12.1, 'NH4-N': 0.3, P: 1.3, K: 5.4, Ca: 4.1, Mg: 1.85, S: 2 })

describe('against USGS PHREEQC 3.8.9', () => {
  it.each(RESERVOIRS)('$id: pH from the alkalinity of its elements within 0.05', (one) => {
    const vector = toVector(one.mmolPerL)
    const ours = phFromAlkalinity(vector, one.alkalinityMeqPerL, closedCarbon(one.inorganicCarbonMmolPerL))
    expect(Math.abs(ours - one.ph)).toBeLessThan(0.05)
  })

  // PHREEQC counts HPO4 as 1 and H2PO4 as 0, as we do. The model is for 25 °C, the cases for 15 to 30.
  it.each(RESERVOIRS)('$id: alkalinity from pH within 0.03 meq/L', (one) => {
    const carbon = closedCarbon(one.inorganicCarbonMmolPerL)
    const off = alkalinityFromPh(toVector(one.mmolPerL), one.ph, carbon) - one.alkalinityMeqPerL
    expect(Math.abs(off)).toBeLessThan(0.03)
  })

  it.each(RESERVOIRS)('$id: strong cations minus strong anions is its alkalinity', (one) => {
    expect(alkalinityMeqPerL(toVector(one.mmolPerL))).toBeCloseTo(one.alkalinityMeqPerL, 2)
  })

  it.each(TITRATIONS)('$id: the acid to reach pH 6.0, 5.8 and 5.5 within 5 %', (titration) => {
    for (const target of ['6.0', '5.8', '5.5']) {
      const need = dose(neutralizerNeed(water(titration), Number(target), NEUTRALIZERS[titration.acid]))
      expect(Math.abs(need.mmolPerL / titration.acidMmolPerLToReachPh[target]! - 1)).toBeLessThan(0.05)
    }
  })

  it.each(TITRATIONS)(
    '$id: pH along the titration within 0.1, below pH 8 where there is something to buffer',
    (titration) => {
      const { totals, alkalinityMeqPerL, carbon } = water(titration)
      const acid = NEUTRALIZERS[titration.acid]
      for (const [mmolPerL, expected] of titration.points.filter(([, ph]) => ph < 8)) {
        const added = toVector(acid.mmolPerMmol)
        const mixed = totals.map((mmol, at) => mmol + mmolPerL * added[at]!)
        const ours = phFromAlkalinity(mixed, alkalinityMeqPerL + mmolPerL * acid.alkalinityMeqPerMmol, carbon)
        expect(Math.abs(ours - expected)).toBeLessThan(0.1)
      }
    },
  )

  it.each(TITRATIONS.filter(({ co2 }) => co2 === 'closed'))(
    '$id: the carbon in the water from its pH and alkalinity within 1.5 %',
    ({ mmolPerL, startPh, alkalinityMeqPerL, inorganicCarbonMmolPerL: expected }) => {
      const ours = inorganicCarbonMmolPerL(toVector(mmolPerL), startPh!, alkalinityMeqPerL)
      expect(Math.abs(ours / expected! - 1)).toBeLessThan(0.015)
    },
  )
})

describe('acid to reach pH 6.0, mmol/L, by USGS PHREEQC 3.8.9', () => {
  const waters = { 'alk0.5': 8.2, alk3: 8.2, alk5: 7.6 } as const
  it.each([
    ['alk0.5', 'HNO3', 0.349, 0.494],
    ['alk0.5', 'H3PO4', 0.325, 0.461],
    ['alk0.5', 'H2SO4', 0.175, 0.247],
    ['alk3', 'HNO3', 2.07, 2.99],
    ['alk3', 'H3PO4', 1.88, 2.72],
    ['alk3', 'H2SO4', 1.03, 1.5],
    ['alk5', 'HNO3', 3.34, 4.99],
    ['alk5', 'H3PO4', 2.99, 4.47],
    ['alk5', 'H2SO4', 1.67, 2.5],
  ] as const)('%s water with %s: %d closed and %d open, within 5 %%', (name, acid, closed, open) => {
    const { mmolPerL, alkalinityMeqPerL } = TITRATIONS.find(({ id }) => id.startsWith(`D-${name}-`))!
    const totals = toVector(mmolPerL)
    const sealed = closedCarbon(inorganicCarbonMmolPerL(totals, waters[name], alkalinityMeqPerL))
    for (const [carbon, expected] of [
      [sealed, closed],
      [OPEN_AIR, open],
    ] as const) {
      const need = dose(neutralizerNeed({ totals, alkalinityMeqPerL, carbon }, 6, NEUTRALIZERS[acid]))
      expect(Math.abs(need.mmolPerL / expected - 1)).toBeLessThan(0.05)
    }
  })
})

describe('pH and alkalinity', () => {
  it('lead back to each other', () => {
    fc.assert(
      fc.property(totals, ph, carbon, (vector, ph, carbon) => {
        expect(phFromAlkalinity(vector, alkalinityFromPh(vector, ph, carbon), carbon)).toBeCloseTo(ph, 6)
      }),
    )
  })

  it('rise together', () => {
    fc.assert(
      fc.property(totals, ph, carbon, (vector, ph, carbon) => {
        expect(bufferIntensityMeqPerLPerPh(vector, ph, carbon)).toBeGreaterThan(0)
      }),
    )
  })

  it('strong acid beyond the alkalinity takes pure water to pH 4.0 at 0.1 meq/L and 3.0 at 1.0', () => {
    // -log10 of the excess, activity included.
    expect(phFromAlkalinity(toVector({}), -0.1, OPEN_AIR)).toBeCloseTo(4.0, 1)
    expect(phFromAlkalinity(toVector({}), -1, OPEN_AIR)).toBeCloseTo(3.0, 1)
  })

  it('of a solution that is not a number are not guessed', () => {
    expect(() => phFromAlkalinity(toVector({ K: Number.NaN }), 0, OPEN_AIR)).toThrow('no change of sign')
  })

  it('phosphate is the buffer: starved of it, the same acid moves pH far more', () => {
    const starved = Float64Array.from(LETTUCE)
    starved[ELEMENT_INDEX.P] = 0.3
    const full = bufferIntensityMeqPerLPerPh(LETTUCE, 5.8, OPEN_AIR)
    expect(bufferIntensityMeqPerLPerPh(starved, 5.8, OPEN_AIR)).toBeLessThan(full / 3)
  })
})

describe('acid and base needed', () => {
  const tap = { totals: toVector({ Ca: 1.5, Mg: 0.5, Na: 1, K: 0.05, S: 0.6, 'NO3-N': 0.2, Cl: 0.65 }) }

  it('a closed water seems to need about two thirds of what it needs once aerated', () => {
    const closed = closedCarbon(inorganicCarbonMmolPerL(tap.totals, 8.2, 3))
    const seen = dose(neutralizerNeed({ ...tap, alkalinityMeqPerL: 3, carbon: closed }, 6, NEUTRALIZERS.HNO3))
    const needed = dose(neutralizerNeed({ ...tap, alkalinityMeqPerL: 3, carbon: OPEN_AIR }, 6, NEUTRALIZERS.HNO3))
    expect(seen.meqPerL / needed.meqPerL).toBeCloseTo(2 / 3, 1)
  })

  it('after the dose the water stands at the pH asked for', () => {
    fc.assert(
      fc.property(totals, ph, carbon, fc.constantFrom(...Object.values(NEUTRALIZERS)), (vector, target, carbon, by) => {
        const start = { totals: vector, alkalinityMeqPerL: by.alkalinityMeqPerMmol < 0 ? 3 : -1, carbon }
        const need = neutralizerNeed(start, target, by)
        if (need.kind !== 'dose') return
        const added = toVector(by.mmolPerMmol)
        const after = vector.map((mmol, at) => mmol + need.mmolPerL * added[at]!)
        const alkalinity = start.alkalinityMeqPerL + need.mmolPerL * by.alkalinityMeqPerMmol
        const gas = carbon < 0 ? carbon : carbon + need.mmolPerL * by.carbonateMmolPerMmol
        expect(phFromAlkalinity(after, alkalinity, gas)).toBeCloseTo(target, 5)
      }),
    )
  })

  it('a water already below the target is not given acid', () => {
    const need = neutralizerNeed({ ...tap, alkalinityMeqPerL: 0, carbon: OPEN_AIR }, 6, NEUTRALIZERS.HNO3)
    expect(need).toMatchObject({ kind: 'wrong-way', needs: 'base' })
  })

  it('phosphoric acid cannot bring a water below its own strength', () => {
    const need = neutralizerNeed({ ...tap, alkalinityMeqPerL: 3, carbon: OPEN_AIR }, 0.5, NEUTRALIZERS.H3PO4)
    expect(need.kind).toBe('out-of-reach')
  })

  it('nothing is needed where the water already stands', () => {
    const alkalinityMeqPerL = alkalinityFromPh(LETTUCE, 6, OPEN_AIR)
    const need = neutralizerNeed({ totals: LETTUCE, alkalinityMeqPerL, carbon: OPEN_AIR }, 6, NEUTRALIZERS.HNO3)
    expect(need).toEqual({ kind: 'dose', mmolPerL: 0, meqPerL: 0 })
  })

  it('the listed acids and bases are what their formulas say', () => {
    for (const [formula, by] of Object.entries(NEUTRALIZERS)) expect(neutralizerOf(formula)).toEqual(by)
  })

  it('citric acid, which is not tracked, is refused', () => {
    expect(neutralizerOf('C6H8O7')).toMatchObject({ kind: 'bad-formula' })
  })

  it('200 mg/L CaCO3 from pH 7.8 to 5.8 takes about 237 mL of 60 % nitric acid to 1000 L, as seen at first', () => {
    // Constructed from the closed carbonate model at infinite dilution (pK 6.35), hence the 5 %.
    const alkalinityMeqPerL = alkalinityToMeqPerL(200, 'mg/L CaCO3')
    const totals = toVector({ Ca: alkalinityMeqPerL / 2 })
    const carbon = closedCarbon(inorganicCarbonMmolPerL(totals, 7.8, alkalinityMeqPerL))
    const need = dose(neutralizerNeed({ totals, alkalinityMeqPerL, carbon }, 5.8, NEUTRALIZERS.HNO3))
    const bottle = readReagent({ formula: 'HNO3', massFraction: 0.6, densityKgPerL: 1.3667 })
    if (bottle.kind !== 'reagent') throw new Error(bottle.problem)
    const mlPerM3 = (1000 * need.mmolPerL) / bottle.formulaMmolPerMl
    expect(Math.abs(mlPerM3 / 237 - 1)).toBeLessThan(0.05)
  })
})
