import { expect, test, vi } from 'vitest'
import { loadConfiguration } from '../../../src/config/load-configuration.ts'
import { readUnitText } from '../../../src/config/unit-text.ts'

const loading = vi.hoisted(() => ({ isLoaded: false }))
vi.mock('mathjs', async (importOriginal) => {
  loading.isLoaded = true
  return importOriginal()
})

test('the unit library is loaded when a quantity has a unit, and on no ordinary start', async () => {
  const site = new URL('../../../config/example/site.yaml', import.meta.url).pathname
  expect((await loadConfiguration(site)).ok).toBe(true)
  expect(loading.isLoaded).toBe(false)
  // NIST SP 811: 1 US gallon is 3.785411784 L
  expect(await readUnitText('1 gal', 'L')).toEqual({ kind: 'value', value: expect.closeTo(3.785411784, 9) })
  expect(loading.isLoaded).toBe(true)
})

test.each([
  ['3.5 lb/gal', 'g/L', (3.5 * 453.59237) / 3.785411784],
  ['1500 µS/cm', 'dS/m', 1.5],
  ['0.5 fl oz', 'mL', 14.78676478125],
  ['150 ppm', 'mg/L', 150],
  ['2 gal/h', 'mL/min', (2 * 3785.411784) / 60],
  ['68 °F', 'degC', 20],
  ['2 d', 'h', 48],
] as const)('%s in %s', async (text, unit, expected) => {
  expect(await readUnitText(text, unit)).toEqual({ kind: 'value', value: expect.closeTo(expected, 6) })
})

test.each([
  ['150 ppm', 'L'],
  ['1.2.3 L', 'L'],
  ['NaN L', 'L'],
  ['1e999 L', 'L'],
  ['20 C', 'L'],
  ['5', 'min'],
] as const)('%s is nothing in %s', async (text, unit) => {
  expect((await readUnitText(text, unit)).kind).toBe('unfit')
})
