import { describe, expect, it } from 'vitest'
import {
  inUnits,
  tellInterval,
  tellNumber,
  tellReading,
  tellTemperature,
  tellVolume,
} from '../../../src/page/data/quantity.ts'

const METRIC = { concentration: 'mg/L', volume: 'L', temperature: '°C' } as const
const AMERICAN = { concentration: 'ppm', volume: 'gal', temperature: '°F' } as const

describe('a number for people', () => {
  it('has three figures that matter, and no more', () => {
    expect([172.4, 38.56, 2.0231, 0.0483, 0].map(tellNumber)).toEqual(['172', '38.6', '2.02', '0.048', '0'])
  })

  it('never looks like 3.6e-7', () => {
    expect(tellNumber(3.6e-7)).toBe('under 0.001')
  })
})

describe('a value with its interval', () => {
  it('is told to the place where the interval begins to matter', () => {
    expect(tellInterval(147.75, 11.1, 90)).toBe('148 ± 11')
    expect(tellInterval(2.023, 0.37, 3)).toBe('2.0 ± 0.4')
    expect(tellInterval(0.0483, 0.017, 0.07)).toBe('0.05 ± 0.02')
  })

  it('is told no finer than a hundredth of its band, however sure it is', () => {
    expect(tellInterval(200.123, 0.0001, 100)).toBe('200 ± 0')
  })

  it('that cannot be told from nothing is under what can be told', () => {
    expect(tellInterval(3.6e-7, 0.000084, 20)).toBe('under 0.1')
  })
})

describe('units of one’s own', () => {
  it('are US gallons and degrees Fahrenheit where they were chosen', () => {
    // 3.785411784 L in a US gallon: NIST Handbook 44, appendix C
    expect(tellVolume(3.785411784 * 30, AMERICAN)).toBe('30 gal')
    expect(tellVolume(30, METRIC)).toBe('30 L')
    expect(tellTemperature(20, AMERICAN)).toBe('68.0 °F')
  })

  it('go for charts as well, and leave what has no unit alone', () => {
    const series = { series: 'temperature', unit: '°C', atMs: [0], mean: [20], low: [10], high: [100] }
    expect(inUnits(series, AMERICAN)).toMatchObject({ unit: '°F', mean: [68], low: [50], high: [212] })
    expect(inUnits({ ...series, series: 'ph', unit: '' }, AMERICAN).mean).toEqual([20])
    expect(inUnits({ ...series, series: 'K', unit: 'mg/L' }, AMERICAN)).toMatchObject({ unit: 'ppm', mean: [20] })
  })
})

describe('what a probe reads', () => {
  it('is told in the units that were chosen, flow in gallons a minute', () => {
    expect(tellReading('flow', 3.785411784 * 2, 'L/min', AMERICAN)).toBe('2.00 gal/min')
    expect(tellReading('flow', 9.84, 'L/min', METRIC)).toBe('9.8 L/min')
    expect(tellReading('level', 3.785411784 * 30, 'L', AMERICAN)).toBe('30 gal')
    expect(tellReading('conductivity', 1.8, 'mS/cm', AMERICAN)).toBe('1.80 mS/cm')
  })
})
