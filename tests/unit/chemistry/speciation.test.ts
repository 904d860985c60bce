import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { alkalinityMeqPerL } from '../../../src/chemistry/alkalinity.ts'
import { closedCarbon, OPEN_AIR, openCarbon } from '../../../src/chemistry/carbon.ts'
import { ELEMENT_INDEX, toVector } from '../../../src/chemistry/element.ts'
import { blankSpeciation, type Speciation, speciate, speciateNear } from '../../../src/chemistry/speciation.ts'
import { carbon, ph, totals } from './arbitrary.ts'
import { SOLUTIONS } from './phreeqc.ts'

const at = (vector: Float64Array, name: keyof typeof ELEMENT_INDEX) => vector[ELEMENT_INDEX[name]]!

/** Charge of every ion and pair there is, written out one by one: the long way round to acidBaseMeqPerL. */
function netCharge(vector: Float64Array, s: Speciation): number {
  const cations = s.h + s.nh4 + s.k + s.na + 2 * (s.ca + s.mg)
  const cationPairs = s.cah2po4 + s.mgh2po4 + s.cahco3 + s.mghco3 + s.cano3
  const micros = 2 * (at(vector, 'Mn') + at(vector, 'Zn') + at(vector, 'Cu') - at(vector, 'Mo'))
  const anions = s.no3 + at(vector, 'Cl') + 2 * s.so4 + s.hso4
  const anionPairs = s.kso4 + s.naso4 + s.nh4so4 + s.capo4 + s.mgpo4
  const weak = s.h2po4 + 2 * s.hpo4 + 3 * s.po4 + s.hco3 + 2 * s.co3 + s.oh
  return cations + cationPairs + micros - anions - anionPairs - weak
}

/** Every element by the ions and pairs that hold it. */
function elementsOf(s: Speciation) {
  return {
    Ca: s.ca + s.caso4 + s.cahpo4 + s.caco3 + s.cah2po4 + s.cahco3 + s.cano3 + s.capo4,
    Mg: s.mg + s.mgso4 + s.mghpo4 + s.mgco3 + s.mgh2po4 + s.mghco3 + s.mgpo4,
    S: s.so4 + s.hso4 + s.caso4 + s.mgso4 + s.kso4 + s.naso4 + s.nh4so4,
    P: s.h3po4 + s.h2po4 + s.hpo4 + s.po4 + s.cah2po4 + s.mgh2po4 + s.cahpo4 + s.mghpo4 + s.capo4 + s.mgpo4,
    K: s.k + s.kso4,
    Na: s.na + s.naso4,
    'NH4-N': s.nh4 + s.nh3 + s.nh4so4,
    'NO3-N': s.no3 + s.cano3,
  } as const
}

describe('the ions of a solution', () => {
  it('are electrically neutral when its alkalinity is the one their acids and bases hold', () => {
    fc.assert(
      fc.property(totals, ph, carbon, (vector, ph, carbon) => {
        const s = speciate(vector, ph, carbon, blankSpeciation())
        expect(netCharge(vector, s)).toBeCloseTo(alkalinityMeqPerL(vector) - s.acidBaseMeqPerL, 7)
      }),
    )
  })

  it('add up to the elements they were made from', () => {
    fc.assert(
      fc.property(totals, ph, carbon, (vector, ph, carbon) => {
        const s = speciate(vector, ph, carbon, blankSpeciation())
        for (const [name, mmolPerL] of Object.entries(elementsOf(s))) {
          expect(mmolPerL, name).toBeCloseTo(at(vector, name as keyof typeof ELEMENT_INDEX), 7)
        }
        const inorganicCarbon = s.co2 + s.hco3 + s.co3 + s.cahco3 + s.mghco3 + s.caco3 + s.mgco3
        if (carbon >= 0) expect(inorganicCarbon).toBeCloseTo(carbon, 8)
      }),
    )
  })

  it('do not depend on what was reckoned before', () => {
    fc.assert(
      fc.property(totals, totals, ph, carbon, (vector, other, ph, carbon) => {
        const used = speciate(other, 4, OPEN_AIR, blankSpeciation())
        expect(speciate(vector, ph, carbon, used)).toEqual(speciate(vector, ph, carbon, blankSpeciation()))
      }),
    )
  })

  it('are found again from a solution close by', () => {
    fc.assert(
      fc.property(totals, ph, carbon, (vector, ph, carbon) => {
        const near = speciate(vector, ph + 0.01, carbon, blankSpeciation())
        const again = speciateNear(near, vector, ph, carbon, blankSpeciation())
        const fresh = speciate(vector, ph, carbon, blankSpeciation())
        for (const [name, value] of Object.entries(fresh)) {
          // Rounds end when nothing moves by more than 1e-10 of itself.
          expect(Math.abs(again[name as keyof Speciation] - value), name).toBeLessThanOrEqual(
            1e-8 * Math.max(1, Math.abs(value)),
          )
        }
      }),
    )
  })

  it('leave the totals as they were', () => {
    const vector = toVector({ 'NO3-N': 12, Ca: 4, S: 2, P: 1, K: 5 })
    const before = Float64Array.from(vector)
    speciate(vector, 6, OPEN_AIR, blankSpeciation())
    expect(vector).toEqual(before)
  })

  it('settle even in the forbidden mix of both stocks, a hundred times the working strength', () => {
    // USGS PHREEQC case E-mixAB-100x: 410 mmol/L calcium against 200 of sulfate and 130 of phosphate.
    const mix = SOLUTIONS.find(({ id }) => id === 'E-mixAB-100x-25C')!
    const s = speciate(toVector(mix.mmolPerL), mix.ph, 0, blankSpeciation())
    expect(elementsOf(s).Ca).toBeCloseTo(mix.mmolPerL.Ca!, 6)
  })

  it('are not a number when a total is not a number', () => {
    const s = speciate(toVector({ K: Number.NaN }), 6, OPEN_AIR, blankSpeciation())
    expect(s.ionicStrengthMolPerL).toBeNaN()
  })
})

describe('against USGS PHREEQC 3.8.9', () => {
  // Its databases know no CaNO3+: a pair made of charges 2 and 1 hides 2 of their 5 from the ionic strength.
  it.each(SOLUTIONS.filter(({ group }) => group === 'nutrient solution'))(
    '$id has the same ionic strength within 2 %',
    ({ mmolPerL, phAt25C, inorganicCarbonMmolPerL, ionicStrengthMolPerKg }) => {
      const carbon = closedCarbon(inorganicCarbonMmolPerL)
      const s = speciate(toVector(mmolPerL), phAt25C, carbon, blankSpeciation())
      const withoutCano3MolPerL = s.ionicStrengthMolPerL + (2 * s.cano3) / 1000
      expect(Math.abs(withoutCano3MolPerL / ionicStrengthMolPerKg - 1)).toBeLessThan(0.02)
    },
  )

  it.each([
    ['B-lettuce-pH6.0-25C', { ca: 3.734, mg: 1.584, so4: 1.482, k: 5.338, h2po4: 1.016, hpo4: 0.09718 }],
    ['E-tomato-pH7.0-25C', { ca: 4.667, mg: 2.153, so4: 2.836, k: 10.76, h2po4: 0.4538, hpo4: 0.4692 }],
  ] as const)('%s has its free ions, mmol/L, within 4 %', (id, freeMmolPerL) => {
    const s = speciationOf(id)
    for (const [ion, expected] of Object.entries(freeMmolPerL)) {
      const ours = s[ion as keyof Speciation] + (ion === 'ca' ? s.cano3 : 0)
      expect(Math.abs(ours / expected - 1), ion).toBeLessThan(0.04)
    }
  })

  it.each([
    ['B-lettuce-pH6.0-25C', { cah2po4: 0.05535, mgh2po4: 0.0303, cahpo4: 0.0636, mghpo4: 0.03696 }],
    ['E-tomato-pH7.0-25C', { cah2po4: 0.02804, mgh2po4: 0.01678, cahpo4: 0.3135, mghpo4: 0.1992 }],
    ['E-tomato-pH7.0-25C', { capo4: 0.008828, mgpo4: 0.005596 }],
  ] as const)('%s has its pairs of phosphate, mmol/L, within 6 %', (id, pairsMmolPerL) => {
    const s = speciationOf(id)
    for (const [pair, expected] of Object.entries(pairsMmolPerL)) {
      expect(Math.abs(s[pair as keyof Speciation] / expected - 1), pair).toBeLessThan(0.06)
    }
  })

  it('pairs potassium, sodium and ammonium with sulfate about half as much, as log K 0.85 stands to 1.18', () => {
    const aged = speciationOf('C-aged-SO4heavy-25C')
    const tomato = speciationOf('E-tomato-pH7.0-25C')
    for (const [ours, expected] of [
      [aged.kso4, 0.2163],
      [aged.naso4, 0.07907],
      [tomato.kso4, 0.2292],
      [tomato.nh4so4, 0.02435],
    ] as const) {
      expect(ours / expected).toBeGreaterThan(0.45)
      expect(ours / expected).toBeLessThan(0.6)
    }
  })
})

function speciationOf(id: string): Speciation {
  const { mmolPerL, ph, inorganicCarbonMmolPerL } = SOLUTIONS.find((one) => one.id === id)!
  return speciate(toVector(mmolPerL), ph, closedCarbon(inorganicCarbonMmolPerL), blankSpeciation())
}

it('a gas of one atmosphere of CO2 and a negative amount of carbon are refused', () => {
  expect(() => openCarbon(0)).toThrow('below 0')
  expect(() => closedCarbon(-1)).toThrow('0 or more')
})
