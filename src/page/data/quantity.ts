import type { Series } from '../../shell/api/schema/history.ts'
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
  // 0.00000036 is a way to say nothing that looks like saying something
  if (size < 0.001) return value > 0 ? 'under 0.001' : '0'
  return value.toPrecision(2)
}

/**
 * A value and half its interval, both to the place where the interval begins to matter.
 *
 * @param span of what is worth telling apart, such as the width of a band: nothing finer than its hundredth is told
 */
export function tellInterval(value: number, half: number, span: number): string {
  const finest = Math.max(half, span / 100)
  const places = finest > 0 ? Math.min(Math.max(-Math.floor(Math.log10(finest) + 1e-9), 0), 4) : 2
  const told = value.toFixed(places)
  const step = (10 ** -places).toFixed(places)
  if (Number(told) === 0 && Number(half.toFixed(places)) === 0) return `under ${step}`
  return `${told} ± ${half.toFixed(places)}`
}

export function gallonsOf(volumeL: number): number {
  return volumeL / LITRES_PER_US_GALLON
}

export function fahrenheitOf(temperatureC: number): number {
  return temperatureC * 1.8 + 32
}

export function tellVolume(volumeL: number, preferences: Preferences): string {
  const value = preferences.volume === 'L' ? volumeL : gallonsOf(volumeL)
  return `${value.toFixed(value >= 20 ? 0 : 1)} ${preferences.volume}`
}

/** What was typed in the unit of this screen. */
export function litresOf(typed: number, preferences: Preferences): number {
  return preferences.volume === 'L' ? typed : typed * LITRES_PER_US_GALLON
}

export function tellTemperature(temperatureC: number, preferences: Preferences): string {
  const value = preferences.temperature === '°C' ? temperatureC : fahrenheitOf(temperatureC)
  return `${value.toFixed(1)} ${preferences.temperature}`
}

/**
 * What a probe of this role reads.
 *
 * @param unit of the value, where no preference knows of another
 */
export function tellReading(role: string, value: number, unit: string, preferences: Preferences): string {
  if (role === 'temperature') return tellTemperature(value, preferences)
  if (role === 'level' || role === 'top-up') return tellVolume(value, preferences)
  if (role === 'flow' && preferences.volume === 'gal') return `${gallonsOf(value).toFixed(2)} gal/min`
  if (role === 'hold-switch') return value >= 0.5 ? 'held' : 'free'
  return `${value.toFixed(role === 'flow' ? 1 : 2)} ${unit}`.trimEnd()
}

/** A series in the units that were chosen for this screen. */
export function inUnits(series: Series, preferences: Preferences): Series {
  if (series.unit === '°C' && preferences.temperature === '°F') return scaled(series, '°F', fahrenheitOf)
  if (series.unit === 'L' && preferences.volume === 'gal') return scaled(series, 'gal', gallonsOf)
  // mg/L and ppm are the same number in water this thin; the name is what people choose.
  return series.unit === 'mg/L' ? { ...series, unit: preferences.concentration } : series
}

function scaled(series: Series, unit: string, convert: (value: number) => number): Series {
  const { mean, low, high } = series
  return { ...series, unit, mean: mean.map(convert), low: low.map(convert), high: high.map(convert) }
}
