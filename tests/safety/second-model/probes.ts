/** What the probes show, raw, since the last start. */

import type { Limits, ProbeLimits } from '../../../src/safety/limits.ts'
import type { Answers } from './answers.ts'
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
export function seenBy(limits: Limits, told: readonly Told[], probe: ProbeLimits, answers: Answers): Seen | null {
  const from = lastStartIndex(told)
  let seen: Seen | null = null
  let stuckAt: number | null = null
  let stuckSinceMs = 0
  told.forEach((event, index) => {
    if (event.kind === 'start' && !answers.stuckOverStart) stuckAt = null
    if (event.kind !== 'readings' || event.node !== probe.node) return
    for (const reading of event.readings) {
      if (reading.role !== probe.role) continue
      if (reading.id !== undefined && reading.id !== probe.id) continue
      const isNumber = !Number.isNaN(reading.value) || !answers.stuckOverNoNumber
      if (reading.value !== stuckAt && isNumber) {
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
export function probeBlocks(
  limits: Limits,
  probe: ProbeLimits,
  seen: Seen | null,
  ask: { readonly atMs: number; readonly answers: Answers },
): readonly string[] {
  const { atMs, answers } = ask
  if (seen === null) return [`${probe.id} not heard`]
  const blocks: string[] = []
  const ageMs = atMs - seen.atMs
  if (!(ageMs >= 0)) blocks.push(`${probe.id} from the future`)
  if (!(ageMs <= limits.scanAgeMaxMs)) blocks.push(`${probe.id} not fresh`)
  if (seen.quality !== 'good') blocks.push(`${probe.id} not good`)
  if (!(seen.value >= probe.min && seen.value <= probe.max)) blocks.push(`${probe.id} out of range`)
  const sameMs = (answers.stuckToNow ? atMs : seen.atMs) - seen.sameSinceMs
  if (!(sameMs < stuckMsOf(limits, probe, answers))) blocks.push(`${probe.id} stuck`)
  return blocks
}

function stuckMsOf(limits: Limits, probe: ProbeLimits, answers: Answers): number {
  const isMeter = probe.role === 'flow' || probe.role === 'top-up'
  return probe.stuckMs ?? (isMeter && !answers.meterMayStick ? Number.POSITIVE_INFINITY : limits.stuckMs)
}
