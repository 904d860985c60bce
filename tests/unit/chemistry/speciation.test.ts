import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { alkalinityMeqPerL } from '../../../src/chemistry/alkalinity.ts'
import { closedCarbon, OPEN_AIR, openCarbon } from '../../../src/chemistry/carbon.ts'
import { ELEMENT_INDEX, toVector } from '../../../src/chemistry/element.ts'
import { blankSpeciation, type Speciation, speciate, speciateNear } from '../../../src/chemistry/speciation.ts'
import { carbon, ph, totals } from './arbitrary.ts'
import { SOLUTIONS } from './phreeqc.ts'

const at = (vector: Float64Array, name: keyof typeof ELEMENT_INDEX) => vector[ELEMENT_INDEX[name]]!

/** Charge of every ion there is, written out one by one: the long way round to what acidBaseMeqPerL says. */
function netCharge(vector: Float64Array, s: Speciation): number {
  const cations = s.h + s.nh4 + at(vector, 'K') + at(vector, 'Na') + 2 * (s.ca + s.mg)
  const micros = 2 * (at(vector, 'Mn') + at(vector, 'Zn') + at(vector, 'Cu') - at(vector, 'Mo'))
  const anions = at(vector, 'NO3-N') + at(vector, 'Cl') + 2 * s.so4 + s.hso4
  const weak = s.h2po4 + 2 * s.hpo4 + 3 * s.po4 + s.hco3 + 2 * s.co3 + s.oh
  return cations + micros - anions - weak
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
        expect(s.ca + s.caso4 + s.cahpo4).toBeCloseTo(at(vector, 'Ca'), 8)
        expect(s.mg + s.mgso4 + s.mghpo4).toBeCloseTo(at(vector, 'Mg'), 8)
        expect(s.so4 + s.hso4 + s.caso4 + s.mgso4).toBeCloseTo(at(vector, 'S'), 8)
        const phosphate = s.h3po4 + s.h2po4 + s.hpo4 + s.po4 + s.cahpo4 + s.mghpo4
        expect(phosphate).toBeCloseTo(at(vector, 'P'), 8)
        expect(s.nh4 + s.nh3).toBeCloseTo(at(vector, 'NH4-N'), 10)
        if (carbon >= 0) expect(s.co2 + s.hco3 + s.co3).toBeCloseTo(carbon, 10)
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
          expect(again[name as keyof Speciation], name).toBeCloseTo(value, 8)
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
    expect(s.ca + s.caso4 + s.cahpo4).toBeCloseTo(mix.mmolPerL.Ca!, 6)
  })

  it('are not a number when a total is not a number', () => {
    const s = speciate(toVector({ K: Number.NaN }), 6, OPEN_AIR, blankSpeciation())
    expect(s.ionicStrengthMolPerL).toBeNaN()
  })
})

describe('against USGS PHREEQC 3.8.9', () => {
  it.each(SOLUTIONS.filter(({ group }) => group === 'nutrient solution'))(
    '$id has the same ionic strength within 2 %',
    ({ mmolPerL, phAt25C, inorganicCarbonMmolPerL, ionicStrengthMolPerKg }) => {
      const carbon = closedCarbon(inorganicCarbonMmolPerL)
      const s = speciate(toVector(mmolPerL), phAt25C, carbon, blankSpeciation())
      expect(Math.abs(s.ionicStrengthMolPerL / ionicStrengthMolPerKg - 1)).toBeLessThan(0.02)
    },
  )

  it('gives the lettuce solution at pH 6.0 its free calcium, magnesium, sulfate and phosphate', () => {
    // Worked value for case B-lettuce-pH6.0-25C with four pairs: I 0.02329 mol/L; mmol/L free.
    const lettuce = SOLUTIONS.find(({ id }) => id === 'B-lettuce-pH6.0-25C')!
    const carbon = closedCarbon(lettuce.inorganicCarbonMmolPerL)
    const s = speciate(toVector(lettuce.mmolPerL), 6, carbon, blankSpeciation())
    expect(s.ionicStrengthMolPerL).toBeCloseTo(0.02329, 4)
    expect(s.ca).toBeCloseTo(3.695, 2)
    expect(s.mg).toBeCloseTo(1.634, 2)
    expect(s.so4).toBeCloseTo(1.486, 2)
    expect(s.hpo4).toBeCloseTo(0.107, 2)
  })
})

it('a gas of one atmosphere of CO2 and a negative amount of carbon are refused', () => {
  expect(() => openCarbon(0)).toThrow('below 0')
  expect(() => closedCarbon(-1)).toThrow('0 or more')
})
