import { describe, expect, it } from 'vitest'
import { keepChildrenTogether, keepTogether } from '../../../src/page/parts/kept-together.ts'

const HARD = '\u00a0'
/** Hard spaces made visible. */
const seen = (text: unknown) => String(text).replaceAll(HARD, '_')

describe('a figure and its unit', () => {
  it('stay on one line in any sentence', () => {
    expect(seen(keepTogether('potassium is about 197 ± 18 mg/L, aim 200; 0.67 mg/L an hour'))).toBe(
      'potassium is about 197_±_18_mg/L, aim 200; 0.67_mg/L an hour',
    )
    expect(seen(keepTogether('2.7 meq/L brings 5.5 meq, 68 % to 101 %, 12 min ago'))).toBe(
      '2.7_meq/L brings 5.5_meq, 68_% to 101_%, 12_min ago',
    )
  })

  it('are not seen where a word only begins like a unit', () => {
    expect(seen(keepTogether('4 limits, 3 salts, 2 gates, 5 Litres'))).toBe('4 limits, 3 salts, 2 gates, 5 Litres')
  })

  it('stay on one line when they are two or three pieces of an element', () => {
    expect(keepChildrenTogether(['4.46', ' mL ', 'acid']).map(seen)).toEqual(['4.46', '_mL ', 'acid'])
    expect(keepChildrenTogether([40, ' ', 'mL']).map(seen)).toEqual(['40', '_', 'mL'])
    expect(keepChildrenTogether([40, ' ', 'marbles']).map(seen)).toEqual(['40', ' ', 'marbles'])
  })
})
