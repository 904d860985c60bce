import type { Limits } from './limits.ts'
import type { RawReading } from './state.ts'

/** From this value on a hold switch is held; it sends 0 or 1. */
const HELD_FROM = 0.5

/**
 * Why the switch at the reservoir counts as held, or null where every one is surely open or there is none. One that
 * was not read, was read too long ago or reads no number is held: a cut wire must not let a pump run.
 */
export function switchHeldBecause(
  limits: Limits,
  readings: Readonly<Record<string, RawReading>>,
  atMs: number,
): string | null {
  for (const probe of limits.probes) {
    if (probe.role !== 'hold-switch') continue
    const reading = readings[probe.id]
    if (reading === undefined) return `the hold switch ${probe.id} has not been read since the start`
    const ageMs = atMs - reading.atMs
    if (!(ageMs >= 0 && ageMs <= limits.scanAgeMaxMs)) return `the hold switch ${probe.id} is no longer read`
    if (reading.quality !== 'good') return `the hold switch ${probe.id} calls its reading ${reading.quality}`
    if (!(reading.value >= 0 && reading.value < HELD_FROM)) return `the hold switch ${probe.id} at the reservoir is on`
  }
  return null
}
