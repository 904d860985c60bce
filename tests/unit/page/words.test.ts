import { describe, expect, it } from 'vitest'
import { inUnitsOf } from '../../../src/page/data/words.ts'

const METRIC = { concentration: 'mg/L', volume: 'L', temperature: '°C' } as const
const AMERICAN = { concentration: 'ppm', volume: 'gal', temperature: '°F' } as const

describe('a sentence of the daemon in the units of a screen', () => {
  it('is as it was where they are the daemon’s own', () => {
    const sentence = 'Let 12.5 L go; potassium is about 172 ± 14 mg/L; the water is 21.5 °C.'
    expect(inUnitsOf(sentence, METRIC)).toBe(sentence)
  })

  it('tells gallons, also of flow and loss, and degrees Fahrenheit', () => {
    // 3.785411784 L in a US gallon: NIST Handbook 44, appendix C
    expect(inUnitsOf('the reservoir holds 121.1 L, at least 130 L must be in it', AMERICAN)).toBe(
      'the reservoir holds 32 gal, at least 34.3 gal must be in it',
    )
    expect(inUnitsOf('the flow is 3 L/min. Log 10 L.', AMERICAN)).toBe('the flow is 0.79 gal/min. Log 2.64 gal.')
    expect(inUnitsOf('The water is warm (26 °C)', AMERICAN)).toBe('The water is warm (78.8 °F)')
    expect(inUnitsOf('frost: -2 °C', AMERICAN)).toBe('frost: 28.4 °F')
  })

  it('leaves what a person wrote as it was written, wherever the sentence repeats it', () => {
    const reason = 'let 20 L go at 24 °C'
    expect(inUnitsOf(`On hold by Ines: ${reason}. 10 L are left`, AMERICAN, reason)).toBe(
      `On hold by Ines: ${reason}. 2.64 gal are left`,
    )
    expect(inUnitsOf('10 L are left', AMERICAN, '')).toBe('2.64 gal are left')
  })

  it('names ppm, which is the same number, and leaves every other unit alone', () => {
    const sentence = '1.8 mS/cm, 40.5 mL, 0.9 mg/L an hour, 2 meq/L, 3 mmol/L, 5 Liters, pump L2, 0.5 mg/Li'
    expect(inUnitsOf(sentence, AMERICAN)).toBe(sentence.replace('0.9 mg/L an', '0.9 ppm an'))
  })
})
