import { unit as mathUnit } from 'mathjs'
import { describe, expect, it } from 'vitest'
import { ELEMENTS } from '../../../../src/chemistry/element.ts'
import { ELEMENT_UNITS, elementFrom, elementIn } from '../../../../src/formulation/units/element-unit.ts'
import { inUnit, readQuantity } from '../../../../src/formulation/units/quantity.ts'
import { readUnit, type Unit } from '../../../../src/formulation/units/unit.ts'

const unit = (text: string): Unit => {
  const read = readUnit(text)
  if (read.kind === 'unfit') throw new Error(read.problem)
  return read
}

describe('units people weigh and buy in', () => {
  // the unit library is the second opinion
  it.each([
    ['g/L', 'g/L', 'g/L', 1],
    ['mg/L', 'mg/L', 'g/L', 1],
    ['g/m3', 'g/m^3', 'g/L', 1],
    ['g/gal', 'g/gal', 'g/L', 1],
    ['oz/gal', 'oz/gal', 'g/L', 1],
    ['lb/gal', 'lb/gal', 'g/L', 1],
    ['oz/100gal', 'oz/gal', 'g/L', 100],
    ['lb/1000 gal', 'lb/gal', 'g/L', 1000],
    ['oz', 'oz', 'g', 1],
    ['lb', 'lb', 'g', 1],
    ['kg', 'kg', 'g', 1],
    ['gal', 'gal', 'L', 1],
    ['qt', 'qt', 'L', 1],
    ['fl oz', 'floz', 'L', 1],
  ])('counts %s as the unit library does', (text, spelled, inside, parts) => {
    expect(unit(text).factor).toBeCloseTo(mathUnit(1, spelled).toNumber(inside) / parts, 12)
  })

  it('counts mL per 1000 L and fluid ounces per 100 gal as volume in a volume', () => {
    expect(unit('mL/1000L')).toMatchObject({ dimension: 'volume-per-volume', factor: 0.001 })
    expect(unit('floz/100 gal').factor).toBeCloseTo(
      (1000 * mathUnit(1, 'floz').toNumber('L')) / mathUnit(100, 'gal').toNumber('L'),
      12,
    )
  })

  it('makes 74.89 mg/L of an ounce in 100 US gallons', () => {
    // extension bulletins round it to 75
    expect(1000 * unit('oz/100gal').factor).toBeCloseTo(74.89, 2)
  })

  it.each(['g/imp gal', 'stone', 'oz/0gal', 'g/g', 'g/L/L', ''])('does not know "%s"', (text) => {
    expect(readUnit(text).kind).toBe('unfit')
  })
})

describe('a quantity with its unit', () => {
  it('reads litres and gallons as volumes', () => {
    expect(readQuantity('220L', ['volume'])).toMatchObject({ value: 220 })
    expect(readQuantity('58 gal', ['volume'])).toMatchObject({ kind: 'quantity', value: expect.closeTo(219.554, 3) })
  })

  it('refuses a number without a unit, a negative one, and the wrong kind, saying what is wanted', () => {
    for (const text of ['220', '-3 L', '', 'L', '1e3 L'])
      expect(readQuantity(text, ['volume']).kind, text).toBe('unfit')
    expect(readQuantity('3 g', ['volume'])).toEqual({
      kind: 'unfit',
      problem: "'3 g': g measures mass; wanted is volume (220 L)",
    })
  })

  it('refuses ppm of a conductivity meter until its scale is said', () => {
    const bare = readQuantity('700 ppm', ['conductivity'])
    expect(bare).toMatchObject({
      kind: 'unfit',
      problem: expect.stringContaining('write ppm (500), ppm (640) or ppm (700)'),
    })
    expect(readQuantity('700 ppm (500)', ['conductivity'])).toMatchObject({ value: expect.closeTo(1.4, 12) })
    expect(readQuantity('700 ppm (700 scale)', ['conductivity'])).toMatchObject({ value: 1 })
    expect(readQuantity('700 ppm (50)', ['conductivity']).kind).toBe('unfit')
    expect(readQuantity('1400 µS/cm', ['conductivity'])).toMatchObject({ value: expect.closeTo(1.4, 12) })
  })

  it('comes back out as it went in', () => {
    for (const text of ['oz/100gal', 'lb/gal', 'g/m3', 'mg/L']) {
      const read = readQuantity(`2.5 ${text}`, ['mass-per-volume'])
      if (read.kind === 'unfit') throw new Error(read.problem)
      expect(inUnit(read.value, read.unit)).toBeCloseTo(2.5, 12)
    }
  })
})

describe('concentrations of elements', () => {
  it('has 40.08 mg/L, 1 mmol/L and 2 meq/L of calcium say the same', () => {
    expect(ELEMENT_UNITS.map((one) => elementIn(one, 'Ca', 1))).toEqual([expect.closeTo(40.078, 3), 1, 2])
    expect(elementFrom('meq/L', 'Ca', 2)).toBe(1)
  })

  it('has no meq/L for boron and chelated iron', () => {
    expect(elementIn('meq/L', 'B', 1)).toBeUndefined()
    expect(elementFrom('meq/L', 'Fe', 1)).toBeUndefined()
  })

  it('comes back to mmol/L from every unit', () => {
    for (const name of ELEMENTS) {
      for (const one of ELEMENT_UNITS) {
        const value = elementIn(one, name, 0.7)
        if (value !== undefined) expect(elementFrom(one, name, value), `${name} ${one}`).toBeCloseTo(0.7, 12)
      }
    }
  })
})
