import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { ELEMENTS } from '../../../src/chemistry/element.ts'
import {
  type ElementForm,
  elementOf,
  elementShare,
  FORMS,
  isElementForm,
  readForm,
  writeForm,
} from '../../../src/chemistry/form.ts'

const ELEMENT_FORMS = FORMS.filter(isElementForm)

describe('a form of an element', () => {
  // Conversion factors as extension bulletins print them, to four or five figures.
  it.each([
    ['P2O5', 0.4364],
    ['K2O', 0.8301],
    ['CaO', 0.7147],
    ['MgO', 0.603],
    ['PO4', 0.3261],
    ['NO3', 0.2259],
    ['NH4', 0.7765],
    ['SO4', 0.3338],
    ['SO3', 0.4005],
  ] as const)('%s holds %d of its mass as the element', (form, share) => {
    expect(Math.abs(elementShare(form) - share)).toBeLessThan(1e-4)
  })

  it('reads back as it was written', () => {
    fc.assert(
      fc.property(fc.constantFrom(...ELEMENT_FORMS), fc.double({ min: 0, max: 1e4, noNaN: true }), (form, mgPerL) => {
        const read = readForm(form, writeForm(form, mgPerL))
        expect(read).toMatchObject({ kind: 'element', element: elementOf(form) })
        expect(read.kind === 'element' && read.mgPerL).toBeCloseTo(mgPerL, 8)
      }),
    )
  })

  it('exists for every tracked element under its own name, with a share of 1', () => {
    for (const name of ELEMENTS) expect(elementShare(name as ElementForm)).toBe(1)
  })
})

describe('alkalinity on a report', () => {
  // 1 meq/L = 50.04 mg/L CaCO3 = 61.02 mg/L HCO3 (Standard Methods 2320, from memory).
  it.each([
    ['CaCO3', 50.04],
    ['HCO3', 61.02],
  ])('as %s: %d mg/L is 1 meq/L', (form, mgPerL) => {
    const read = readForm(form, mgPerL)
    expect(read.kind === 'alkalinity' && read.meqPerL).toBeCloseTo(1, 3)
  })
})

it('a form nobody knows is refused with the list of those that are', () => {
  expect(readForm('N2O', 3)).toMatchObject({ kind: 'unknown-form', form: 'N2O', known: FORMS })
  expect(readForm('constructor', 3).kind).toBe('unknown-form')
})
