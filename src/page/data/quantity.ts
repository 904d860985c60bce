import type { Preferences } from './preferences.ts'

/** US gallon, 3.785411784 L exactly (NIST Handbook 44, appendix C). */
const LITRES_PER_US_GALLON = 3.785411784

/** A number for reading: three figures that matter, no false precision. */
export function tellNumber(value: number): string {
  const size = Math.abs(value)
  if (size === 0) return '0'
  if (size >= 100) return value.toFixed(0)
  if (size >= 10) return value.toFixed(1).replace(/\.0$/, '')
  if (size >= 1) return value.toFixed(2)
  return value.toPrecision(2)
}

/** mg/L and ppm are the same number in water this thin; the name is what people choose. */
export function tellConcentration(mgPerL: number, preferences: Preferences): string {
  return `${tellNumber(mgPerL)} ${preferences.concentration}`
}

export function tellVolume(volumeL: number, preferences: Preferences): string {
  const value = preferences.volume === 'L' ? volumeL : volumeL / LITRES_PER_US_GALLON
  return `${value.toFixed(value >= 20 ? 0 : 1)} ${preferences.volume}`
}

export function tellTemperature(temperatureC: number, preferences: Preferences): string {
  const value = preferences.temperature === '°C' ? temperatureC : temperatureC * 1.8 + 32
  return `${value.toFixed(1)} ${preferences.temperature}`
}
