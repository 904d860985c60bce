/**
 * From scans to one fused observation a grid step: units, calibration, temperature, quality. A reading that is not
 * plausible is not a reading.
 */

import { compensate } from '../../chemistry/conductivity.ts'
import { toInsideUnit, type UnitCode, unitFits } from '../../contract/unit.ts'
import type { CoreSettings, ProbeRole, ProbeSettings } from '../settings.ts'

/** One reading as a scan brings it. */
export interface RawReading {
  readonly id: string
  readonly value: number
  readonly unit: UnitCode
  readonly quality?: 'good' | 'uncertain' | 'bad' | undefined
}

export interface ProbeSense {
  /** last plausible value, calibrated, inside unit */
  readonly value: number
  readonly atMs: number
  /** plausible values since the last grid step */
  readonly window: readonly number[]
}

export interface Calibration {
  readonly slope: number
  readonly offset: number
}

export interface SenseState {
  /** by place in settings.probes; null before a first plausible value */
  readonly probes: readonly (ProbeSense | null)[]
  readonly calibrations: readonly Calibration[]
  /** what the make-up meter showed at the last closed step, L */
  readonly meterAtStepL?: number
}

/** Nothing read yet, every probe taken at its word. */
export function initialSense(settings: CoreSettings): SenseState {
  return {
    probes: settings.probes.map(() => null),
    calibrations: settings.probes.map(() => ({ slope: 1, offset: 0 })),
  }
}

/** Windows start cold after a restart, so that no value from before is fused with one from after; the meter’s count stays. */
export function coldSense(sense: SenseState): SenseState {
  return { ...sense, probes: sense.probes.map(() => null) }
}

/** Takes the readings of one scan; readings of unknown probes are left alone. */
export function senseScan(
  settings: CoreSettings,
  sense: SenseState,
  scan: { atMs: number; node: string; readings: readonly RawReading[] },
): SenseState {
  const temperatureC = temperatureIn(settings, sense, scan)
  const probes = sense.probes.slice()
  let isChanged = false
  for (let at = 0; at < settings.probes.length; at++) {
    const probe = settings.probes[at]!
    if (probe.node !== scan.node) continue
    const reading = scan.readings.find((candidate) => candidate.id === probe.id)
    const value = reading && plausibleValue(probe, sense.calibrations[at]!, reading, temperatureC)
    if (value === undefined) continue
    probes[at] = { value, atMs: scan.atMs, window: [...(probes[at]?.window ?? []), value] }
    isChanged = true
  }
  return isChanged ? { ...sense, probes } : sense
}

function temperatureIn(
  settings: CoreSettings,
  sense: SenseState,
  scan: { node: string; readings: readonly RawReading[] },
): number {
  const at = settings.probes.findIndex((probe) => probe.role === 'temperature')
  const probe = settings.probes[at]
  if (!probe) return settings.reservoir.temperatureC
  const reading = probe.node === scan.node ? scan.readings.find((candidate) => candidate.id === probe.id) : undefined
  const fresh = reading && plausibleValue(probe, sense.calibrations[at]!, reading, 25)
  return fresh ?? sense.probes[at]?.value ?? settings.reservoir.temperatureC
}

/** The value in its inside unit, calibrated and at 25 °C, or undefined where it cannot be believed. */
function plausibleValue(
  probe: ProbeSettings,
  calibration: Calibration,
  reading: RawReading,
  temperatureC: number,
): number | undefined {
  if (reading.quality === 'bad' || !unitFits(reading.unit, probe.quantity)) return undefined
  const calibrated = toInsideUnit(reading.value, reading.unit) * calibration.slope + calibration.offset
  const value = probe.role === 'conductivity' && !probe.compensated ? compensate(calibrated, temperatureC) : calibrated
  return value >= probe.min && value <= probe.max ? value : undefined
}

/** What one grid step saw. */
export interface FusedReadings {
  readonly conductivityDsPerM?: number
  readonly ph?: number
  readonly temperatureC?: number
  readonly levelL?: number
  readonly topUpL?: number
  readonly flowing?: boolean
}

/** Below this the film is taken to have drained back into the tank, L/min. */
const FLOWING_L_PER_MIN = 0.5

/**
 * Closes a step: the median of each probe’s plausible values, and the litres the meter counted since the step before.
 * A probe without a plausible value in the step has none in the observation.
 */
export function closeStep(
  settings: CoreSettings,
  sense: SenseState,
): { readonly fused: FusedReadings; readonly sense: SenseState } {
  const flow = medianOf(settings, sense, 'flow')
  const meter = meterOf(settings, sense)
  const fused: FusedReadings = {
    ...optional('conductivityDsPerM', medianOf(settings, sense, 'conductivity')),
    ...optional('ph', medianOf(settings, sense, 'ph')),
    ...optional('temperatureC', medianOf(settings, sense, 'temperature')),
    ...optional('levelL', medianOf(settings, sense, 'level')),
    ...optional('topUpL', meter.topUpL),
    ...(flow === undefined ? {} : { flowing: flow >= FLOWING_L_PER_MIN }),
  }
  const probes = sense.probes.map((probe) => probe && { ...probe, window: [] })
  return { fused, sense: { ...sense, probes, ...optional('meterAtStepL', meter.atStepL) } }
}

function optional<K extends string>(key: K, value: number | undefined): Partial<Record<K, number>> {
  return value === undefined ? {} : ({ [key]: value } as Record<K, number>)
}

function medianOf(settings: CoreSettings, sense: SenseState, role: ProbeRole): number | undefined {
  const at = settings.probes.findIndex((probe) => probe.role === role)
  const window = at < 0 ? undefined : sense.probes[at]?.window
  if (!window || window.length === 0) return undefined
  const sorted = [...window].sort((a, b) => a - b)
  const middle = sorted.length >> 1
  return sorted.length % 2 === 1 ? sorted[middle] : 0.5 * (sorted[middle - 1]! + sorted[middle]!)
}

/**
 * Litres since the step before. Where a meter is fitted but silent, none are known to have come: they are in the
 * count when it speaks again. A count that went down is a new meter, not negative water; one that rose by more than the
 * reservoir holds is a garbled count, not that much water.
 */
function meterOf(settings: CoreSettings, sense: SenseState): { topUpL?: number; atStepL?: number } {
  const at = settings.probes.findIndex((probe) => probe.role === 'top-up')
  if (at < 0) return {}
  const before = sense.meterAtStepL
  const probe = sense.probes[at]
  if (!probe || probe.window.length === 0) return before === undefined ? { topUpL: 0 } : { topUpL: 0, atStepL: before }
  const grownL = probe.value - (before ?? probe.value)
  const isBelievable = grownL >= 0 && grownL <= settings.reservoir.volumeMaxL
  return { topUpL: isBelievable ? grownL : 0, atStepL: probe.value }
}

/** Last plausible value of a role, with its age, for showing; undefined before there was one. */
export function latestOf(
  settings: CoreSettings,
  sense: SenseState,
  role: ProbeRole,
): { readonly value: number; readonly atMs: number } | undefined {
  const at = settings.probes.findIndex((probe) => probe.role === role)
  return at < 0 ? undefined : (sense.probes[at] ?? undefined)
}
