// Random solutions for property tests: any strength a reservoir or a raw water may have.

import fc from 'fast-check'
import { ELEMENT_COUNT, ELEMENT_INDEX } from '../../../src/chemistry/element.ts'

const MAX_MMOL_PER_L: Readonly<Record<string, number>> = {
  'NO3-N': 30,
  'NH4-N': 5,
  P: 4,
  K: 20,
  Ca: 12,
  Mg: 8,
  S: 10,
  Na: 15,
  Cl: 15,
  Fe: 0.1,
  Mn: 0.05,
  Zn: 0.05,
  B: 0.1,
  Cu: 0.01,
  Mo: 0.005,
}

/** Totals in mmol/L, in the order of ELEMENTS. */
export const totals = fc
  .tuple(...Array.from({ length: ELEMENT_COUNT }, () => fc.double({ min: 0, max: 1, noNaN: true })))
  .map((shares) => {
    const vector = new Float64Array(ELEMENT_COUNT)
    for (const [name, max] of Object.entries(MAX_MMOL_PER_L)) {
      const at = ELEMENT_INDEX[name as keyof typeof ELEMENT_INDEX]
      vector[at] = shares[at]! * max
    }
    return vector
  })

/** Totals with at least 1 mmol/L of potassium nitrate, so that salts and not water carry the current. */
export const saline = totals.map((vector) => {
  const salted = Float64Array.from(vector)
  salted[ELEMENT_INDEX.K]! += 1
  salted[ELEMENT_INDEX['NO3-N']]! += 1
  return salted
})

export const ph = fc.double({ min: 3.5, max: 9, noNaN: true })

/** Open to 10^-4 to 10^-2 atm, or closed with up to 5 mmol/L. */
export const carbon = fc.oneof(fc.double({ min: -4, max: -2, noNaN: true }), fc.double({ min: 0, max: 5, noNaN: true }))
