import type { Limits, ProbeLimits, ProbeRole } from './limits.ts'
import type { RawReading, ReadingQuality, SafetyState } from './state.ts'

export interface ProbeFacts {
  readonly id: string
  readonly role: ProbeRole
  readonly value: number
  readonly quality: ReadingQuality | null
  readonly ageMs: number
  readonly sameForMs: number
  readonly min: number
  readonly max: number
  readonly stuckMs: number
}

export interface WaterFacts {
  readonly probes: readonly ProbeFacts[]
  readonly levelFitted: boolean
  readonly levelLowestL: number
  readonly levelHighestL: number
  readonly flowFitted: boolean
  readonly flowLowestLPerMin: number
  /** how long every flow probe has shown enough flow without a gap; NaN while one does not */
  readonly flowingForMs: number
  readonly phLowest: number
  readonly phHighest: number
  readonly phOldestAgeMs: number
}

/** What the probes say now; the same for every stock. */
export function waterFacts(limits: Limits, state: SafetyState, atMs: number): WaterFacts {
  let levelFitted = false
  let levelLowestL = Number.POSITIVE_INFINITY
  let levelHighestL = Number.NEGATIVE_INFINITY
  let flowFitted = false
  let flowLowestLPerMin = Number.POSITIVE_INFINITY
  let flowingForMs = Number.POSITIVE_INFINITY
  let phLowest = Number.POSITIVE_INFINITY
  let phHighest = Number.NEGATIVE_INFINITY
  let phOldestAgeMs = Number.NEGATIVE_INFINITY
  const probes = limits.probes.map((probe) => {
    const reading = state.readings[probe.id]
    const facts = probeFacts(limits, probe, reading, atMs)
    if (probe.role === 'level') {
      levelFitted = true
      levelLowestL = Math.min(levelLowestL, facts.value)
      levelHighestL = Math.max(levelHighestL, facts.value)
    } else if (probe.role === 'flow') {
      flowFitted = true
      flowLowestLPerMin = Math.min(flowLowestLPerMin, facts.value)
      flowingForMs = Math.min(flowingForMs, atMs - (reading?.flowingSinceMs ?? Number.NaN))
    } else if (probe.role === 'ph') {
      phLowest = Math.min(phLowest, facts.value)
      phHighest = Math.max(phHighest, facts.value)
      phOldestAgeMs = Math.max(phOldestAgeMs, facts.ageMs)
    }
    return facts
  })
  const level = { levelFitted, levelLowestL, levelHighestL }
  return { probes, ...level, flowFitted, flowLowestLPerMin, flowingForMs, phLowest, phHighest, phOldestAgeMs }
}

/** A probe for which nothing moves while all is well, so that sameness says nothing: a meter, a steady pump, a switch. */
const MAY_STAND_STILL: readonly ProbeRole[] = ['flow', 'top-up', 'hold-switch']

function probeFacts(limits: Limits, probe: ProbeLimits, reading: RawReading | undefined, atMs: number): ProbeFacts {
  const standsStill = MAY_STAND_STILL.includes(probe.role) ? Number.POSITIVE_INFINITY : limits.stuckMs
  return {
    id: probe.id,
    role: probe.role,
    value: reading?.value ?? Number.NaN,
    quality: reading?.quality ?? null,
    ageMs: reading === undefined ? Number.NaN : atMs - reading.atMs,
    sameForMs: reading === undefined ? Number.NaN : reading.atMs - reading.sameSinceMs,
    min: probe.min,
    max: probe.max,
    stuckMs: probe.stuckMs ?? standsStill,
  }
}
