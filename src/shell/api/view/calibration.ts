/** Rates and probe lines from what a person measured; nothing is changed by any of this. */

import type { ProbeCalibration, PumpRate } from '../schema/commissioning.ts'

/** Runs of a peristaltic pump agree to a few percent; more means air, a loose tube or a hurried reading. Common practice, no source. */
const SCATTER_GOOD_PERCENT = 3
const SCATTER_LOOK_PERCENT = 10
/** Tubes lose up to 15 % over their life; more is another pump or a slip. The safety room refuses half and double. */
const CHANGE_LOOK_PERCENT = 20

/** @param inForceMlPerMin the rate that stands now */
export function pumpRateOf(
  runs: readonly { readonly runMs: number; readonly volumeMl: number }[],
  inForceMlPerMin: number,
): PumpRate {
  const rates = runs.map(({ runMs, volumeMl }) => (volumeMl * 60_000) / runMs)
  const rateMlPerMin = mean(rates)
  const scatterPercent = rates.length > 1 ? (100 * deviation(rates)) / rateMlPerMin : undefined
  const changePercent = 100 * (rateMlPerMin / inForceMlPerMin - 1)
  const verdict = verdictOn(scatterPercent, changePercent)
  return {
    ...{ rateMlPerMin, changePercent, verdict, text: RATE_TEXTS[verdict] },
    ...(scatterPercent === undefined ? {} : { scatterPercent }),
  }
}

const RATE_TEXTS: Readonly<Record<PumpRate['verdict'], string>> = {
  good: 'The runs agree; this rate can be set.',
  repeat: 'Repeat it: one run alone, or runs that differ, say little. Three that agree within 3 % are enough.',
  look: 'Look at the pump first: air in the tube, a worn tube, or another pump than the site file says.',
}

function verdictOn(scatterPercent: number | undefined, changePercent: number): PumpRate['verdict'] {
  if (scatterPercent !== undefined && scatterPercent > SCATTER_LOOK_PERCENT) return 'look'
  if (Math.abs(changePercent) > CHANGE_LOOK_PERCENT) return 'look'
  return scatterPercent === undefined || scatterPercent > SCATTER_GOOD_PERCENT ? 'repeat' : 'good'
}

export interface ProbePoint {
  readonly reference: number
  readonly shown: number
}

/** A glass electrode of 95 to 102 % of the ideal slope is good, down to 85 % usable for a while. Common practice, no source. */
const SLOPE_GOOD: readonly [number, number] = [0.95, 1.05]
const SLOPE_USABLE: readonly [number, number] = [0.85, 1.15]
/** A zero point beyond half a pH (some 30 mV) says that the reference is spent. Common practice, no source. */
const PH_OFFSET_MOST = 0.5
const CELL_GOOD: readonly [number, number] = [0.9, 1.1]
const CELL_USABLE: readonly [number, number] = [0.7, 1.4]

/**
 * Slope and offset such that slope · shown + offset is the reference.
 * A conductivity cell has a constant and no offset; one point of any other probe moves the offset alone.
 *
 * @returns undefined where two points show the same
 */
export function probeLineOf(kind: string, points: readonly ProbePoint[]): ProbeCalibration | undefined {
  if (kind === 'conductivity') return cellOf(points)
  const { slope, offset } = lineThrough(points)
  if (!Number.isFinite(slope)) return undefined
  if (kind !== 'ph')
    return {
      slope,
      offset,
      verdict: within(slope, SLOPE_USABLE) ? 'good' : 'unfit',
      text: `Reads ${offset.toPrecision(2)} off at zero.`,
    }
  const sensitivity = 1 / slope
  const atSeven = 7 * slope + offset - 7
  const isGood = within(sensitivity, SLOPE_GOOD) && Math.abs(atSeven) <= PH_OFFSET_MOST
  const verdict = isGood ? 'good' : within(sensitivity, SLOPE_USABLE) ? 'ageing' : 'unfit'
  const percent = 100 * sensitivity
  const text = `${percent.toFixed(0)} % of the ideal slope, ${atSeven.toFixed(2)} off at pH 7.`
  return { slope, offset, slopePercent: percent, verdict, text: `${text} ${PROBE_TEXTS[verdict]}` }
}

const PROBE_TEXTS: Readonly<Record<ProbeCalibration['verdict'], string>> = {
  good: 'It can be set.',
  ageing: 'It can be set, but order a new electrode; clean this one and try once more.',
  unfit: 'Do not set it: clean the probe, take fresh buffers, and replace it if that does not help.',
}

function cellOf(points: readonly ProbePoint[]): ProbeCalibration | undefined {
  const factor = mean(points.map(({ reference, shown }) => reference / shown))
  if (!Number.isFinite(factor)) return undefined
  const verdict = within(factor, CELL_GOOD) ? 'good' : within(factor, CELL_USABLE) ? 'ageing' : 'unfit'
  const text = `The cell counts ${(100 * factor).toFixed(1)} % of what it shows. ${PROBE_TEXTS[verdict]}`
  return { slope: factor, offset: 0, cellConstantFactor: factor, verdict, text }
}

/** Least squares; one point keeps the slope. */
function lineThrough(points: readonly ProbePoint[]): { readonly slope: number; readonly offset: number } {
  const shown = mean(points.map((point) => point.shown))
  const reference = mean(points.map((point) => point.reference))
  if (points.length === 1) return { slope: 1, offset: reference - shown }
  const across = points.reduce((sum, point) => sum + (point.shown - shown) * (point.reference - reference), 0)
  const along = points.reduce((sum, point) => sum + (point.shown - shown) ** 2, 0)
  const slope = across / along
  return { slope, offset: reference - slope * shown }
}

function within(value: number, [low, high]: readonly [number, number]): boolean {
  return value >= low && value <= high
}

function mean(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length
}

function deviation(values: readonly number[]): number {
  const middle = mean(values)
  return Math.sqrt(values.reduce((sum, value) => sum + (value - middle) ** 2, 0) / (values.length - 1))
}
