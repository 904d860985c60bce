/** What the probes show, raw, since the last start. */

import type { Limits, ProbeLimits } from '../../../src/safety/limits.ts'
import { lastStartIndex, type Told } from './told.ts'

export interface Seen {
  readonly value: number
  readonly quality: string
  readonly atMs: number
  readonly sameSinceMs: number
  /** since when each reading was at or above the least flow, good, and none was missing; null while it is not */
  readonly flowingSinceMs: number | null
}

/** The latest reading of a probe with what the ones before it say, or null where none was heard since the start. */
export function seenBy(limits: Limits, told: readonly Told[], probe: ProbeLimits): Seen | null {
  const from = lastStartIndex(told)
  let seen: Seen | null = null
  let stuckAt: number | null = null
  let stuckSinceMs = 0
  told.forEach((event, index) => {
    if (event.kind !== 'readings' || event.node !== probe.node) return
    for (const reading of event.readings) {
      if (reading.role !== probe.role) continue
      if (reading.id !== undefined && reading.id !== probe.id) continue
      // Standing still is remembered across a start; a value that is no number does not end it.
      if (reading.value !== stuckAt && !Number.isNaN(reading.value)) {
        stuckAt = reading.value
        stuckSinceMs = event.atMs
      }
      if (index <= from) continue
      const flows = reading.value >= limits.flowMinLPerMin && reading.quality === 'good'
      const unbroken: boolean = seen !== null && event.atMs - seen.atMs <= limits.scanAgeMaxMs
      seen = {
        value: reading.value,
        quality: reading.quality,
        atMs: event.atMs,
        sameSinceMs: stuckSinceMs,
        flowingSinceMs: flows ? ((unbroken ? seen?.flowingSinceMs : null) ?? event.atMs) : null,
      }
    }
  })
  return seen
}

/** What of one probe speaks against any shot at this moment. */
export function probeBlocks(limits: Limits, probe: ProbeLimits, seen: Seen | null, atMs: number): readonly string[] {
  if (seen === null) return [`${probe.id} not heard`]
  const blocks: string[] = []
  const ageMs = atMs - seen.atMs
  if (!(ageMs >= 0)) blocks.push(`${probe.id} from the future`)
  if (!(ageMs <= limits.scanAgeMaxMs)) blocks.push(`${probe.id} not fresh`)
  if (seen.quality !== 'good') blocks.push(`${probe.id} not good`)
  if (!(seen.value >= probe.min && seen.value <= probe.max)) blocks.push(`${probe.id} out of range`)
  if (!(atMs - seen.sameSinceMs < (probe.stuckMs ?? limits.stuckMs))) blocks.push(`${probe.id} stuck`)
  return blocks
}
